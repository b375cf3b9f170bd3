# SPDX-License-Identifier: MIT
"""Points, and the figures of a round."""

from __future__ import annotations

from math import copysign

import pytest
from hypothesis import given
from hypothesis import strategies as st

from game.rounds import TEMPO_BANDS, JudgedPress, SlotResult, Verdict, points, score_of, tempo_word

SECONDS = st.floats(0, 100)
LIMITS = st.floats(0.1, 60)


def result(verdict: Verdict, t: float | None, worth: float) -> SlotResult:
    presses = () if t is None else (JudgedPress(t, 60, 64, verdict),)
    return SlotResult(0, 0, (60,), verdict, t, worth, presses, completed=t is not None)


# The signed residual time rule, (2x - 1)(d - t) of Maris & van der Maas (2012), Psychometrika
# 77:615-633, worked by hand for d = 8 s and scaled by 100/d.
@pytest.mark.parametrize(
    ("right", "t", "worth"),
    [
        (True, 0, 100),
        (False, 0, -100),
        (True, 2, 75),
        (False, 2, -75),
        (True, 4, 50),
        (False, 4, -50),
        (True, 6, 25),
        (False, 7, -12.5),
        (True, 8, 0),
        (False, 8, 0),
        (True, 9, 0),
        (False, 1000, 0),
    ],
)
def test_points_worked_by_hand(right, t, worth):
    assert points(right, t, 8) == worth


def test_nothing_is_never_shown_as_minus_nothing():
    assert copysign(1, points(False, 8, 8)) == 1


@given(SECONDS, LIMITS)
def test_wrong_costs_what_right_would_have_earned(t, limit):
    assert points(False, t, limit) == pytest.approx(-points(True, t, limit))
    assert 0 <= points(True, t, limit) <= 100


@given(SECONDS, SECONDS, LIMITS)
def test_faster_right_earns_no_less_and_faster_wrong_costs_no_less(one, other, limit):
    fast, slow = sorted((one, other))
    assert points(True, fast, limit) >= points(True, slow, limit)
    assert points(False, fast, limit) <= points(False, slow, limit)


@given(st.floats(0, 8))
def test_a_coin_toss_gains_nothing(t):
    assert points(True, t, 8) + points(False, t, 8) == pytest.approx(0)


@pytest.mark.parametrize(
    ("per_minute", "word"),
    [
        (0, "Largo"),
        (14.999, "Largo"),
        (15, "Adagio"),
        (24.999, "Adagio"),
        (25, "Andante"),
        (35, "Moderato"),
        (44.999, "Moderato"),
        (45, "Allegro"),
        (60, "Vivace"),
        (79.999, "Vivace"),
        (80, "Presto"),
        (1000, "Presto"),
    ],
)
def test_the_tempo_word_changes_at_the_edge_of_its_band(per_minute, word):
    assert tempo_word(per_minute) == word


def test_tempo_words_stand_in_the_trades_order():
    # From slow to fast, common practice.
    assert [word for _, word in TEMPO_BANDS] == [
        "Largo", "Adagio", "Andante", "Moderato", "Allegro", "Vivace", "Presto",
    ]  # fmt: skip
    starts = [start for start, _ in TEMPO_BANDS]
    assert starts == sorted(set(starts))
    assert starts[0] == 0


def test_the_figures_of_a_round_worked_by_hand():
    score = score_of(
        [
            result(Verdict.RIGHT, 1.0, 80.0),
            result(Verdict.WRONG, 2.0, -60.0),
            result(Verdict.RIGHT, 3.0, 40.0),
            result(Verdict.WRONG_OCTAVE, 4.5, -10.0),
            result(Verdict.RIGHT, 5.0, 0.0),
            result(Verdict.UNANSWERED, None, 0.0),
        ],
        seconds=20,
    )
    assert score.mean_points == pytest.approx(50 / 6)
    assert score.score == score.mean_points
    assert score.accuracy == 0.5
    assert score.median_s == 3.0
    assert (score.slots, score.right, score.seconds) == (6, 3, 20)
    assert score.tempo_per_min == pytest.approx(9)
    assert score.tempo_word == "Largo"


def test_the_median_of_an_even_number_lies_between_the_middle_two():
    results = [result(Verdict.RIGHT, t, 0.0) for t in (4.0, 1.0, 2.0, 9.0)]
    assert score_of(results, 20).median_s == 3.0


def test_a_score_below_nothing_is_shown_as_nothing_and_kept_as_it_is():
    score = score_of([result(Verdict.WRONG, 1.0, -80.0)], 1)
    assert (score.score, score.mean_points, score.accuracy) == (0, -80, 0)
    assert score.median_s is None
    assert score.tempo_per_min == 0


def test_a_round_without_answers_has_no_speed_and_no_tempo():
    score = score_of([], 0)
    assert (score.score, score.accuracy, score.slots) == (0, 0, 0)
    assert (score.median_s, score.tempo_per_min, score.tempo_word) == (None, None, None)
