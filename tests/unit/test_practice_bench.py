# SPDX-License-Identifier: MIT
"""The choice of practice works: simulated readers need less of it than by other ways.

A small version of practice_bench.py, with fixed seeds; learning_readers.py says how they learn.
"""

from __future__ import annotations

from statistics import mean

import pytest
from practice_bench import SETTINGS, WAYS, Adaptive, ground, simulate

from game.reader import ERROR_RATE

READERS = 3
POWER, EXPONENTIAL = SETTINGS[0], SETTINGS[3]


@pytest.mark.parametrize("setting", [POWER, EXPONENTIAL], ids=lambda setting: setting.law)
def test_the_adaptive_choice_needs_less_practice_than_chance_and_than_the_ladder(setting):
    minutes = {
        name: [
            simulate(WAYS[name](seed), setting, seed, days=20).minutes for seed in range(READERS)
        ]
        for name in ("adaptive", "random", "ladder")
    }
    for other in ("random", "ladder"):  # 15 % less, for the same readers
        assert sum(minutes["adaptive"]) < 0.85 * sum(minutes[other])


def test_while_the_ladder_brings_new_signs_about_15_percent_are_missed():
    # Each world has its own rate; over all four the mean is held to 0.04, each to 0.08.
    whole = ground("chords-keys")
    rates = [
        simulate(Adaptive(1, whole), setting, 1, whole, 3).missed(14) for setting in SETTINGS[:4]
    ]
    assert mean(rates) == pytest.approx(ERROR_RATE, abs=0.04)
    assert rates == pytest.approx([ERROR_RATE] * 4, abs=0.08)
