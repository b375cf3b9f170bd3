# SPDX-License-Identifier: MIT
"""Counting is told from recognising by how the time grows with the way from a landmark."""

from __future__ import annotations

from random import Random

import pytest
from scipy.stats import theilslopes
from simulated_readers import TimedReader, round_of
from slope_rounds import READERS, TREBLE, seen

from game.reader import TimedAnswer, counting, counting_over
from game.reader.slope import CONFIDENCE, theil_sen


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("size", [5, 24, 150])
def test_the_slope_and_its_interval_are_theil_and_sens(seed, size):
    """Checked against scipy.stats.theilslopes, with ties among the steps and the times."""
    rng = Random(f"{seed} {size}")
    x = [int(6 * rng.random()) for _ in range(size)]
    y = [round(40 * step + 300 * rng.random() ** 2) // (1 + seed % 3) for step in x]
    other = theilslopes(y, x, alpha=CONFIDENCE)
    assert theil_sen(x, y) == pytest.approx((other.slope, other.low_slope, other.high_slope))


def test_equal_steps_have_no_slope():
    assert theil_sen([2, 2, 2], [1.0, 2.0, 3.0]) is None


@pytest.mark.parametrize(("name", "rounds"), [(name, 8) for name in READERS])
def test_counters_and_recognisers_are_told_apart(name, rounds):
    counts = READERS[name].ms_per_step > 100
    said = [seen(READERS[name], rounds, seed).counts for seed in range(20)]
    assert said.count(counts) >= 0.85 * 20
    assert said.count(not counts) <= 1


@pytest.mark.parametrize("name", READERS)
def test_a_single_round_is_hardly_ever_wrong_about_a_reader(name):
    counts = READERS[name].ms_per_step > 100
    assert [seen(READERS[name], 1, seed).counts for seed in range(20)].count(not counts) <= 1


@pytest.mark.parametrize("truth", [0, 150, 300])
def test_the_true_slope_lies_in_the_interval(truth):
    found = [seen(TimedReader(truth), 8, seed) for seed in range(20)]
    assert sum(slope.low <= truth <= slope.high for slope in found) >= 0.85 * 20


@pytest.mark.parametrize("known", [(2,), (-2, 6), (-2, 2, 8)])
def test_landmarks_are_found_where_the_reader_has_them(known):
    slope = seen(TimedReader(300, known), 16, seed=3)
    assert len(slope.landmarks) == len(known)
    assert all(abs(a - b) <= 1 for a, b in zip(slope.landmarks, known, strict=True))


def test_a_reader_who_recognises_every_place_has_no_landmarks():
    found = [seen(TimedReader(0), 8, seed).landmarks for seed in range(20)]
    assert found.count(()) >= 16


@pytest.mark.parametrize(
    "timings",
    [
        [],
        [TimedAnswer(0, 1.0)] * 3,
        [TimedAnswer(0, 1.0)] * 100,
        [TimedAnswer(place, 1.0) for place in (0, 1, 2)] * 30,  # three places are too few
    ],
)
def test_too_little_is_known_to_say_anything(timings):
    assert counting(timings) is None


def test_times_that_are_all_the_same_are_flat():
    slope = counting([TimedAnswer(place, 1.0) for place in range(8)] * 12)
    assert slope.ms_per_step == 0
    assert slope.counts is False


def test_the_history_follows_a_counter_who_learns_to_recognise():
    rng = Random(5)
    days = [
        (
            float(day),
            TimedReader(max(0, 300 - 25 * day), (2,)).timings(round_of(TREBLE, rng, 96), rng),
        )
        for day in range(20)
    ]
    history = counting_over([(-1.0, [TimedAnswer(0, 1.0)]), *days])
    assert [when for when, _ in history] == [float(day) for day in range(20)]
    slopes = [slope.ms_per_step for _, slope in history]
    assert slopes[0] > 200 and abs(slopes[-1]) < 30
    assert history[0][1].counts is True and history[-1][1].counts is False
