# SPDX-License-Identifier: MIT
"""Which keys the on-screen piano of a round has, and which of them it points at."""

from __future__ import annotations

from game.levels import Compass
from game.rounds import Round, Verdict
from game.ui.widgets import FIRST_SPAN

TRIES = 3  # wrong keys, after which a beginner is shown the right one


def keys_shown(state: Round, compass: Compass) -> tuple[int, int]:
    """The lowest and highest: what a round uses, and what newcomers were shown first, in whole
    octaves."""
    keys = [key for prompt in state.prompts for slot in prompt.slots for key in slot.keys]
    least, most = FIRST_SPAN
    first = min(least, *keys) // 12 * 12
    last = max(most, -(-(max(keys) + 1) // 12) * 12)
    return max(compass.low, first), min(compass.high, last)


def keys_to_point_at(state: Round) -> frozenset[int]:
    """Those of the current slot still to be found, once so many others were pressed."""
    answers = [press for press in state.presses if press.counts]
    right = {press.key for press in answers if press.verdict is Verdict.RIGHT}
    missed = sum(press.verdict is not Verdict.RIGHT for press in answers)
    return state.expected - right if missed >= TRIES else frozenset()
