# SPDX-License-Identifier: MIT
"""How time was kept: early and late notes, offset, drift and spread."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from performances import BEAT_S, Manner, line, music, on_time, perform, played
from scipy.stats import median_abs_deviation, theilslopes

from game.rounds.alignment import Alignment, Expected, align
from game.rounds.events import Press
from game.rounds.robust import spread, steady_drift, theil_sen
from game.rounds.timing import punctuality, steady_offset, timing_of

LIMIT_S = 0.5


def marks(found: Alignment) -> list[str]:
    judged = [punctuality(note, LIMIT_S) for note in found.notes]
    return ["" if one is None else one.value for one in judged]


@pytest.mark.parametrize(
    ("off", "when"),
    [(0.26, "late"), (-0.26, "early"), (0.25, "on time"), (-0.25, "on time"), (0.0, "on time")],
)
def test_a_note_is_off_the_beat_past_half_of_the_limit(off: float, when: str) -> None:
    notes = line(60, 62, 64, 65)
    assert marks(align(notes, on_time(notes, off), BEAT_S)) == [when] * 4


@pytest.mark.parametrize("place", range(8))
def test_one_note_off_is_named_and_no_other(place: int) -> None:
    notes = line(60, 62, 64, 65, 67, 65, 64, 62)
    presses = [
        Press(note.onset + 0.3 * (index == place), note.key) for index, note in enumerate(notes)
    ]
    wanted = ["on time"] * 8
    wanted[place] = "late"
    assert marks(align(notes, presses, BEAT_S)) == wanted


def test_notes_that_were_not_right_are_neither_late_nor_early() -> None:
    notes = line(60, 62, 64, 65)
    found = align(notes, played((0, 60), (0.7, 63), (1.5, 65)), BEAT_S)
    assert marks(found) == ["on time", "", "", "on time"]


def steady(*offs: float) -> float | None:
    notes = line(*[60, 64, 67, 72, 67, 64, 60, 64][: len(offs)])
    presses = [Press(note.onset + off, note.key) for note, off in zip(notes, offs, strict=True)]
    return steady_offset([align(notes, presses, BEAT_S)], LIMIT_S)


def test_whoever_is_steady_but_off_the_beat_is_known_by_how_much() -> None:
    assert steady(0.41, 0.40, 0.38, 0.42, 0.39, 0.40) == pytest.approx(0.40)
    assert steady(-0.21, -0.2, -0.2, -0.19) == pytest.approx(-0.2)
    assert steady(0.14, 0.15, 0.13, 0.14, 0.9, 0.14) == pytest.approx(0.14)  # one stray


@pytest.mark.parametrize(
    "offs",
    [
        (0.4, 0.4, 0.4),  # too few
        (0.09, 0.08, 0.09, 0.10),  # next to nothing
        (0.0, 0.08, 0.16, 0.24, 0.32, 0.40, 0.48, 0.56),  # slowing down
        (0.4, 0.0, 0.35, -0.1, 0.3, 0.05),  # uneven
        (0.0, 0.0, 0.0, 0.0, 0.4, 0.4),  # stopped once
    ],
)
def test_whoever_is_not_steady_is_told_of_no_offset(offs: tuple[float, ...]) -> None:
    assert steady(*offs) is None


def test_of_several_phrases_the_offset_is_that_of_all_their_notes() -> None:
    pair = line(60, 64)
    phrases = [align(pair, on_time(pair, off), BEAT_S) for off in (0.2, 0.22)]
    assert steady_offset(phrases, LIMIT_S) == pytest.approx(0.21)
    assert steady_offset([], LIMIT_S) is None


def test_figures_without_enough_right_notes_say_nothing() -> None:
    none = timing_of(align(line(60, 62), (), BEAT_S))
    assert (none.accuracy, none.offset_s, none.drift, none.spread_s) == (0.0, None, None, None)
    assert timing_of(Alignment((), ())).accuracy == 0.0
    chord = tuple(Expected(str(key), key, 0.0) for key in (60, 64, 67))
    one_chord = timing_of(align(chord, on_time(chord, 0.1), BEAT_S))
    assert one_chord.accuracy == 1.0
    assert one_chord.offset_s == pytest.approx(0.1)
    assert one_chord.drift is None
    assert one_chord.spread_s is None


def test_accuracy_counts_right_notes_among_those_expected_whatever_else_was_played() -> None:
    notes = line(60, 62, 64, 65)
    presses = played((0, 60), (0.25, 90), (0.5, 63), (1.0, 64))
    assert timing_of(align(notes, presses, BEAT_S)).accuracy == pytest.approx(0.5)


@pytest.mark.parametrize("drift", [-0.1, -0.03, 0.0, 0.03, 0.1])
def test_drift_is_what_the_reader_loses_in_a_second(drift: float) -> None:
    expected, beat_s = music(Random(11), notes=40)
    truth = perform(expected, beat_s, Random(12), manner=Manner(drift=drift, jitter=0.01))
    timing = timing_of(align(expected, truth.presses, beat_s))
    assert timing.drift == pytest.approx(drift, abs=0.003)
    assert timing.spread_s == pytest.approx(0.01, rel=0.5)


def test_spread_leaves_the_drift_and_a_few_strays_out() -> None:
    notes = line(*[60, 64, 67, 72, 67, 64] * 3)
    presses = [
        Press(note.onset * 1.05 + (0.4 if note.id in ("n4", "n9") else 0.0), note.key)
        for note in notes
    ]
    timing = timing_of(align(notes, presses, BEAT_S))
    assert timing.drift == pytest.approx(0.05)
    assert timing.spread_s == pytest.approx(0.0, abs=1e-9)


POINTS = st.lists(
    st.tuples(st.integers(0, 30).map(lambda at: at / 4), st.floats(-2, 2)), min_size=2, max_size=30
).filter(lambda points: len({x for x, _ in points}) > 1)


@given(POINTS)
def test_the_slope_is_that_of_scipy(points: list[tuple[float, float]]) -> None:
    x, y = zip(*points, strict=True)
    with np.errstate(invalid="ignore"):  # its interval, not looked at, of very few points
        reference = theilslopes(y, x).slope
    assert theil_sen(points) == pytest.approx(reference, abs=1e-12)


@given(st.lists(st.floats(-5, 5), min_size=1, max_size=30))
def test_the_spread_is_that_of_scipy(values: list[float]) -> None:
    reference = median_abs_deviation(values, scale="normal")
    assert spread(values) == pytest.approx(reference, rel=1e-4, abs=1e-12)


def test_figures_of_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="two points with different x"):
        theil_sen([(1.0, 0.0), (1.0, 2.0)])
    with pytest.raises(ValueError, match="takes values"):
        spread([])


def test_a_steady_drift_looks_past_a_stop() -> None:
    points = [(at / 2, 0.04 * at / 2 + (3.0 if at > 9 else 0.0)) for at in range(20)]
    assert steady_drift(points) == pytest.approx(0.04)
    assert steady_drift(points[:2]) == 0.0
