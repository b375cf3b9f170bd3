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
from game.rounds.timing import Punctuality, punctuality, timing_of, tolerance_s


def test_a_note_is_late_past_an_eighth_of_a_beat_but_never_within_60_ms() -> None:
    assert tolerance_s(1.0) == pytest.approx(0.125)
    assert tolerance_s(0.3) == pytest.approx(0.060)


@pytest.mark.parametrize(("late", "when"), [(0.07, "late"), (-0.07, "early"), (0.05, "on time")])
@pytest.mark.parametrize("place", range(8))
def test_one_note_off_is_named_and_no_other(late: float, when: str, place: int) -> None:
    notes = line(60, 62, 64, 65, 67, 65, 64, 62)
    presses = [
        Press(note.onset + late * (index == place), note.key) for index, note in enumerate(notes)
    ]
    judged = [one.value for one in punctuality(align(notes, presses, BEAT_S), BEAT_S)]
    wanted = ["on time"] * 8
    wanted[place] = when
    assert judged == wanted


def test_notes_that_were_not_right_are_neither_late_nor_early() -> None:
    notes = line(60, 62, 64, 65)
    found = align(notes, played((0, 60), (0.7, 63), (1.5, 65)), BEAT_S)
    assert punctuality(found, BEAT_S) == (Punctuality.ON_TIME, None, None, Punctuality.ON_TIME)


def test_one_or_two_notes_are_judged_by_the_beat_itself() -> None:
    notes = line(60, 62)
    found = align(notes, on_time(notes, late=0.2), BEAT_S)
    assert punctuality(found, BEAT_S) == (Punctuality.LATE, Punctuality.LATE)


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
