# SPDX-License-Identifier: MIT
"""Placement finds the level to begin at, in thirty prompts at most."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache

import pytest
from builders import shipped
from simulated_readers import ClimbingReader

from game.levels import deal
from game.reader import MOST_PROMPTS, Placement, suited

RUNGS = suited(shipped())
SEEDS = range(25)
SLOTS = [len(deal(rung.level, 1, 1)[0].slots) for rung in RUNGS]
Answers = list[tuple[bool, float | None]]


def place(answer: Callable[[int], Answers], rungs: int = len(RUNGS)) -> Placement:
    """Placement of a reader who answers a prompt of the rung of this index so."""
    placement = Placement.begin(rungs)
    while not placement.done:
        rung = placement.next
        placement = placement.after(rung, 3.0, answer(rung))
    return placement


@cache
def placed(level: int) -> tuple[Placement, ...]:
    """Readers of one level after their placement on the project's own ladder."""

    def answers(reader: ClimbingReader) -> Callable[[int], Answers]:
        return lambda rung: [reader.answer(rung, 3.0) for _ in range(SLOTS[rung])]

    return tuple(place(answers(ClimbingReader(level, seed))) for seed in SEEDS)


def near(level: int) -> int:
    """How many readers of a level are placed within one of it."""
    return sum(abs(placement.rung - level) <= 1 for placement in placed(level))


def test_nine_readers_in_ten_are_placed_within_one_level():
    levels = range(len(RUNGS))
    assert sum(map(near, levels)) >= 0.9 * len(RUNGS) * len(SEEDS)


@pytest.mark.parametrize("level", range(len(RUNGS)))
def test_readers_of_every_level_are_found(level):
    # 25 readers with a true rate of 0.9 or better: 20 or fewer come up one time in thirty.
    assert near(level) >= 20
    assert all(placement.prompts <= MOST_PROMPTS for placement in placed(level))


def test_someone_who_knows_nothing_begins_at_the_first_level():
    assert place(lambda rung: [(False, 5.0)]).rung == 0


def test_an_expert_begins_at_the_top():
    assert place(lambda rung: [(True, 0.4)]).rung == len(RUNGS) - 1


def test_an_expert_whose_hand_takes_its_time_begins_near_the_top():
    # Whatever is shown, a key goes down after half a second or so and no sooner.
    medians = [rung.level.passing.median_s for rung in RUNGS]
    placement = Placement.begin(len(RUNGS))
    while not placement.done:
        rung = placement.next
        placement = placement.after(rung, medians[rung], [(True, 0.5)])
    assert placement.rung >= len(RUNGS) - 3


def test_who_is_sure_and_slow_is_placed_by_speed():
    # 2.7 s are quick enough for the levels 0 to 4 and too slow from there on.
    found = place(lambda rung: [(True, 3.0 * 1.25 ** (rung - 4.5))])
    assert abs(found.rung - 5) <= 1


def test_silence_places_nobody_high_and_ends():
    found = place(lambda rung: [(False, None)])
    assert found.rung == 0 and found.prompts <= MOST_PROMPTS


@pytest.mark.parametrize("rungs", [1, 2, 3])
def test_a_short_ladder_is_enough(rungs):
    assert place(lambda rung: [(True, 0.4)], rungs).rung == rungs - 1
    assert place(lambda rung: [(False, 9.0)], rungs).rung == 0


def test_a_ladder_without_levels_is_refused():
    with pytest.raises(ValueError, match="needs a level"):
        Placement.begin(0)


def test_placement_can_be_left_and_taken_up_again():
    reader = ClimbingReader(6, 1)
    placement = Placement.begin(len(RUNGS))
    for _ in range(5):
        placement = placement.after(placement.rung, 3.0, [reader.answer(placement.rung, 3.0)])
    assert Placement.from_json(json.loads(json.dumps(placement.to_json()))) == placement
    for damage in ({"sure": [0.0]}, {"quick": None}, {"prompts": "many"}):
        with pytest.raises(ValueError):
            Placement.from_json(placement.to_json() | damage)


def test_levels_in_time_and_levels_of_names_are_left_out():
    assert RUNGS
    assert all(r.level.time is None and r.level.show.texture != "signature" for r in RUNGS)
