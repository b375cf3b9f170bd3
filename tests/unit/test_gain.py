# SPDX-License-Identifier: MIT
"""What would be gained if the slowest signs were as fast as the median one, by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest
from builders import prompts_of
from hypothesis import given
from hypothesis import strategies as st
from robot_rounds import robot_record, robot_terms

from game.notation import Clef
from game.reader.gain import LEAST_ANSWERS, SLOWEST, Timed, gain, gain_of
from game.reader.sign import ReadingItem
from game.rounds import Flip, Press, Round, play

A, B, C, D, E = (ReadingItem(Clef.TREBLE, position) for position in range(5))


def answers(**times: list[float]) -> list[Timed]:
    signs = {"a": A, "b": B, "c": C, "d": D, "e": E}
    return [Timed((signs[name],), t) for name, ts in times.items() for t in ts]


def test_a_table_worked_by_hand():
    # sign   times      median   as the median one (3 s)   would be
    # a      1 1 1      1        faster                    1 1 1
    # b      2 2 2      2        faster                    2 2 2
    # c      3 4 8      4        3/4                       2.25 3 6
    # d      5 6 7      6        3/6                       2.5 3 3.5
    # The medians 1 2 4 6 have the median 3. All times have the median (2 + 3)/2, then
    # (2 + 2.25)/2. They add up to 42, then to 29.25: 12.75 s less of a minute with 12 answers.
    found = gain(answers(a=[1, 1, 1], b=[2, 2, 2], c=[3, 4, 8], d=[5, 6, 7]), 60.0)
    assert found.slow == ((D, 6), (C, 4))
    assert found.usual_s == 3
    assert (found.median_s, found.median_then_s) == (2.5, 2.125)
    assert found.tempo_per_min == 12
    assert found.tempo_then_per_min == pytest.approx(float(Fraction(12 * 60) / Fraction("47.25")))


def test_a_chord_goes_by_its_slowest_sign():
    # c 4 s, a 1 s, b 2 s: the median one takes 2 s, so what shows c takes half as long.
    chord = Timed((A, C), 10.0)
    found = gain([*answers(a=[1, 1, 1], b=[2, 2, 2], c=[4, 4, 4, 4]), chord], 100.0)
    assert found.slow == ((C, 4),)
    assert found.tempo_then_per_min == pytest.approx(60 * 11 / (100 - 4 * 2 - 5))


def test_a_sign_met_less_than_three_times_says_nothing():
    assert LEAST_ANSWERS == 3
    few = gain(answers(a=[1, 1, 1], b=[2, 2, 2], c=[2, 2, 2], e=[90, 90]), 600.0)
    assert few is None or E not in dict(few.slow)


def test_no_more_than_five_signs_and_only_those_above_the_median():
    many = [Timed((ReadingItem(Clef.BASS, place),), 1.0 + place) for place in range(15)] * 3
    found = gain(many, 900.0)
    assert len(found.slow) == SLOWEST == 5
    assert [sign.position for sign, _ in found.slow] == [14, 13, 12, 11, 10]


@pytest.mark.parametrize("times", [[], [1.0, 1.0], [2.0, 2.0, 2.0, 2.0]])
def test_too_little_or_nothing_slower(times):
    assert gain(answers(a=times), 60.0) is None


@given(st.lists(st.tuples(st.integers(0, 8), st.floats(0.05, 20)), min_size=1, max_size=80))
def test_nothing_is_ever_lost(raw):
    every = [Timed((ReadingItem(Clef.TREBLE, place),), t) for place, t in raw]
    found = gain(every, sum(t for _place, t in raw) + 10.0)
    if found is not None:
        assert found.median_then_s <= found.median_s
        assert found.tempo_then_per_min >= found.tempo_per_min


def test_only_right_first_answers_of_rounds_that_are_not_in_time_count():
    start = Round(prompts_of("C4", "C4", "C4", "E4", "E4", "E4", "E4"), 6.0)
    events, t = [], 0.0
    for key, took in ((60, 1), (60, 1), (60, 1), (64, 2), (64, 2), (64, 2)):
        events += [Flip(t), Press(t + took, key)]
        t += took
    events += [Flip(t), Press(t + 5, 62), Press(t + 6, 64)]  # wrong at first
    found = gain_of([play(start, events)])
    assert [t for _sign, t in found.slow] == [2.0]
    assert (found.usual_s, found.median_s) == (1.5, 1.5)
    assert found.tempo_per_min == 60 * 6 / 15
    in_time = robot_record(robot_terms("time-six"))
    assert gain_of([in_time.terms.replay(in_time.events)]) is None
    named = robot_record(robot_terms("signatures-naturals"))
    assert gain_of([named.terms.replay(named.events)]) is None  # nothing of it is printed
