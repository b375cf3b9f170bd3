# SPDX-License-Identifier: MIT
"""Somebody comes late to a heat whom the class does not know: typed by name or by number."""

from __future__ import annotations

import pygame
import pytest

from game.heats import HeatPhase, PlayMode
from game.screens.school import latecomers
from game.store import School, StoreError

LATE, TYPE, ENTER = pygame.K_PLUS, pygame.K_TAB, pygame.K_RETURN
SIZES = [(1280, 720), (1920, 1080), (1024, 600)]


@pytest.fixture
def teacher(teacher):
    made = teacher
    made.new_class("3b", "Mia", "Ben", "Ada")
    made.click_on("start")
    made.click_on("here")
    made.click_on(made.ids()[2])  # Ada is not here yet
    made.click_on("back")
    made.screen._change(manner=PlayMode.IN_TURN, prompts=6)
    made.look()
    made.click_on("on")
    return made


def letters(teacher, words: str) -> None:
    for letter in words:
        teacher.app.loop.from_window(pygame.event.Event(pygame.TEXTINPUT, text=letter))
    teacher.look()


def erase(teacher, count: int) -> None:
    teacher.type(*[pygame.K_BACKSPACE] * count)


def seats(teacher) -> list[tuple[int, str, bool]]:
    """Number and name of every seat, and whether the class knows its reader."""
    found = [chair.seat for chair in teacher.heat.chairs]
    return [(seat.number, seat.name, seat.member is not None) for seat in found]


def in_class(teacher) -> list[str]:
    school = teacher.stage.store.school
    return [member.name for member in school.members(school.classes()[0].id)]


def said(teacher) -> tuple[str, bool]:
    parts, alarm = teacher.screen.said()
    return " ".join(parts), alarm


HERE = [(1, "Mia", True), (2, "Ben", True)]


def test_what_an_input_method_puts_together_is_seen_on_the_strip(teacher):
    teacher.type(LATE, TYPE)
    assert teacher.screen.types_at is not None
    event = pygame.event.Event(pygame.TEXTEDITING, text="mei", start=0, length=3)
    teacher.app.loop.from_window(event)
    teacher.look()
    assert "mei" in said(teacher)[0]
    teacher.type(ENTER)  # is the method's
    assert seats(teacher) == HERE
    letters(teacher, "美")
    assert "mei" not in said(teacher)[0] and "美" in said(teacher)[0]
    teacher.type(pygame.K_ESCAPE)
    assert teacher.screen.types_at is None


def test_a_name_that_is_typed_joins_the_heat_and_the_class(teacher):
    teacher.type(LATE, TYPE)
    assert "name or number" in said(teacher)[0]
    letters(teacher, "  Zoë Ng")
    assert "Zoë Ng" in said(teacher)[0]
    teacher.type(ENTER)
    assert seats(teacher) == [*HERE, (3, "Zoë Ng", True)]
    assert in_class(teacher) == ["Mia", "Ben", "Ada", "Zoë Ng"]
    assert not teacher.screen.late.choosing


def test_a_number_that_is_typed_is_a_seat_without_a_name(teacher):
    teacher.type(LATE, TYPE)
    letters(teacher, "2")
    teacher.type(ENTER)
    assert said(teacher) == ("Seat 2 is taken", True)
    erase(teacher, 1)
    letters(teacher, "17")
    teacher.type(ENTER)
    assert seats(teacher) == [*HERE, (17, "", False)]
    assert in_class(teacher) == ["Mia", "Ben", "Ada"]


def test_whoever_the_class_knows_is_not_doubled(teacher):
    teacher.type(LATE, TYPE)
    letters(teacher, "ADA")
    teacher.type(ENTER)
    assert seats(teacher) == [*HERE, (3, "Ada", True)]
    teacher.type(LATE, TYPE)
    letters(teacher, "mia")
    teacher.type(ENTER)
    assert said(teacher) == ("mia is here already", True)
    assert len(teacher.heat.chairs) == 3
    assert in_class(teacher) == ["Mia", "Ben", "Ada"]


def test_somebody_archived_comes_back_into_the_class(teacher):
    school = teacher.stage.store.school
    one = school.add_member(school.classes()[0].id, "Eva")
    school.archive_member(one.id)
    teacher.type(LATE, TYPE)
    letters(teacher, "Eva")
    teacher.type(ENTER)
    assert teacher.heat.chair(3).seat.member == str(one.id)
    assert in_class(teacher)[-1] == "Eva"


@pytest.mark.parametrize("words", ["", "   ", "0", "9" * 30, "\u0301"])
def test_what_is_neither_is_told_and_can_be_mended(teacher, words):
    teacher.type(LATE, TYPE)
    letters(teacher, words)
    teacher.type(ENTER)
    assert said(teacher)[1]
    assert seats(teacher) == HERE
    erase(teacher, len(words))
    letters(teacher, "Eva")
    assert not said(teacher)[1]
    teacher.type(ENTER)
    assert seats(teacher)[-1][1] == "Eva"


def test_escape_takes_nobody_in(teacher):
    teacher.type(LATE, TYPE)
    letters(teacher, "Eva")
    teacher.type(pygame.K_ESCAPE)
    assert seats(teacher) == HERE
    assert in_class(teacher) == ["Mia", "Ben", "Ada"]
    teacher.type(LATE)
    assert "Ada" in said(teacher)[0]  # nothing is left of what was typed


def test_letters_of_a_name_play_no_piano_and_lead_no_heat(teacher):
    assert teacher.screen.plays_letters  # no MIDI keyboard: letters are keys
    teacher.type(LATE, TYPE)
    assert not teacher.screen.plays_letters
    chosen = teacher.screen.chosen
    for key, letter in ((pygame.K_x, "x"), (pygame.K_n, "n"), (pygame.K_SPACE, " ")):
        teacher.type(key)
        letters(teacher, letter)
    assert teacher.screen.chosen == chosen
    assert teacher.heat.phase is HeatPhase.WAITING
    assert not teacher.heat.chairs[0].disqualified
    teacher.type(pygame.K_ESCAPE)
    assert teacher.screen.plays_letters


def test_a_name_is_pasted(teacher, monkeypatch):
    monkeypatch.setattr(latecomers, "pasted", lambda: "美咲")
    teacher.type(LATE, TYPE)
    event = pygame.event.Event(
        pygame.KEYDOWN, key=pygame.K_v, mod=pygame.KMOD_CTRL, unicode="", scancode=0
    )
    teacher.app.loop.from_window(event)
    teacher.type(ENTER)
    assert in_class(teacher)[-1] == "美咲"


def test_a_store_that_is_away_keeps_nobody_from_playing(teacher, monkeypatch):
    def away(*_how):
        raise StoreError("server", "it is away", "Wait.")

    monkeypatch.setattr(School, "import_members", away)
    teacher.type(LATE, TYPE)
    letters(teacher, "Eva")
    teacher.type(ENTER)
    words, alarm = said(teacher)
    assert "out of reach" in words and alarm
    assert seats(teacher) == HERE
    teacher.type(ENTER)
    assert seats(teacher) == [*HERE, (3, "Eva", False)]


@pytest.mark.parametrize("size", SIZES)
def test_the_teachers_line_has_room_for_it(teacher):
    window = teacher.stage.window.canvas.surface.get_rect()
    teacher.type(LATE)
    assert all(window.contains(control.rect) for control in teacher.screen.controls)
    teacher.type(TYPE)
    letters(teacher, "A name that is really long and goes on and on and on")
    assert all(window.contains(control.rect) for control in teacher.screen.controls)
    assert "on and on ▏" in said(teacher)[0]
