# SPDX-License-Identifier: MIT
"""Difficulty: every reason for it counts, and the ladder is in its order."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from builders import bar_of, level, shipped

from game.levels import Prompt, Slot, deal, difficulty, level_difficulty


@pytest.fixture(scope="module")
def ladder() -> dict[str, list[float]]:
    """Stage -> the difficulty of its levels, in tenths."""
    return {
        stage: [round(level_difficulty(rung.level), 1) for rung in rungs]
        for stage, rungs in shipped().stages.items()
    }


def test_no_level_is_easier_than_the_one_before_it_in_its_stage(ladder):
    for stage, levels in ladder.items():
        assert all(one <= other for one, other in pairwise(levels)), (stage, levels)


def test_no_stage_ends_easier_than_the_one_before_it(ladder):
    ends = [max(levels) for levels in ladder.values()]
    assert all(one <= other for one, other in pairwise(ends)), ends
    assert ends[-1] > 3 * ends[0]


@pytest.mark.parametrize(
    ("easier", "harder"),
    [
        pytest.param(bar_of("C5"), bar_of("E5"), id="farther from a landmark"),
        pytest.param(bar_of("C6"), bar_of("D6"), id="beyond the last landmark"),
        pytest.param(bar_of("E6"), bar_of("G6"), id="one more ledger line"),
        pytest.param(bar_of("F4"), bar_of("F#4"), id="a printed sign"),
        pytest.param(bar_of("F#4", "G4"), bar_of("F#4", "F#4"), id="a sign that holds unseen"),
        pytest.param(bar_of("G4", "F5"), bar_of("F#4", "F5"), id="told from another octave"),
        pytest.param(bar_of("C4"), bar_of("C4", signature=1), id="a signature"),
        pytest.param(bar_of("C4", signature=-3), bar_of("C4", signature=-5), id="a larger one"),
        pytest.param(bar_of("G4", signature=1), bar_of("F#4", signature=1), id="altered by it"),
        pytest.param(bar_of("F#4"), bar_of("F##4"), id="a double sign"),
        pytest.param(bar_of("D#4"), bar_of("E#4"), id="a rare spelling"),
        pytest.param(bar_of("G4"), bar_of("G4 B4"), id="two notes at once"),
        pytest.param(bar_of("G4 B4"), bar_of("G4 B4 D5"), id="three"),
        pytest.param(bar_of("G4", "A4"), bar_of("G4", "A5"), id="a leap"),
    ],
)
def test_each_reason_makes_a_prompt_harder(easier, harder):
    assert difficulty(easier) < difficulty(harder)


def test_reading_both_staves_at_once_is_harder_than_one_of_them():
    upper, lower = bar_of("G4", name="u"), bar_of("F3", name="l", lower=True)
    both = Prompt(upper.signature, (Slot(upper.notes + lower.notes),))
    assert difficulty(both) > max(difficulty(upper), difficulty(lower))


def test_what_is_asked_for_and_not_printed_is_harder():
    printed = bar_of("F#5", signature=1)
    asked = replace(printed, slots=tuple(replace(s, asks="altered") for s in printed.slots))
    assert difficulty(asked) > difficulty(printed)


def test_reading_to_a_beat_is_harder_than_at_ones_own_speed():
    show = 'texture = "phrase"\ntreble = "C4 to G5"\nbars = 2'
    calm = level(show)
    timed = level(show, more="[time]\ntempo = 60")
    assert deal(calm, 0, 5) == deal(timed, 0, 5)
    assert level_difficulty(timed) > level_difficulty(calm)


def test_a_prompt_that_asks_for_no_key_has_no_difficulty():
    held = bar_of("C4")
    slots = tuple(Slot(tuple(replace(n, tied=True) for n in slot.notes)) for slot in held.slots)
    with pytest.raises(ValueError, match="no difficulty"):
        difficulty(replace(held, slots=slots))
