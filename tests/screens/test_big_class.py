# SPDX-License-Identifier: MIT
"""A class of more readers than a heat has seats plays in several heats."""

from __future__ import annotations

import pygame
import pytest

from game.heats.setup import MOST_SEATS
from game.screens.school.heat_choices import HeatChoices
from game.screens.school.heat_turns import HeatTurns
from game.screens.school.pick_pages import places_of
from game.ui.theme import wrapped

CLASS = 250


@pytest.fixture
def teacher(teacher):
    """Before a heat for a class of 250."""
    made, school = teacher, teacher.stage.store.school
    one = school.add_class("All")
    school.import_members(one.id, [(f"Reader {n:03d}", None) for n in range(1, CLASS + 1)])
    made.click_on("classes")
    made.click_on(f"class-{one.id}")
    made.click_on("start")
    assert isinstance(made.screen, HeatChoices)
    return made


def clear(teacher) -> None:
    """Rub out what is typed."""
    teacher.type(*[pygame.K_BACKSPACE] * 20)


def names(teacher) -> list[str]:
    """Who plays in the heat that has begun."""
    return [chair.seat.name for chair in teacher.heat.chairs]


def test_too_many_for_a_heat_are_told_how_to_play_all_the_same(teacher):
    teacher.click_on("on")
    note = teacher.screen.note
    assert f"at most {MOST_SEATS}" in note and f"{CLASS} are here" in note
    assert "Play in 3 heats" in note and "Who is here today" in note
    canvas = teacher.stage.window.canvas
    room = teacher.screen.area.width
    assert len(wrapped(note, "text", canvas.px(17), room)) <= 2  # what the page has room for


def test_all_play_in_three_heats_by_enter_alone(teacher):
    """The range that is offered is the next one that a heat has room for."""
    seen = []
    for _ in range(3):
        teacher.click_on("here")
        teacher.click_on("range")
        teacher.type(pygame.K_RETURN, pygame.K_RETURN)
        assert isinstance(teacher.screen, HeatChoices)
        seen.append(teacher.screen.setup().seats)
    assert [len(seats) for seats in seen] == [100, 100, 50]
    everybody = {seat.name for seats in seen for seat in seats}
    assert everybody == {f"Reader {n:03d}" for n in range(1, CLASS + 1)}


def test_a_range_that_is_typed_plays_the_heat(teacher):
    teacher.click_on("here")
    teacher.click_on("range")
    clear(teacher)
    teacher.say("3-5, 200")
    teacher.click_on("back")
    teacher.click_on("on")
    assert isinstance(teacher.screen, HeatTurns)
    assert names(teacher) == [f"Reader {n:03d}" for n in (3, 4, 5, 200)]


def test_nobody_then_one_by_one_and_everybody(teacher):
    teacher.click_on("here")
    teacher.click_on("none")
    assert teacher.screen.below_title.startswith("0 of 250")
    teacher.click_on(teacher.ids()[1])
    assert teacher.screen.below_title.startswith("1 of 250")
    teacher.click_on("all")
    assert teacher.screen.below_title.startswith("250 of 250")
    assert f"at most {MOST_SEATS}" in teacher.screen.below_title


@pytest.mark.parametrize("typed", ["251", "0-5", "9-3", "Reader 7", "1-", "", "-"])
def test_what_is_no_range_is_told_and_changes_nothing(teacher, typed):
    teacher.click_on("here")
    before = set(teacher.screen._behind.here)
    teacher.click_on("range")
    clear(teacher)
    teacher.say(typed)
    assert "from 1 to 250" in teacher.screen.note
    assert teacher.screen._behind.here == before


@pytest.mark.parametrize(
    ("words", "places"),
    [
        ("1-3", {1, 2, 3}),
        ("2\u20134; 9", {2, 3, 4, 9}),
        (" 7,7 , 8", {7, 8}),
        ("10", {10}),
    ],
)
def test_ranges_as_people_write_them(words, places):
    assert places_of(words, 10) == places
