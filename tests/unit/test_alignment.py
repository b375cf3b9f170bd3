# SPDX-License-Identifier: MIT
"""Presses against measured music: what each note became, and how time was kept."""

from __future__ import annotations

from functools import cache
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from performances import (
    BEAT_S,
    MANNERS,
    Manner,
    Tally,
    line,
    music,
    on_time,
    performances,
    played,
    tallied,
)
from scipy.optimize import linear_sum_assignment

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
from game.rounds.timing import timing_of


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


def test_a_wrong_key_put_right_is_an_extra_and_the_right_note_comes_later() -> None:
    notes = line(60, 62, 64, 65, 67)
    presses = played((0, 60), (0.5, 62), (1.0, 63), (1.2, 64), (1.5, 65), (2.0, 67))
    found = align(notes, presses, BEAT_S)
    assert outcomes(found) == ["right"] * 5
    assert found.extras == played((1.0, 63))
    assert found.notes[2].deviation == pytest.approx(0.2)


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


def test_a_reader_who_stops_and_goes_on_is_met_where_they_go_on() -> None:
    notes = line(60, 62, 64, 65, 67, 65, 64, 62, 60, 59, 60, 62)
    presses = [Press(note.onset + (2.0 if note.onset >= 3 else 0.0), note.key) for note in notes]
    found = align(notes, presses, BEAT_S)
    assert outcomes(found) == ["right"] * 12
    assert [note.deviation for note in found.notes] == pytest.approx([0.0] * 6 + [2.0] * 6)


@pytest.mark.parametrize("late", [-3.0, -0.4, 0.4, 3.0])
def test_a_performance_shifted_as_a_whole_is_right_and_off_by_that(late: float) -> None:
    notes, beat_s = music(Random(5), hands=2)
    found = align(notes, on_time(notes, late), beat_s)
    assert set(outcomes(found)) == {"right"}
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


# Planted slips. The floors hold for every manner of playing, 30 performances of each (--wide: 60).


FLOORS = {"right": 0.97, "missed": 0.80, "wrong": 0.90, "extra": 0.85}
# Two notes in each other's place may also read as one right and late, the other early.
OF_WRONG = {"octave": 0.95, "neighbour": 0.95, "other key": 0.90, "swapped": 0.75}


@cache
def tally_of(name: str, each: int) -> Tally:
    tally = Tally()
    for hands in (1, 2):
        more = tallied(performances(MANNERS[name], range(1000, 1000 + each), hands=hands))
        tally.planted += more.planted
        tally.found += more.found
        tally.both += more.both
    return tally


@pytest.mark.parametrize("name", MANNERS)
def test_what_was_planted_is_found_and_little_else(name: str, wide: bool) -> None:
    tally = tally_of(name, 30 if wide else 15)
    few = 0 if wide else 0.05  # which chance may take of fewer performances
    for kind, floor in FLOORS.items():
        assert tally.planted[kind] >= (20 if wide else 9)
        assert tally.recall(kind) >= floor - few
        assert tally.precision(kind) >= floor - few
    for slip in ("late", "early"):  # they are right notes
        assert tally.planted[slip] >= (20 if wide else 9)
        assert tally.recall(slip) >= 0.90


def test_each_kind_of_wrong_key_is_found(wide: bool) -> None:
    tallies = [tally_of(name, 30 if wide else 15) for name in MANNERS]
    for slip, floor in OF_WRONG.items():
        planted = sum(tally.planted[slip] for tally in tallies)
        assert planted >= (100 if wide else 33)
        found = sum(tally.both[slip] for tally in tallies) / planted
        assert found >= (floor if wide else floor - 0.05)


@pytest.mark.parametrize("hands", [1, 2])
@pytest.mark.parametrize("name", MANNERS)
def test_without_slips_nothing_is_found_wrong(name: str, hands: int) -> None:
    for truth in performances(MANNERS[name], range(6), hands=hands, rate=0.0):
        found = align(truth.expected, truth.presses, truth.beat_s)
        assert set(outcomes(found)) == {"right"}, truth
        assert found.extras == ()
