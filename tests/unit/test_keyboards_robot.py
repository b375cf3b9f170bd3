# SPDX-License-Identifier: MIT
"""The robot reader: its stated speed, spread and errors, and the same answers every time."""

from __future__ import annotations

from math import log
from statistics import mean, median, stdev

import pytest
from builders import key, prompts_of

from game.keyboards import RobotReader
from game.rounds import Flip, Round, Verdict, play

MANY = 2000


def slots(*texts: str):
    return [prompt.slots[0] for prompt in prompts_of(*texts)]


def first_times(robot: RobotReader):
    return [robot.answer(slot, 5.0)[0].t - 5.0 for slot in slots(*["C4"] * MANY)]


def test_the_same_seed_answers_in_the_same_way_whenever_it_is_asked():
    (slot,) = slots("C4 E4 G4")
    early, late = RobotReader(3).answer(slot, 0.0), RobotReader(3).answer(slot, 100.0)
    assert [press.key for press in early] == [press.key for press in late]
    assert [press.t + 100 for press in early] == pytest.approx([press.t for press in late])
    assert RobotReader(4).answer(slot, 0.0) != early


def test_times_are_lognormal_about_the_stated_speed():
    times = first_times(RobotReader(1, speed_s=1.2, spread=0.3))
    # The standard error of a median of n normal deviates is 1.2533 sigma / sqrt(n), of their
    # standard deviation sigma / sqrt(2 n); five of them are allowed (textbook, from memory).
    assert log(median(times)) == pytest.approx(log(1.2), abs=5 * 1.2533 * 0.3 / MANY**0.5)
    assert stdev(map(log, times)) == pytest.approx(0.3, abs=5 * 0.3 / (2 * MANY) ** 0.5)


def test_without_spread_it_is_a_metronome():
    assert {round(t, 9) for t in first_times(RobotReader(1, 0.7, 0.0))} == {0.7}


@pytest.mark.parametrize("rate", [0.0, 0.15, 1.0])
def test_it_errs_as_often_as_stated(rate):
    robot = RobotReader(2, error_rate=rate)
    wrong = [robot.answer(slot, 0.0)[0].key != 60 for slot in slots(*["C4"] * MANY)]
    assert mean(wrong) == pytest.approx(rate, abs=5 * (rate * (1 - rate) / MANY) ** 0.5)


def test_its_errors_are_a_step_an_octave_or_a_forgotten_alteration():
    robot = RobotReader(2, error_rate=1.0)
    made = {robot.answer(slot, 0.0)[0].key for slot in slots(*["F#4"] * 200)}
    assert made == {key(name) for name in ("E4", "G4", "F#3", "F#5", "F4")}


def test_it_never_leaves_the_piano():
    robot = RobotReader(2, error_rate=1.0)
    ends = slots(*["A0", "C8"] * 100)
    assert all(21 <= press.key <= 108 for slot in ends for press in robot.answer(slot, 0.0))


@pytest.mark.parametrize("rate", [0.0, 1.0])
def test_its_answers_finish_any_round_and_are_judged_as_meant(rate):
    prompts = prompts_of("C4", "F#4", "C4 E4 G4", "C4 C5", "B3 C4 C#4 D4", "Cb4")
    robot = RobotReader(9, spread=0.6, error_rate=rate)
    state, now = Round(prompts, limit_s=6.0), 0.0
    for prompt in prompts:
        presses = robot.answer(prompt.slots[0], now)
        assert list(presses) == sorted(presses, key=lambda press: press.t)
        state = play(state, [Flip(now), *presses])
        now = presses[-1].t
    assert state.complete
    assert all((result.verdict is Verdict.RIGHT) == (rate == 0.0) for result in state.results)


def test_the_keys_of_a_chord_go_down_almost_together():
    robot = RobotReader(1, error_rate=0.0)
    for slot in slots(*["C4 E4 G4 C5"] * 50):
        presses = robot.answer(slot, 0.0)
        assert {press.key for press in presses} == slot.keys
        assert presses[-1].t - presses[0].t <= 0.02


@pytest.mark.parametrize("wrong", [{"speed_s": 0}, {"spread": -1}, {"error_rate": 1.1}])
def test_impossible_readers_are_refused(wrong):
    with pytest.raises(ValueError, match="robot reader needs"):
        RobotReader(1, **wrong)
