# SPDX-License-Identifier: MIT
"""Presses against measured music: what each note became, and how time was kept."""

from __future__ import annotations

from functools import cache
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from performances import MANNERS, Manner, Tally, music, perform, performances, tallied
from scipy.optimize import linear_sum_assignment
from scipy.stats import median_abs_deviation, theilslopes

from game.rounds.alignment import (
    EXTRA_COST,
    FAR_COST,
    MISSED_COST,
    NEAR_COST,
    Alignment,
    Expected,
    Outcome,
    align,
)
from game.rounds.events import Press
from game.rounds.robust import spread, steady_drift, theil_sen
from game.rounds.timing import Punctuality, punctuality, timing_of, tolerance_s

BEAT_S = 0.5


def line(*keys: int, step: float = BEAT_S) -> tuple[Expected, ...]:
    """Notes one after the other, a beat apart."""
    return tuple(Expected(f"n{place}", key, place * step) for place, key in enumerate(keys))


def played(*presses: tuple[float, int]) -> tuple[Press, ...]:
    return tuple(Press(t, key) for t, key in presses)


def on_time(notes: tuple[Expected, ...], late: float = 0.0) -> tuple[Press, ...]:
    return tuple(Press(note.onset + late, note.key) for note in notes)


def outcomes(alignment: Alignment) -> list[str]:
    return [note.outcome.value for note in alignment.notes]


# Edges


def test_no_presses_leave_every_note_missed() -> None:
    found = align(line(60, 62, 64), (), BEAT_S)
    assert outcomes(found) == ["missed"] * 3
    assert found.extras == ()
    assert all(note.deviation is None for note in found.notes)


def test_no_notes_make_every_press_extra() -> None:
    presses = played((0.1, 60), (0.4, 62))
    assert align((), presses, BEAT_S) == Alignment((), presses)


def test_nothing_at_all_is_an_empty_alignment() -> None:
    assert align((), (), BEAT_S) == Alignment((), ())


@pytest.mark.parametrize(
    ("key", "outcome"),
    [(60, Outcome.RIGHT), (61, Outcome.WRONG), (72, Outcome.WRONG), (107, Outcome.WRONG)],
)
def test_one_note_takes_the_one_press_made_for_it(key: int, outcome: Outcome) -> None:
    found = align(line(60), played((0.02, key)), BEAT_S)
    assert found.notes[0].outcome is outcome
    assert found.notes[0].press == Press(0.02, key)
    assert found.notes[0].deviation == pytest.approx(0.02)
    assert found.extras == ()


def test_all_presses_before_the_start_are_still_the_performance() -> None:
    notes = line(60, 62, 64, 65)
    found = align(notes, on_time(notes, late=-5.0), BEAT_S)
    assert outcomes(found) == ["right"] * 4
    assert timing_of(found).offset_s == pytest.approx(-5.0)


def test_every_key_wrong_is_every_note_wrong_with_its_own_press() -> None:
    notes = line(60, 62, 64, 65, 67)
    presses = tuple(Press(note.onset, note.key + 6) for note in notes)
    found = align(notes, presses, BEAT_S)
    assert outcomes(found) == ["wrong"] * 5
    assert [note.press for note in found.notes] == list(presses)


def test_a_press_far_from_any_note_is_extra_and_the_note_missed() -> None:
    found = align(line(60), played((4.0, 67)), BEAT_S)
    assert outcomes(found) == ["missed"]
    assert found.extras == played((4.0, 67))


def test_every_key_doubled_leaves_the_second_ones_over() -> None:
    notes = line(60, 62, 64, 65)
    firsts, seconds = on_time(notes), on_time(notes, late=0.09)
    found = align(notes, (*firsts, *seconds), BEAT_S)
    assert [note.press for note in found.notes] == list(firsts)
    assert found.extras == seconds


@pytest.mark.parametrize("missed", [0, 1])
def test_of_two_like_notes_the_one_whose_time_was_silent_is_missed(missed: int) -> None:
    notes = line(60, 67, 67, 60)
    presses = [press for press in on_time(notes) if press.t != (1 + missed) * BEAT_S]
    wanted = ["right"] * 4
    wanted[1 + missed] = "missed"
    assert outcomes(align(notes, presses, BEAT_S)) == wanted


@pytest.mark.parametrize("missed", range(1, 15))
def test_a_trill_with_a_hole_is_missed_where_the_hole_is(missed: int) -> None:
    notes = line(*[72, 74] * 8, step=BEAT_S / 4)
    presses = [press for place, press in enumerate(on_time(notes)) if place != missed]
    wanted = ["right"] * 16
    wanted[missed] = "missed"
    assert outcomes(align(notes, presses, BEAT_S)) == wanted


def test_a_beat_must_take_time() -> None:
    with pytest.raises(ValueError, match="a beat takes more than 0 s, not 0"):
        align(line(60), (), 0)


# What a reader would notice


def test_a_note_left_out_does_not_derail_the_rest_even_if_its_time_is_not_waited_for() -> None:
    notes = line(60, 62, 64, 65, 67, 65, 64, 62)
    kept = [note for note in notes if note.id != "n2"]
    hurried = [Press(place * BEAT_S, note.key) for place, note in enumerate(kept)]
    wanted = ["right", "right", "missed", *["right"] * 5]
    assert outcomes(align(notes, on_time(tuple(kept)), BEAT_S)) == wanted
    assert outcomes(align(notes, hurried, BEAT_S)) == wanted


def test_two_notes_played_in_each_others_place_are_both_wrong() -> None:
    found = align(line(60, 67, 64, 60), played((0, 60), (0.5, 64), (1.0, 67), (1.5, 60)), BEAT_S)
    assert outcomes(found) == ["right", "wrong", "wrong", "right"]
    assert found.notes[1].press == Press(0.5, 64)


def test_a_wrong_key_put_right_is_an_extra_and_the_right_note_late() -> None:
    notes = line(60, 62, 64, 65, 67)
    presses = played((0, 60), (0.5, 62), (1.0, 63), (1.2, 64), (1.5, 65), (2.0, 67))
    found = align(notes, presses, BEAT_S)
    assert outcomes(found) == ["right"] * 5
    assert found.extras == played((1.0, 63))
    assert punctuality(found, BEAT_S)[2] is Punctuality.LATE


@given(st.permutations([48, 55, 64, 72]))
def test_the_keys_of_a_chord_may_come_in_any_order(order: list[int]) -> None:
    chord = tuple(Expected(str(key), key, 0.0) for key in (48, 55, 64, 72))
    presses = [Press(0.02 * place, key) for place, key in enumerate(order)]
    found = align(chord, presses, BEAT_S)
    assert outcomes(found) == ["right"] * 4
    assert found.extras == ()


def test_a_hand_that_lags_past_the_next_notes_still_plays_its_own() -> None:
    upper, lower = (
        line(72, 74, 76, 77),
        tuple(
            Expected(f"l{place}", key, place * BEAT_S) for place, key in enumerate((48, 50, 52, 53))
        ),
    )
    presses = (*on_time(upper), *on_time(lower, late=0.55))
    found = align((*upper, *lower), presses, BEAT_S * 2)
    assert outcomes(found) == ["right"] * 8
    assert [note.deviation for note in found.notes[4:]] == pytest.approx([0.55] * 4)


def test_a_reader_who_stops_and_goes_on_is_late_once() -> None:
    notes = line(60, 62, 64, 65, 67, 65, 64, 62, 60, 59, 60, 62)
    presses = [Press(note.onset + (2.0 if note.onset >= 3 else 0.0), note.key) for note in notes]
    found = align(notes, presses, BEAT_S)
    assert outcomes(found) == ["right"] * 12
    late = [place for place, when in enumerate(punctuality(found, BEAT_S)) if when.value == "late"]
    assert late == [6]
    assert Punctuality.EARLY not in punctuality(found, BEAT_S)


@pytest.mark.parametrize("late", [-3.0, -0.4, 0.4, 3.0])
def test_a_performance_shifted_as_a_whole_is_right_and_on_time_by_its_own_pace(
    late: float,
) -> None:
    notes, beat_s = music(Random(5), hands=2)
    found = align(notes, on_time(notes, late), beat_s)
    assert set(outcomes(found)) == {"right"}
    assert set(punctuality(found, beat_s)) == {Punctuality.ON_TIME}
    assert timing_of(found).offset_s == pytest.approx(late)
    assert timing_of(found).drift == pytest.approx(0, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 2), st.randoms(use_true_random=False))
def test_the_order_in_which_notes_and_presses_are_given_changes_nothing(
    seed: int, hands: int, shuffler: Random
) -> None:
    truth = next(performances(Manner(), [seed], hands=hands, rate=0.4))
    notes, presses = list(truth.expected), list(truth.presses)
    shuffler.shuffle(notes)
    shuffler.shuffle(presses)
    one = align(truth.expected, truth.presses, truth.beat_s)
    other = align(notes, presses, truth.beat_s)
    assert {n.expected.id: n for n in one.notes} == {n.expected.id: n for n in other.notes}
    assert one.extras == other.extras
    assert [note.expected for note in other.notes] == notes


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(58, 64), st.integers(0, 8)), max_size=12),
    st.lists(st.tuples(st.integers(57, 77), st.floats(-2, 6)), max_size=14),
)
def test_every_press_is_used_once_and_no_right_note_has_another_key(
    written: list[tuple[int, int]], hit: list[tuple[int, float]]
) -> None:
    notes = [Expected(str(place), key, at / 2) for place, (key, at) in enumerate(written)]
    presses = [Press(t, key, keyboard=str(place)) for place, (key, t) in enumerate(hit)]
    found = align(notes, presses, BEAT_S)
    used = [note.press for note in found.notes if note.press] + list(found.extras)
    assert sorted(used, key=lambda p: p.keyboard) == sorted(presses, key=lambda p: p.keyboard)
    for note in found.notes:
        assert (note.press is None) == (note.outcome is Outcome.MISSED)
        if note.press is not None:
            assert (note.press.key == note.expected.key) == (note.outcome is Outcome.RIGHT)


@settings(max_examples=200, deadline=None)
@given(
    st.sets(st.integers(48, 75), min_size=3, max_size=6),
    st.lists(st.integers(45, 78), min_size=1, max_size=5),
)
def test_a_chord_is_paired_as_cheaply_as_can_be(chord: set[int], hit: list[int]) -> None:
    """Against the optimal assignment of scipy.optimize.linear_sum_assignment."""
    notes = [Expected(str(key), key, 0.0) for key in sorted(chord)]
    found = align(notes, [Press(0.0, key) for key in hit], BEAT_S)

    def cost(key: int, other: int) -> float:
        near = abs(key - other) <= 2 or (key - other) % 12 == 0
        return 0.0 if key == other else NEAR_COST if near else FAR_COST

    ours = sum(
        MISSED_COST if note.press is None else cost(note.expected.key, note.press.key)
        for note in found.notes
    ) + EXTRA_COST * len(found.extras)
    size, width = len(notes), len(hit)
    table = np.zeros((size + width, width + size))
    table[:size, :width] = [[cost(note.key, key) for key in hit] for note in notes]
    table[:size, width:] = MISSED_COST
    table[size:, :width] = EXTRA_COST
    best = table[linear_sum_assignment(table)].sum()
    assert ours == pytest.approx(best)


# Planted slips. The floors hold for every manner of playing, 60 performances of each.


@cache
def tally_of(name: str) -> Tally:
    tally = Tally()
    for hands in (1, 2):
        more = tallied(performances(MANNERS[name], range(1000, 1030), hands=hands))
        tally.planted += more.planted
        tally.found += more.found
        tally.both += more.both
    return tally


@pytest.mark.parametrize("name", MANNERS)
@pytest.mark.parametrize(
    ("kind", "floor"),
    [("on time", 0.97), ("missed", 0.80), ("wrong", 0.90), ("extra", 0.85)],
)
def test_what_was_planted_is_found_and_little_else(name: str, kind: str, floor: float) -> None:
    tally = tally_of(name)
    assert tally.planted[kind] >= 20
    assert tally.recall(kind) >= floor
    assert tally.precision(kind) >= floor


@pytest.mark.parametrize("name", MANNERS)
@pytest.mark.parametrize("kind", ["late", "early"])
def test_notes_out_of_time_are_told_apart(name: str, kind: str) -> None:
    tally = tally_of(name)
    assert tally.planted[kind] >= 20
    assert tally.recall(kind) >= 0.90
    manner = MANNERS[name]
    # Unsteady playing and slowly rolled chords are off by more than the tolerance of themselves,
    # and one who goes on after a stop does not find the old pace at once.
    if manner.jitter < 0.03 and not manner.spread and not manner.stop:
        assert tally.precision(kind) >= 0.80


@pytest.mark.parametrize(
    ("slip", "floor"),
    # Two notes in each other's place may also read as one right and late, the other early.
    [("octave", 0.95), ("neighbour", 0.95), ("other key", 0.90), ("swapped", 0.75)],
)
def test_each_kind_of_wrong_key_is_found(slip: str, floor: float) -> None:
    tallies = [tally_of(name) for name in MANNERS]
    planted = sum(tally.planted[slip] for tally in tallies)
    assert planted >= 100
    assert sum(tally.both[slip] for tally in tallies) / planted >= floor


@pytest.mark.parametrize("hands", [1, 2])
@pytest.mark.parametrize("name", MANNERS)
def test_without_slips_nothing_is_found_wrong(name: str, hands: int) -> None:
    for truth in performances(MANNERS[name], range(20), hands=hands, rate=0.0):
        found = align(truth.expected, truth.presses, truth.beat_s)
        assert set(outcomes(found)) == {"right"}, truth
        assert found.extras == ()


# Figures of time


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
