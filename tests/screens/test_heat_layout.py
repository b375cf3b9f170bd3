# SPDX-License-Identifier: MIT
"""What a class reads from the projector lies clear of everything else, however many they are."""

from __future__ import annotations

from itertools import combinations

import pygame
import pytest
from heat_builders import answered, class_of, merged, played_by_robots, setup_of
from lines import lines_of
from teacher import Teacher

from game.heats import End, Forms, PlayMode, Seat, Shows, Start, standings_of
from game.screens.school.heat_queue import window
from game.screens.school.heat_result import HeatResult, figures
from game.screens.school.seat_tile import LEAST_TEXT
from game.session.live_heat import HeatOptions, LiveHeat
from game.ui.widgets import Rect

NAMES = [f"Reader {n:02d}" for n in range(1, 31)]
SIZES = [(1024, 600), (1280, 720), (1920, 1080)]


@pytest.fixture(params=SIZES, ids=[f"{w}x{h}" for w, h in SIZES])
def size(request):
    return request.param


def drawn(teacher: Teacher) -> list[tuple[str, Rect, float]]:
    """Every text of the window: its words, where its letters are, and its size; none of tiles."""
    return [
        # A line's box is higher than its letters.
        (line.words, line.rect.inflate(0, -2 * (line.rect.height // 5)), line.size)
        for line in lines_of(teacher)
    ]


def apart(found: list[tuple[str, Rect, float]]) -> None:
    for (one, a, _), (two, b, _) in combinations(found, 2):
        assert not a.colliderect(b), (one, two)


@pytest.mark.parametrize("at", [0, 12, 29])
def test_thirty_in_turn_are_listed_around_the_next_in_letters_for_ten_metres(teacher, at):
    teacher.plug("piano")
    teacher.new_class("3b", *NAMES)
    teacher.begin(prompts=6)
    for _ in range(at):
        teacher.type(pygame.K_n)
    found = drawn(teacher)
    apart(found)
    window_ = teacher.stage.window.canvas.surface.get_rect()
    foot = teacher.stage.window.canvas.height - teacher.stage.window.canvas.px(44)
    listed = [(words, rect, size) for words, rect, size in found if rect.bottom <= foot]
    assert all(window_.contains(rect) and size >= LEAST_TEXT for _, rect, size in listed)
    names = [words for words, _, _ in listed if words in NAMES]
    assert names.count(NAMES[at]) == 2  # called out, and in the list
    assert len(set(names)) >= 18
    for near in NAMES[at : at + 3]:
        assert near in names


def test_the_part_of_a_list_holds_whom_it_must():
    for count in range(1, 40):
        for room in range(3, 30):
            for at in range(count):
                first, end = window(count, room, at)
                assert first <= at < end <= count
                assert end - first == min(room, count)


def test_the_count_in_leaves_the_name_free(teacher):
    teacher.plug("piano")
    names = ("Mia", "Maximiliane-Charlotte Wilhelmina Hohenlohe of Langenburg-Sch")
    assert len(names[1]) == 60
    teacher.new_class("3b", *names)
    teacher.begin(prompts=6)
    for name in names:
        teacher.type(pygame.K_SPACE)
        teacher.pass_time(0.5)
        found = drawn(teacher)
        apart(found)
        shown = next(rect for words, rect, _ in found if words == name)
        assert teacher.stage.window.canvas.surface.get_rect().contains(shown)
        assert {"3", name} <= {words for words, _, _ in found}
        teacher.type(pygame.K_c)
        teacher.type(pygame.K_c)
        teacher.type(pygame.K_n)


def test_together_each_tile_counts_and_keeps_its_name(teacher):
    labels = [f"K{n}" for n in range(1, 9)]
    teacher.plug(*labels)
    teacher.new_class("3b", *NAMES[:8])
    teacher.begin(PlayMode.TOGETHER, prompts=6)
    for label in labels:
        teacher.press(label, 60)
    teacher.click_on("begin")
    teacher.type(pygame.K_SPACE)
    seen = []
    for _ in range(3):
        teacher.pass_time(0.5)
        seen.append({teacher.screen._face(n).words for n in range(1, 9)})
        teacher.pass_time(0.5)
    assert seen == [{"3"}, {"2"}, {"1"}]


def test_more_tiles_than_can_be_read_are_told_before_they_begin(teacher):
    teacher.plug(*[f"K{n}" for n in range(1, 14)])
    teacher.new_class("3b", *NAMES[:13])
    teacher.begin(PlayMode.TOGETHER, prompts=6)
    assert "More than 12 staves" in teacher.screen.below_title
    teacher.click_on("out")
    assert "More than 12 staves" not in teacher.screen.below_title


@pytest.mark.parametrize("shows", Shows)
def test_twelve_seats_stand_on_the_result_once_each_and_none_is_hidden(teacher, shows):
    setup = setup_of([Seat(n, name) for n, name in enumerate(NAMES[:12], 1)])
    school = teacher.stage.store.school
    live = LiveHeat.begin(setup, HeatOptions(shows=shows, title="3b"), school, 0.0)
    for event in played_by_robots(setup, class_of(12)):
        live.feed(event)
    teacher.stage.go.show(HeatResult(teacher.stage, live))
    teacher.look()
    if shows is not Shows.ALL:
        teacher.click_on("all")
    teacher.look()
    found = drawn(teacher)
    apart(found)
    said = [words for words, _, _ in found]
    for row in standings_of(live.heat).rows:
        assert said.count(row.seat.name) == 1
        assert said.count(f"{row.place}.") == 1
        assert figures(row) in said
    if shows is not Shows.CLASS:
        assert [size > LEAST_TEXT for words, _, size in found if words in NAMES].count(True) == 3


def test_a_place_that_many_share_is_listed_whole(teacher):
    setup = setup_of([Seat(n, name) for n, name in enumerate(NAMES[:9], 1)], forms=Forms.SAME)
    live = LiveHeat.begin(setup, HeatOptions(shows=Shows.ALL), teacher.stage.store.school, 0.0)
    heat = live.heat
    times = {1: 1.0, 9: 3.0}
    played = [answered(heat, n, *[times.get(n, 2.0)] * 4) for n in range(1, 10)]
    for event in (Start(0.0), *merged(*played), End(60.0)):
        live.feed(event)
    teacher.stage.go.show(HeatResult(teacher.stage, live))
    teacher.look()
    found = drawn(teacher)
    apart(found)
    listed = [words for words, _, size in found if words in NAMES and size < LEAST_TEXT]
    assert listed == NAMES[1:9]
    assert [words for words, _, size in found if words in NAMES and size > LEAST_TEXT] == NAMES[:1]


def test_a_warning_and_the_tie_rule_both_stand_on_the_result(teacher, monkeypatch):
    monkeypatch.setattr(HeatResult, "warning", "The seats had different keys: " + "care " * 30)
    teacher.plug("piano")
    teacher.new_class("3b", "Mia", "Ben")
    teacher.begin(prompts=6)
    for number in (1, 2):
        teacher.pass_time(2.5)
        teacher.press("piano", 60)
        teacher.pass_time(3.1)
        teacher.play_out(number, "piano")
    teacher.pass_time(2.5)
    teacher.type(pygame.K_SPACE)
    assert teacher.screen.name == "heat-result"
    found = drawn(teacher)
    apart(found)
    said = " ".join(words for words, _, _ in found)
    assert "The seats had different keys" in said
    assert "More points come first" in said
