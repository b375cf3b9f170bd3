# SPDX-License-Identifier: MIT
"""A class list is given, asked about, and undone, in the window."""

from __future__ import annotations

import os
from pathlib import Path
from threading import Event

import pygame
import pytest

from game.files.nearby import files_nearby, given_path
from game.heats import PlayMode
from game.screens.school.class_page import ClassPage
from game.screens.school.classes import Classes
from game.screens.school.list_files import ListFiles
from game.screens.school.take_in import TakeIn
from game.screens.school.told_page import MessagePage
from game.screens.school.which_class import WhichClass
from game.ui import list_page

SIZES = [(1280, 720), (1920, 1080), (1024, 600)]


def names(teacher) -> list[str]:
    """Whom the class page lists, and their seats."""
    rows = [c for c in teacher.screen.controls if c.id.startswith("member-")]
    return [f"{row.label} {row.value}".strip() for row in rows]


def classes(teacher) -> dict[str, list[str]]:
    """Every class of the store that is not archived, and who is in it."""
    school = teacher.stage.store.school
    return {one.name: [m.name for m in school.members(one.id)] for one in school.classes()}


def file(tmp_path, name: str, text: str | bytes):
    path = tmp_path / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def paste(teacher, monkeypatch, words: str, key: int = pygame.K_v, mod: int = pygame.KMOD_CTRL):
    monkeypatch.setattr(list_page, "pasted", lambda: words)
    event = pygame.event.Event(pygame.KEYDOWN, key=key, mod=mod, unicode="", scancode=0)
    teacher.app.loop.from_window(event)
    teacher.look()


def archive(teacher, row: str) -> None:
    """Archive somebody of the class."""
    teacher.click_on(row)
    for _ in range(2):
        teacher.wait(1)
        teacher.click_on("archive")
    teacher.click_on("back")


# Given by its path


def test_a_path_is_pasted_and_its_list_is_in_the_class(teacher, tmp_path, monkeypatch):
    path = file(tmp_path, "my  list.csv", "Mia\nBen\n")
    teacher.new_class("3b")
    teacher.click_on("file")
    teacher.click_on("path")
    paste(teacher, monkeypatch, f'"{path}"')
    teacher.type(pygame.K_RETURN)
    assert isinstance(teacher.screen, ClassPage)
    assert names(teacher) == ["Mia", "Ben"]
    assert "my  list.csv: 2 added" in teacher.screen.note


def test_a_path_is_typed_at_the_list_of_classes(teacher, tmp_path):
    file(tmp_path, "5a.csv", "Mia\nBen\n")
    teacher.click_on("classes")
    teacher.click_on("file")
    teacher.click_on("path")
    teacher.say("~/5a.csv")
    assert isinstance(teacher.screen, TakeIn) and classes(teacher) == {}
    teacher.click_on("take")
    assert isinstance(teacher.screen, Classes)
    assert classes(teacher) == {"5a": ["Mia", "Ben"]}


def test_a_list_that_brings_an_archived_class_back_is_told_first(teacher, tmp_path):
    file(tmp_path, "5a.csv", "Mia\nBen\n")
    school = teacher.stage.store.school
    made = school.add_class("5a")
    school.import_members(made.id, [("Mia", None), ("Ben", None)])
    school.archive_class(made.id)
    teacher.click_on("classes")
    assert "archived" in teacher.screen.empty
    teacher.click_on("file")
    teacher.click_on("path")
    teacher.say("~/5a.csv")
    assert isinstance(teacher.screen, TakeIn) and classes(teacher) == {}
    teacher.click_on("leave")
    assert classes(teacher) == {}


def test_folders_that_the_system_asks_leave_for_hold_up_no_page(teacher, tmp_path, monkeypatch):
    allowed, path = Event(), file(tmp_path, "5a.csv", "Mia\n")

    def asked(_endings, _most):
        allowed.wait(30)
        return (path,)

    monkeypatch.setattr("game.ui.pick_file.files_nearby", asked)
    teacher.click_on("classes")
    teacher.click_on("file")
    assert "Looking in" in teacher.screen.empty
    assert teacher.screen.wait(teacher.stage.clock.now()) is not None  # it looks again by itself
    allowed.set()
    while teacher.screen.rows() == []:
        teacher.screen.tick(teacher.stage.clock.now())
    teacher.look()
    teacher.click_on("file-0")
    assert isinstance(teacher.screen, TakeIn)


def test_by_the_computer_keyboard_alone(teacher, tmp_path):
    file(tmp_path, "5a.csv", "Mia\n")
    teacher.click_on("classes")
    teacher.type(pygame.K_TAB, pygame.K_RETURN)  # Add from a file
    assert isinstance(teacher.screen, ListFiles)
    teacher.type(pygame.K_RETURN)  # Type or paste a path: no list lies near
    teacher.say("~/5a.csv")
    teacher.type(pygame.K_RETURN)  # Take it in
    assert classes(teacher) == {"5a": ["Mia"]}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("~/nowhere.csv", "nowhere.csv: there is no such file"),
        ("~", "is a folder: name the list in it"),
        ("", "Type or paste the path"),
        ("~/" + "x" * 300 + ".csv", "cannot be read: File name too long"),
        ("~nobody-of-this-name/a.csv", "no such file"),
        ("~/pipe", "is no file that can be read"),
        ("~/book.xlsx", "an Excel workbook, not a text file; save it as CSV"),
        ("~/photo.jpg", "photo.jpg: this is not a text file; save it as CSV"),
    ],
)
def test_a_path_without_a_list_can_be_mended_where_it_stands(teacher, tmp_path, words, told):
    os.mkfifo(tmp_path / "pipe")
    file(tmp_path, "book.xlsx", b"PK\x03\x04")
    file(tmp_path, "photo.jpg", bytes(range(256)))
    file(tmp_path, "5a.csv", "Mia\n")
    teacher.click_on("classes")
    teacher.click_on("file")
    teacher.click_on("path")
    teacher.say(words)
    assert told in teacher.screen.note and not teacher.screen.good
    assert teacher.screen.field is not None
    for _ in teacher.screen.field.words:
        teacher.type(pygame.K_BACKSPACE)
    teacher.say("~/5a.csv")
    teacher.click_on("take")
    assert classes(teacher) == {"5a": ["Mia"]}


def test_a_file_that_may_not_be_read_is_told(teacher, tmp_path, monkeypatch):
    def refused(*_how):
        raise PermissionError(13, "Permission denied")

    path = file(tmp_path, "5a.csv", "Mia\n")
    teacher.new_class("3b")
    monkeypatch.setattr(Path, "open", refused)
    teacher.drop(path)
    assert "5a.csv cannot be read: Permission denied; allow reading it" in teacher.screen.note


def test_the_end_of_a_long_path_is_what_is_seen(teacher, tmp_path, monkeypatch):
    seen = []
    teacher.click_on("classes")
    teacher.click_on("file")
    teacher.click_on("path")
    paste(teacher, monkeypatch, "/folder" * 40 + "/5a.csv", pygame.K_INSERT, pygame.KMOD_SHIFT)
    real = list_page.theme.text_surface
    monkeypatch.setattr(
        list_page.theme, "text_surface", lambda words, *how: seen.append(words) or real(words, *how)
    )
    teacher.look()
    (line,) = {words for words in seen if words.endswith("▏")}
    assert line.startswith("…") and line.endswith("/5a.csv▏")


@pytest.mark.parametrize(
    ("words", "path"),
    [
        ("/tmp/a b.csv", "/tmp/a b.csv"),
        ("  '/tmp/a.csv' ", "/tmp/a.csv"),
        ('"/tmp/a.csv"', "/tmp/a.csv"),
        ("“/tmp/a.csv”", "/tmp/a.csv"),
        ("file:///tmp/Zo%C3%AB%20%231.csv", "/tmp/Zoë #1.csv"),
        ("'file:///tmp/a.csv'", "/tmp/a.csv"),
        ("file:/tmp/a.csv", "/tmp/a.csv"),
        ("file:///C:/Lists/a.csv", "C:/Lists/a.csv"),
        ("~/a.csv", "/home/teacher/a.csv"),
    ],
)
def test_what_a_pasted_path_is_wrapped_in_is_taken_off(words, path, monkeypatch):
    monkeypatch.setenv("HOME", "/home/teacher")
    assert given_path(words).as_posix() == path


@pytest.mark.parametrize("words", ["", "  ", "''", "a\0b"])
def test_no_path_at_all_is_told(words):
    assert given_path(words) is None


# Found near at hand


def test_lists_that_lie_near_are_offered_newest_first(teacher, tmp_path):
    for age, name in enumerate(["download/b.csv", "documents/a.CSV", "desktop/c.csv"]):
        path = file(tmp_path, name, "Mia\n")
        os.utime(path, (2_000_000_000 - age, 2_000_000_000 - age))
    file(tmp_path, "download/song.abc", "X:1\n")
    (tmp_path / "documents" / "folder.csv").mkdir()
    teacher.click_on("classes")
    teacher.click_on("file")
    assert teacher.labels()[:3] == ["b.csv", "a.CSV", "c.csv"]
    assert len([name for name in teacher.ids() if name.startswith("file-")]) == 3
    teacher.click_on("file-1")
    teacher.click_on("take")
    assert classes(teacher) == {"a": ["Mia"]}


def test_folders_that_are_not_there_are_no_hindrance(tmp_path):
    assert files_nearby((".csv",), 5, [tmp_path / "nowhere", tmp_path]) == ()
    for n in range(9):
        (tmp_path / f"{n}.csv").touch()
    assert len(files_nearby((".csv",), 5, [tmp_path, tmp_path])) == 5


# Undone


def test_a_list_is_undone_and_the_class_is_as_it_was(teacher, tmp_path):
    teacher.new_class("3b", "Mia", "Ben")
    teacher.drop(file(tmp_path, "a.csv", "name,number\nMia,4\nBen,5\n"))
    assert "0 added, 2 here before, 2 seat numbers changed." in teacher.screen.note
    before = names(teacher)
    assert before == ["Mia seat 4", "Ben seat 5"]
    archive(teacher, teacher.ids()[1])
    teacher.drop(file(tmp_path, "wrong.csv", "name,number\nBen,4\nMia,5\nEva,1\nZoë,2\n"))
    assert "2 seat numbers changed, 1 back from the archive" in teacher.screen.note
    assert len(names(teacher)) == 4
    teacher.click_on("undo")
    assert names(teacher) == ["Mia seat 4"]
    assert "as it was before wrong.csv" in teacher.screen.note
    assert "undo" not in teacher.ids()
    teacher.click_on("archived")
    assert names(teacher) == ["Ben seat 5"]  # and nobody else


def test_five_hundred_readers_are_undone_at_once(teacher, tmp_path):
    teacher.new_class("3b", "Mia")
    teacher.drop(file(tmp_path, "all.csv", "".join(f"Reader {n}\n" for n in range(500))))
    teacher.click_on("take")
    assert len(teacher.screen.here) == 501
    teacher.click_on("undo")
    assert names(teacher) == ["Mia"]


def test_classes_that_a_list_made_are_undone_from_one_of_them(teacher, tmp_path):
    teacher.click_on("classes")
    teacher.drop(file(tmp_path, "school.csv", "name,class\nMia,3b\nBen,3c\n"))
    teacher.click_on("take")
    teacher.click_on(next(name for name in teacher.ids() if name.startswith("class-")))
    teacher.click_on("undo")
    assert isinstance(teacher.screen, Classes)
    assert classes(teacher) == {}
    assert "as it was before school.csv" in teacher.screen.note and teacher.screen.good


def test_numbered_seats_are_undone_too(teacher, tmp_path):
    teacher.new_class("3b")
    teacher.drop(file(tmp_path, "a.csv", "Mia,2\n"))
    teacher.click_on("seats")
    teacher.say("3")
    assert names(teacher) == ["Mia seat 2", "Seat 1", "Seat 3"]  # 2 is Mia's
    teacher.click_on("undo")
    assert names(teacher) == ["Mia seat 2"]


def test_another_class_does_not_offer_to_undo(teacher, tmp_path):
    teacher.new_class("3b")
    teacher.drop(file(tmp_path, "a.csv", "Mia\n"))
    teacher.click_on("back")
    assert "undo" in teacher.ids()
    teacher.click_on("new")
    teacher.say("3c")
    assert "undo" not in teacher.ids()


def test_once_a_heat_has_begun_nothing_is_undone(teacher, tmp_path):
    teacher.new_class("3b")
    teacher.drop(file(tmp_path, "a.csv", "Mia\n"))
    teacher.begin(PlayMode.IN_TURN, prompts=6)
    assert teacher.at_heat()
    teacher.type(pygame.K_ESCAPE)
    assert "undo" not in teacher.ids()


# Which class is meant


def test_a_list_of_another_class_asks_before_anything_is_stored(teacher, tmp_path):
    teacher.new_class("3b", "Ada")
    path = file(tmp_path, "klasse.csv", "name;class\nMia;5b\nBen;5b\n")
    teacher.drop(path)
    assert isinstance(teacher.screen, WhichClass)
    assert "5b" in teacher.screen.below_title and "3b" in teacher.screen.below_title
    assert classes(teacher) == {"3b": ["Ada"]}
    teacher.click_on("none")
    assert names(teacher) == ["Ada"]
    teacher.drop(path)
    teacher.click_on("here")
    assert names(teacher) == ["Ada", "Mia", "Ben"]
    teacher.click_on("undo")
    teacher.drop(path)
    teacher.click_on("others")
    assert isinstance(teacher.screen, Classes)
    assert classes(teacher) == {"3b": ["Ada"], "5b": ["Mia", "Ben"]}


def test_a_list_of_several_other_classes_is_never_thrown_together(teacher, tmp_path):
    teacher.new_class("3b")
    teacher.drop(file(tmp_path, "a.csv", "name,class\nMia,5a\nMia,5b\nEva,5c\nBen,5d\n"))
    assert isinstance(teacher.screen, WhichClass)
    assert "here" not in teacher.ids()
    assert "5a, 5b, 5c and 1 more" in teacher.screen.below_title
    teacher.type(pygame.K_ESCAPE)
    assert classes(teacher) == {"3b": []}


def test_capitals_make_no_other_class_and_mix_up_nobody(teacher, tmp_path):
    teacher.new_class("3b")
    teacher.drop(file(tmp_path, "a.csv", "name,class\nMia,3B\nMia,3b\nBen,\n"))
    assert names(teacher) == ["Mia", "Mia (2)", "Ben"]


# What is wrong with a list


def test_a_seat_that_two_would_have_is_told_and_nobody_is_added(teacher, tmp_path):
    teacher.new_class("3b")
    teacher.drop(file(tmp_path, "a.csv", "Mia,2\n"))
    teacher.drop(file(tmp_path, "b.csv", "Ben,2\nEva,3\n"))
    assert "number 2 would be that of Mia and Ben" in teacher.screen.note
    assert "b.csv" in teacher.screen.note and not teacher.screen.good
    assert names(teacher) == ["Mia seat 2"]


@pytest.mark.parametrize("name", ["a.xlsx", "a.ods", "a.numbers"])
def test_a_spreadsheet_dropped_is_told_how_to_become_a_list(teacher, tmp_path, name):
    path = file(tmp_path, name, b"PK\x03\x04" + bytes(range(256)))
    teacher.drop(path)  # on the start page
    assert isinstance(teacher.screen, Classes)
    assert f"{name}: this is a" in teacher.screen.note
    assert "save it as CSV" in teacher.screen.note


def test_a_list_of_many_faults_has_them_all_on_a_page(teacher, tmp_path):
    teacher.new_class("3b")
    teacher.drop(file(tmp_path, "a.csv", "name,number\nMia,x\nBen,y\nEva,0\n"))
    assert isinstance(teacher.screen, MessagePage)
    lines = teacher.screen._lines
    assert [f"line {n}" in line for n, line in zip((2, 3, 4), lines, strict=True)] == [True] * 3
    teacher.click_on("back")
    assert names(teacher) == []


def test_what_is_to_be_known_of_a_list_can_be_read_in_full(teacher, tmp_path):
    teacher.new_class("3b")
    teacher.drop(file(tmp_path, "a.csv", "Mia\nMia\nBen\nBen\nBen\n"))
    teacher.click_on("told")
    assert len(teacher.screen._lines) == 3
    teacher.click_on("back")
    assert len(names(teacher)) == 5


@pytest.mark.parametrize("size", SIZES)
def test_everything_lies_within_the_window_and_apart(teacher, tmp_path):
    def sound() -> bool:
        window = teacher.stage.window.canvas.surface.get_rect()
        rects = [control.rect for control in teacher.screen.controls if control.seen]
        apart = all(one.collidelist(rects[n + 1 :]) < 0 for n, one in enumerate(rects))
        return apart and all(window.contains(rect) for rect in rects)

    for n in range(50):
        file(tmp_path, f"documents/{'a long name of a list ' * 4}{n}.csv", "Mia\n")
    teacher.new_class("3b", *[f"Somebody with a long name {n}" for n in range(30)])
    archive(teacher, teacher.ids()[0])
    teacher.drop(file(tmp_path, "a.csv", "Mia\nMia\nMia\n"))
    assert {"undo", "told", "archived", "start"} <= set(teacher.ids()) and sound()
    teacher.click_on("told")
    assert sound()
    teacher.click_on("back")
    teacher.click_on("file")
    assert sound()
    teacher.click_on("path")
    assert sound()
    teacher.type(pygame.K_ESCAPE, pygame.K_ESCAPE)
    teacher.drop(file(tmp_path, "a.csv", "name,class\nMia,5a\n"))
    assert sound()
