# SPDX-License-Identifier: MIT
"""Classes in the window: typed, dropped, renamed, archived, brought back, saved again."""

from __future__ import annotations

import pygame
import pytest
from teacher import Teacher

from game.heats.roster import parse_roster
from game.screens.reader.readers import Readers
from game.screens.reader.welcome import Welcome
from game.screens.school.class_page import ClassPage
from game.screens.school.classes import Classes
from game.screens.school.heat_choices import Choices, HeatChoices
from game.screens.school.heat_turns import HeatTurns
from game.screens.school.member_page import MemberPage
from game.ui.screen import PIANO_BEFORE, PIANO_YES

SIZES = [(1280, 720), (1920, 1080), (1024, 600)]


def seen(teacher: Teacher):
    return [control for control in teacher.screen.controls if control.seen]


def names(teacher) -> list[str]:
    """Whom the class page lists."""
    return [c.label for c in teacher.screen.controls if c.id.startswith("member-")]


def sure(teacher) -> None:
    """Archive, and say yes."""
    for _ in range(2):
        teacher.wait(1)
        teacher.click_on("archive")


def archive(teacher, row: str) -> None:
    """Archive somebody of the class."""
    teacher.click_on(row)
    assert isinstance(teacher.screen, MemberPage)
    sure(teacher)
    teacher.click_on("back")


def test_a_class_is_typed_in_one_name_after_another(teacher):
    teacher.new_class("3b", "Mia", "Анна", "  Zoë   Ng ", "美咲")
    assert isinstance(teacher.screen, ClassPage)
    assert names(teacher) == ["Mia", "Анна", "Zoë Ng", "美咲"]


def test_by_the_computer_keyboard_alone(teacher):
    while teacher.screen.focus != "classes":
        teacher.type(pygame.K_TAB)
    teacher.type(pygame.K_RETURN, pygame.K_RETURN)  # New class comes first where there is none
    teacher.say("3b")
    teacher.type(pygame.K_RETURN)  # Add names likewise
    teacher.say("Mia")
    teacher.type(pygame.K_ESCAPE)
    assert names(teacher) == ["Mia"]
    teacher.type(pygame.K_ESCAPE, pygame.K_ESCAPE)
    assert isinstance(teacher.screen, Readers)


def test_two_of_one_name_are_not_mixed_up(teacher):
    teacher.new_class("3b", "Mia")
    teacher.click_on("add")
    teacher.say("MIA")
    assert "MIA (2)" in teacher.screen.note and "Mia is in the class" in teacher.screen.note
    teacher.say("Zoë")  # the line is empty again
    teacher.say("Mia")
    assert "Mia (3)" in teacher.screen.note
    teacher.say("")
    assert names(teacher) == ["Mia", "MIA (2)", "Zoë", "Mia (3)"]
    archive(teacher, teacher.ids()[2])
    teacher.click_on("add")
    teacher.say("zoë")
    assert "Zoë is among those archived" in teacher.screen.note
    teacher.say("")
    assert names(teacher) == ["Mia", "MIA (2)", "Mia (3)", "zoë (2)"]


def test_a_name_that_cannot_be_one_can_be_mended_where_it_stands(teacher):
    teacher.new_class("3b")
    teacher.click_on("add")
    teacher.say("\N{COMBINING ACUTE ACCENT}")
    assert "letter" in teacher.screen.note and not teacher.screen.good
    assert teacher.screen.field.words


def test_a_class_of_numbers_keeps_no_name(teacher):
    teacher.new_class("Open day")
    teacher.click_on("seats")
    teacher.say("x1y2")  # letters are not taken
    assert names(teacher) == [f"Seat {n}" for n in range(1, 13)]
    for wrong in ("0", "101"):
        teacher.click_on("seats")
        teacher.say(wrong)
        assert "1 to 100" in teacher.screen.note
        teacher.type(pygame.K_ESCAPE)
    school = teacher.stage.store.school
    assert {member.name for member in school.members(school.classes()[0].id)} == {""}


def test_a_teacher_without_readers_starts_where_the_classes_are(teacher):
    teacher.app.first_screen()
    teacher.look()
    assert isinstance(teacher.screen, Welcome)
    teacher.click_on("classes")
    teacher.click_on("new")
    teacher.say("3b")
    teacher.click_on("seats")
    teacher.say("2")
    teacher.plug("Piano")
    teacher.begin(prompts=6)
    teacher.press("Piano", 60)
    teacher.pass_time(4)  # and the window is closed in the middle of it
    teacher.app.first_screen()
    teacher.look()
    assert isinstance(teacher.screen, Readers)
    assert "classes" in teacher.ids()
    assert any(name.startswith("heat-") for name in teacher.ids())


def test_who_is_archived_is_not_lost(teacher):
    teacher.new_class("3b", "Mia", "Ben")
    archive(teacher, teacher.ids()[0])
    assert names(teacher) == ["Ben"]
    teacher.click_on("archived")
    assert names(teacher) == ["Mia"]
    teacher.click_on(teacher.ids()[0])
    teacher.click_on("archive")
    teacher.click_on("back")
    teacher.click_on("back-to")
    assert names(teacher) == ["Mia", "Ben"]


def test_a_class_is_archived_and_brought_back(teacher):
    teacher.new_class("3b", "Mia")
    sure(teacher)
    teacher.click_on("back")
    assert isinstance(teacher.screen, Classes)
    assert not [name for name in teacher.ids() if name.startswith("class-")]
    teacher.click_on("archived")
    teacher.click_on(next(name for name in teacher.ids() if name.startswith("class-")))
    assert "archived" in teacher.screen.below_title and not teacher.screen.note
    teacher.click_on("archive")
    assert teacher.screen.below_title == "1 reader" and not teacher.screen.note
    teacher.click_on("back")
    assert [name for name in teacher.ids() if name.startswith("class-")]


@pytest.mark.parametrize("page", ["class", "member"])
def test_archiving_is_asked_and_a_double_click_is_no_answer(teacher, page):
    teacher.new_class("3b", "Mia")
    school = teacher.stage.store.school
    if page == "member":
        teacher.click_on(teacher.ids()[0])

    def left() -> int:
        return sum(len(school.members(one.id)) for one in school.classes())

    teacher.click_on("archive")
    teacher.click_on("archive")
    assert left() == 1
    assert any(label.startswith("Sure?") for label in teacher.labels())
    assert "brought back" in teacher.screen.below_title
    teacher.type(pygame.K_UP)  # another thought
    teacher.wait(1)
    assert not any(label.startswith("Sure?") for label in teacher.labels())
    teacher.click_on("archive")
    teacher.wait(1)
    assert left() == 1
    teacher.type(pygame.K_ESCAPE)  # no, and the page stays
    teacher.wait(1)
    assert "archive" in teacher.ids() and left() == 1
    teacher.click_on("archive")
    teacher.wait(1)
    teacher.click_on("archive")
    teacher.click_on("archive")  # the second click of two does not bring it back
    assert left() == 0
    teacher.wait(1)
    teacher.click_on("archive")
    assert left() == 1


@pytest.mark.parametrize("page", ["class", "member"])
def test_a_piano_archives_nothing_and_brings_back(teacher, page):
    teacher.plug("Piano")
    teacher.new_class("3b", "Mia")
    if page == "member":
        teacher.click_on(teacher.ids()[0])
    before = teacher.screen
    while teacher.screen.focus != "archive":
        teacher.piano(PIANO_BEFORE)
    for _ in range(3):
        teacher.piano(PIANO_YES)
        teacher.wait(1)
    assert not before.is_archived and "piano" in before.note
    teacher.type(pygame.K_RETURN)
    teacher.wait(1)
    teacher.piano(PIANO_YES)
    assert not before.is_archived
    teacher.type(pygame.K_RETURN)
    teacher.wait(1)
    teacher.type(pygame.K_RETURN)
    assert before.is_archived
    teacher.wait(1)
    teacher.piano(PIANO_YES)
    assert not before.is_archived


def test_a_member_is_renamed_seated_and_made_a_number(teacher):
    teacher.new_class("3b", "Mia", "Ben")
    teacher.click_on(teacher.ids()[0])
    teacher.click_on("forget")
    assert "seat first" in teacher.screen.note  # nothing would be left to know them by
    teacher.click_on("rename")
    teacher.say(" B.")
    assert teacher.screen.title == "Mia B."
    teacher.click_on("seat")
    teacher.click_on("seat")
    teacher.click_on("forget")
    teacher.click_on("back")
    assert names(teacher) == ["Seat 2", "Ben"]


def test_a_renamed_class_keeps_its_readers(teacher):
    teacher.new_class("3b", "Mia")
    teacher.click_on("rename")
    teacher.type(pygame.K_BACKSPACE)
    teacher.say("c")
    assert teacher.screen.title == "3c"
    assert names(teacher) == ["Mia"]


# Files


def test_a_dropped_list_joins_the_class_and_what_was_done_is_said(teacher, tmp_path):
    teacher.new_class("3b", "Mia")
    path = tmp_path / "klasse.csv"
    path.write_bytes("Name;Nr\r\nMia;\r\nJosé;2\r\n;\r\nJosé;3\r\n".encode("latin-1"))
    teacher.drop(path)
    assert names(teacher) == ["Mia", "José", "José (2)"]
    assert "2 added, 1 here before" in teacher.screen.note
    assert "Windows-1252" in teacher.screen.note  # how it was read, since it is no UTF-8
    teacher.drop(path)  # a second time nobody is doubled
    assert names(teacher) == ["Mia", "José", "José (2)"]


def test_of_a_list_of_several_classes_a_class_takes_its_own(teacher, tmp_path):
    teacher.new_class("3b")
    path = tmp_path / "school.csv"
    path.write_text("name,class\nMia,3b\nBen,3c\nAda,3b\n", encoding="utf-8")
    teacher.drop(path)
    assert names(teacher) == ["Mia", "Ada"]
    assert "1 of other classes left out" in teacher.screen.note
    teacher.click_on("back")
    teacher.drop(path)
    teacher.click_on("take")
    assert "1 reader added" in teacher.screen.note
    titles = [one.name for one in teacher.stage.store.school.classes()]
    assert titles == ["3b", "3c"]


def test_five_hundred_rows_can_be_dropped_and_reached(teacher, tmp_path):
    teacher.new_class("All")
    path = tmp_path / "all.csv"
    path.write_text("name\n" + "\n".join(f"Reader {n}" for n in range(500)), encoding="utf-8")
    teacher.drop(path)
    teacher.click_on("take")
    assert len(teacher.screen.here) == 500
    for _ in range(12):
        teacher.type(pygame.K_DOWN)
    assert all(
        c.rect.bottom <= teacher.stage.window.canvas.height
        for c in teacher.screen.controls
        if c.seen
    )


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "no reader"),
        (b'name\n"Mia\n', "line 2"),
        (b"name,number\nMia,one\n", "'one'"),
    ],
)
def test_a_list_that_cannot_be_used_is_told_and_adds_nobody(teacher, tmp_path, data, told):
    teacher.new_class("3b")
    path = tmp_path / "broken.csv"
    path.write_bytes(data)
    teacher.drop(path)
    assert "broken.csv" in teacher.screen.note and told in teacher.screen.note
    assert names(teacher) == []


def test_a_list_that_is_gone_is_told(teacher, tmp_path):
    teacher.new_class("3b")
    teacher.drop(tmp_path / "gone.csv")
    assert "gone.csv: there is no such file" in teacher.screen.note


def test_what_is_saved_reads_back_the_same(teacher, tmp_path):
    teacher.new_class("3b", "Mia", "=1+1", "Анна")
    teacher.click_on("export")
    (path,) = (tmp_path / "documents" / "Stavewise").iterdir()
    assert str(path) in teacher.screen.note
    found = parse_roster(path.read_bytes(), path.name)
    assert [member.name for member in found.members] == ["Mia", "=1+1", "Анна"]
    assert found.notices == ()
    teacher.click_on("export")  # the earlier file stays
    assert len(list(path.parent.iterdir())) == 2


def test_a_folder_that_cannot_be_written_is_told(teacher, tmp_path):
    (tmp_path / "documents").write_text("no folder", encoding="utf-8")
    teacher.new_class("3b", "Mia")
    teacher.click_on("export")
    assert "cannot be written" in teacher.screen.note


# Preparing a heat


def test_a_heat_needs_somebody(teacher):
    teacher.new_class("3b")
    teacher.click_on("start")  # nobody in the class: it cannot be chosen
    assert isinstance(teacher.screen, ClassPage)
    teacher.click_on("add")
    teacher.say("Mia")
    teacher.say("")
    teacher.click_on("start")
    teacher.click_on("here")
    teacher.click_on("none")
    teacher.click_on("back")
    teacher.click_on("on")
    assert isinstance(teacher.screen, HeatChoices)
    assert "at least one" in teacher.screen.note


def test_who_is_not_here_has_no_seat(teacher):
    teacher.new_class("3b", "Mia", "Ben", "Ada")
    teacher.click_on("start")
    teacher.click_on("here")
    teacher.click_on(teacher.ids()[1])
    teacher.click_on("back")
    teacher.click_on("on")
    assert isinstance(teacher.screen, HeatTurns)
    assert [chair.seat.title for chair in teacher.heat.chairs] == ["Mia", "Ada"]


def test_the_choices_are_there_again_the_next_time(teacher):
    teacher.new_class("3b", "Mia")
    teacher.click_on("start")
    teacher.click_on("level")
    teacher.click_on(teacher.ids()[2])
    level = teacher.screen.choices.level
    teacher.click_on("length")
    teacher.click_on(teacher.ids()[4])
    length = teacher.screen.choices.prompts
    teacher.click_on("on")
    teacher.type(pygame.K_ESCAPE)
    teacher.click_on(next(name for name in teacher.ids() if name.startswith("class-")))
    teacher.click_on("start")
    assert (teacher.screen.choices.level, teacher.screen.choices.prompts) == (level, length)


@pytest.mark.parametrize(
    "kept",
    [None, 3, {"prompts": "many"}, {"prompts": 7}, {"manner": "upside down"}, {"pulled": "x"}],
)
def test_choices_that_cannot_be_are_as_usual(kept):
    assert Choices.from_kept(kept) == Choices()


@pytest.mark.parametrize("size", SIZES)
def test_everything_lies_within_the_window(teacher):
    def inside() -> bool:
        window = teacher.stage.window.canvas.surface.get_rect()
        return all(
            window.contains(control.rect) for control in teacher.screen.controls if control.seen
        )

    teacher.new_class("3b", *[f"Somebody with a long name {n}" for n in range(30)])
    assert inside()
    for page in ("add", "start"):
        teacher.click_on(page)
        assert inside()
        teacher.type(pygame.K_ESCAPE)
    teacher.click_on("start")
    for page in ("level", "length", "here"):
        teacher.click_on(page)
        assert inside()
        teacher.click_on("back")


def test_a_list_dropped_on_the_start_page_becomes_classes(teacher, tmp_path):
    path = tmp_path / "Room 7.csv"
    path.write_text("Mia\nBen\n", encoding="utf-8")
    teacher.drop(path)
    teacher.click_on("take")
    assert isinstance(teacher.screen, Classes)
    assert "Room 7" in teacher.labels()  # no class in it: the file's name says which


def test_a_piece_dropped_while_a_heat_is_prepared_is_its_level(teacher, tmp_path, monkeypatch):
    monkeypatch.setenv("STAVEWISE_LEVELS", str(tmp_path / "own"))
    piece = tmp_path / "tune.abc"
    piece.write_text("X:1\nT:Tune\nM:4/4\nL:1/4\nK:C\nCDEF|GFED|C4|]\n", encoding="utf-8")
    teacher.new_class("3b", "Mia")
    teacher.click_on("start")
    before = teacher.screen.choices.level
    teacher.drop(piece)
    teacher.click_on("back")  # thought better of it
    assert isinstance(teacher.screen, HeatChoices)
    assert teacher.screen.choices.level == before
    teacher.drop(piece)
    teacher.click_on("bars")
    assert isinstance(teacher.screen, HeatChoices)
    assert teacher.screen.rung.level.title.startswith("Tune")
    teacher.click_on("on")
    assert "written" in teacher.heat.setup.level_text
    first = teacher.heat.chairs[0].form[0]
    assert [slot.keys for slot in first.slots] == [{60}, {62}, {64}, {65}]
