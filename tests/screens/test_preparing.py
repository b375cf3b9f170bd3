# SPDX-License-Identifier: MIT
"""A class and its heat are prepared: what is asked first, what stays put, what is remembered."""

from __future__ import annotations

import pygame
import pytest
from lines import lines_of, words_of

from game.heats import PlayMode
from game.screens.reader.readers import Readers
from game.screens.reader.welcome import Welcome
from game.screens.school.class_page import ClassPage
from game.screens.school.classes import Classes
from game.screens.school.heat_choices import HeatChoices
from game.screens.school.take_in import TakeIn
from game.session.clock import Clock
from game.ui.screen import PIANO_YES

SIZES = [(1280, 720), (1920, 1080), (1024, 600)]
TODAY = "2026-03-02"


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    monkeypatch.setattr(Clock, "today", TODAY)


def file(tmp_path, name: str, text: str):
    path = tmp_path / name
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def value(teacher, row: str) -> str:
    """What a row says at its right."""
    return next(control.value for control in teacher.screen.controls if control.id == row)


def classes(teacher) -> dict[str, list[str]]:
    """Every class of the store, and who is in it."""
    school = teacher.stage.store.school
    return {one.name: [m.name for m in school.members(one.id)] for one in school.classes()}


# What a heat is to be


def test_arrows_stop_at_the_ends_of_every_row(teacher):
    teacher.new_class("3b", "Mia")
    teacher.click_on("start")
    teacher.screen._change(manner=PlayMode.TOGETHER)
    teacher.look()
    for row in ("level", "length", "manner", "forms", "shows", "pulled"):
        found = []
        for key in (pygame.K_LEFT, pygame.K_RIGHT):
            teacher.screen.focus = row
            teacher.type(*[key] * 80)
            found.append(value(teacher, row))
            if row == "manner":
                assert value(teacher, row).startswith(("in turn", "together"))
        assert found[0] != found[1], row


def test_from_the_fewest_prompts_one_step_more_to_the_left_changes_nothing(teacher):
    teacher.new_class("3b", "Mia")
    teacher.click_on("start")
    teacher.screen.focus = "length"
    teacher.type(*[pygame.K_LEFT] * 9)
    assert value(teacher, "length") == "6 prompts each"
    teacher.type(*[pygame.K_RIGHT] * 40)
    assert value(teacher, "length") == "300 seconds"
    teacher.type(pygame.K_LEFT)
    assert value(teacher, "length") == "180 seconds"


@pytest.mark.parametrize("hand", ["mouse", "keys", "piano"])
def test_any_length_is_chosen_from_a_list(teacher, hand):
    teacher.plug("Piano")
    teacher.new_class("3b", "Mia")
    teacher.click_on("start")
    do = {
        "mouse": lambda: teacher.click_on(teacher.screen.focus),
        "keys": lambda: teacher.type(pygame.K_RETURN),
        "piano": lambda: teacher.piano(PIANO_YES),
    }[hand]
    teacher.screen.focus = "length"
    do()
    assert {"6 prompts each", "48 prompts each", "30 seconds", "300 seconds"} <= {*teacher.labels()}
    teacher.screen.focus = next(c.id for c in teacher.screen.controls if c.label == "90 seconds")
    do()
    assert isinstance(teacher.screen, HeatChoices)
    assert value(teacher, "length") == "90 seconds"


@pytest.mark.parametrize("size", SIZES)
def test_no_row_moves_whatever_is_chosen(teacher):
    teacher.new_class("3b", "Mia")
    teacher.click_on("start")

    def places() -> dict[str, tuple[int, int]]:
        return {c.id: c.rect.topleft for c in teacher.screen.controls}

    before = places()
    for row in ("manner", "forms", "shows", "manner", "manner", "pulled"):
        teacher.click_on(row)
        assert places() == before


def test_a_row_that_does_not_apply_cannot_be_chosen_and_is_passed_over(teacher):
    teacher.new_class("3b", "Mia")
    teacher.click_on("start")
    assert teacher.screen.choices.manner == PlayMode.IN_TURN
    teacher.click_on("pulled")
    assert teacher.screen.choices.pulled
    teacher.screen.focus = "shows"
    teacher.type(pygame.K_TAB)
    assert teacher.screen.focus == "here"
    teacher.click_on("manner")
    teacher.click_on("pulled")
    assert not teacher.screen.choices.pulled


# Who is here


def send_home(teacher, *places: int) -> None:
    """From the class's page: those at these places of its list are not here today."""
    teacher.click_on("start")
    teacher.click_on("here")
    for place in places:
        teacher.click_on(teacher.ids()[place])
    teacher.click_on("back")


def test_who_is_here_is_remembered_for_the_day_and_for_the_class(teacher, monkeypatch):
    teacher.new_class("3c", "Tom", "Ida")
    teacher.type(pygame.K_ESCAPE, pygame.K_ESCAPE)
    teacher.new_class("3b", "Mia", "Ben", "Ada")
    send_home(teacher, 1)
    assert value(teacher, "here") == "2 of 3"
    teacher.type(pygame.K_ESCAPE)
    teacher.click_on("add")
    teacher.say("Zoë")  # new, so she is here
    teacher.say("")
    teacher.click_on("start")
    assert value(teacher, "here") == "3 of 4"
    teacher.type(pygame.K_ESCAPE, pygame.K_ESCAPE)
    teacher.click_on(teacher.ids()[0])  # the other class
    teacher.click_on("start")
    assert value(teacher, "here") == "2 of 2"
    teacher.type(pygame.K_ESCAPE, pygame.K_ESCAPE)
    monkeypatch.setattr(Clock, "today", "2026-03-03")
    teacher.click_on(teacher.ids()[1])
    teacher.click_on("start")
    assert value(teacher, "here") == "4 of 4"


def test_whoever_came_late_into_a_heat_is_here_at_the_next(teacher):
    teacher.plug("Piano")
    teacher.new_class("3b", "Mia", "Ben", "Ada")
    send_home(teacher, 1, 2)
    assert value(teacher, "here") == "1 of 3"
    teacher.click_on("on")
    teacher.type(pygame.K_PLUS, pygame.K_RETURN)
    assert [chair.seat.title for chair in teacher.heat.chairs] == ["Mia", "Ben"]
    teacher.type(pygame.K_ESCAPE)
    teacher.click_on(next(name for name in teacher.ids() if name.startswith("class-")))
    teacher.click_on("start")
    assert value(teacher, "here") == "2 of 3"


@pytest.mark.parametrize("kept", [3, {"day": TODAY}, {"day": TODAY, "away": 7}, {"day": 1}])
def test_what_cannot_be_who_is_away_is_nobody(teacher, kept):
    teacher.new_class("3b", "Mia")
    (one,) = teacher.stage.store.school.classes()
    teacher.stage.store.set_setting(f"away from class {one.id}", kept)
    teacher.click_on("start")
    assert value(teacher, "here") == "1 of 1"


# Lists


def test_what_is_no_class_list_is_told_and_its_headings_are_named(teacher, tmp_path):
    teacher.click_on("classes")
    path = file(tmp_path, "price.csv", "Product;Price\nApple;3\nBread;2\nMilk;1\n")
    teacher.drop(path)
    assert isinstance(teacher.screen, TakeIn)
    assert "price.csv: 4 classes, 4 readers" in teacher.screen.below_title
    words = " ".join(words_of(teacher))
    assert "Product, Price" in words and "a new class, 1 reader" in words
    assert {"Price", "3", "2", "1"} <= set(words_of(teacher))
    teacher.type(pygame.K_RETURN)  # the answer that was offered first
    assert isinstance(teacher.screen, Classes) and classes(teacher) == {}
    teacher.drop(path)
    teacher.click_on("take")
    assert set(classes(teacher)) == {"Price", "3", "2", "1"}


@pytest.mark.parametrize("leave", ["Escape", "leave"])
def test_a_list_that_is_left_alone_stores_nothing(teacher, tmp_path, leave):
    teacher.click_on("classes")
    teacher.drop(file(tmp_path, "5a.csv", "Mia\nBen\n"))
    if leave == "leave":
        teacher.click_on("leave")
    else:
        teacher.type(pygame.K_ESCAPE)
    assert isinstance(teacher.screen, Classes)
    assert classes(teacher) == {} and "undo" not in teacher.ids()


@pytest.mark.parametrize(("count", "asks"), [(40, False), (41, True)])
def test_a_class_is_asked_only_about_many(teacher, tmp_path, count, asks):
    teacher.new_class("3b", "Reader 0")
    teacher.drop(file(tmp_path, "a.csv", "".join(f"Reader {n}\n" for n in range(count + 1))))
    assert isinstance(teacher.screen, TakeIn) is asks
    if asks:
        assert "42 readers" in teacher.screen.below_title
        teacher.click_on("take")
    assert isinstance(teacher.screen, ClassPage)
    assert f"{count} added, 1 here before" in teacher.screen.note


def test_a_list_into_classes_that_are_there_is_not_asked_about(teacher, tmp_path):
    teacher.click_on("classes")
    path = file(tmp_path, "a.csv", "name,class\nMia,3b\nBen,3c\n")
    teacher.drop(path)
    teacher.click_on("take")
    teacher.drop(file(tmp_path, "b.csv", "name,class\nMia,3B\nZoë,3c\n"))
    assert isinstance(teacher.screen, Classes)
    assert "1 reader added" in teacher.screen.note


@pytest.mark.parametrize("size", SIZES)
def test_many_classes_of_a_list_are_all_told(teacher, tmp_path):
    teacher.click_on("classes")
    rows = "".join(f"Reader {n},{n % 60}\n" for n in range(240))
    teacher.drop(file(tmp_path, "school.csv", "name,class\n" + rows))
    assert "60 classes, 240 readers" in teacher.screen.below_title
    told = set[str]()
    for _ in range(60):
        words = words_of(teacher)
        assert words.count("a new class, 4 readers") > 5
        told |= {said for said in words if said.isdecimal()}
        teacher.type(pygame.K_PAGEDOWN)
    assert told == set(map(str, range(60)))
    window = teacher.stage.window.canvas.surface.get_rect()
    assert all(window.contains(one.rect) for one in teacher.screen.controls if one.seen)


def test_what_is_typed_on_the_list_of_files_is_a_path(teacher, tmp_path):
    file(tmp_path, "wrong.csv", "Ada\n")
    file(tmp_path, "documents/big.csv", "Mia\n")
    teacher.new_class("3b")
    teacher.click_on("file")
    assert teacher.screen.focus == "file-0"
    teacher.say("~/wrong.csv")
    assert classes(teacher) == {"3b": ["Ada"]}


# The first pages


@pytest.mark.parametrize("size", SIZES)
def test_the_very_first_page_leads_to_the_classes(teacher):
    teacher.app.first_screen()
    teacher.look()
    assert isinstance(teacher.screen, Welcome)
    rects = [control.rect for control in teacher.screen.controls]
    assert all(rect.collidelist(rects[n + 1 :]) < 0 for n, rect in enumerate(rects))
    found = next(c for c in teacher.screen.controls if c.id == "classes")
    assert found.style == "quiet"
    teacher.click_on("classes")
    assert isinstance(teacher.screen, Classes)
    assert "new" in teacher.ids()


def test_a_heat_that_never_began_is_not_offered(teacher):
    teacher.plug("Piano")
    teacher.new_class("3b", "Mia", "Ben")
    teacher.begin(prompts=6)
    teacher.type(pygame.K_ESCAPE)
    assert not [name for name in teacher.ids() if name.startswith("heat-")]
    teacher.stage.go.open_readers()
    teacher.look()
    assert not [name for name in teacher.ids() if name.startswith("heat-")]


@pytest.mark.parametrize("size", SIZES)
def test_a_heat_stands_apart_from_the_readers(teacher):
    for name in ("Anna", "Bert"):
        teacher.stage.store.add_reader(name)
    teacher.plug("Piano")
    teacher.stage.go.open_readers()
    teacher.look()
    teacher.new_class("3b", "Mia")
    teacher.begin(prompts=6)
    teacher.press("Piano", 60)
    teacher.pass_time(4)
    teacher.type(pygame.K_ESCAPE, pygame.K_ESCAPE)
    teacher.stage.go.open_readers()
    words = words_of(teacher)
    assert isinstance(teacher.screen, Readers)
    assert "A class heat was broken off" in words
    new = next(c for c in teacher.screen.controls if c.id == "new")
    heat = next(c for c in teacher.screen.controls if c.id.startswith("heat-"))
    assert heat.rect.top > new.rect.bottom
    assert teacher.ids().index(heat.id) > teacher.ids().index("new")


@pytest.mark.parametrize("size", SIZES)
def test_a_long_notice_keeps_clear_of_the_question(teacher):
    teacher.stage.notices.append("The store cannot be reached. " * 9)
    teacher.stage.go.open_readers()
    drawn = [(line.words, line.rect) for line in lines_of(teacher)]
    lines = [rect for text, rect in drawn if "store cannot" in text]
    (asked,) = (rect for text, rect in drawn if text == "Who is reading?")
    (title,) = (rect for text, rect in drawn if text == "Stavewise")
    assert len(lines) > 1
    assert max(rect.bottom for rect in lines) < asked.top + asked.height // 4  # above its letters
    assert min(rect.top for rect in lines) > title.top + title.height // 2


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("count", [1, 2, 12])
def test_the_keys_of_a_menu_stand_at_the_foot_however_many_keyboards(teacher, count):
    teacher.plug(*[f"Digital Stage Piano Model P-{n}45 MIDI 1" for n in range(count)])
    teacher.click_on("classes")
    words = words_of(teacher)
    assert {"choose", "back"} <= set(words)
    if count == 12:
        assert any(word.startswith("12 keyboards") for word in words)


@pytest.mark.parametrize("size", SIZES)
def test_the_help_page_tells_of_classes_and_all_of_it_is_on_the_page(teacher):
    teacher.stage.go.open_help()
    drawn = [(line.words, line.rect) for line in lines_of(teacher)]
    canvas = teacher.stage.window.canvas
    assert any("Class challenge" in text for text, _rect in drawn)
    foot = canvas.height - canvas.px(42)
    hints = {"move", "choose", "back", "Enter", "Esc", "↑ ↓ ← →", teacher.stage.piano.line}
    assert all(rect.bottom < foot for text, rect in drawn if text not in hints)
