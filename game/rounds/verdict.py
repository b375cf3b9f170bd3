# SPDX-License-Identifier: MIT
"""What presses are worth against a slot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum

_ROUNDING_S = 1e-9  # so that keys exactly the window apart are within it whatever the float


class Verdict(Enum):
    """The worth of a press, and of the first answer to a slot; the value is its public name."""

    RIGHT = "right"
    WRONG_OCTAVE = "wrong octave"
    WRONG = "wrong"
    UNANSWERED = "unanswered"


@dataclass(frozen=True, slots=True)
class JudgedPress:
    """A press with its verdict.

    Args:
        t: seconds since its slot became readable.
        key: MIDI key number.
        velocity: 1 to 127.
        verdict: RIGHT, WRONG_OCTAVE or WRONG.
        keyboard: as :attr:`Press.keyboard`; no part of what the press was worth.
    """

    t: float
    key: int
    velocity: int
    verdict: Verdict
    keyboard: str = field(default="", compare=False)


def judge_key(expected: frozenset[int], key: int, apart: int = 128) -> Verdict:
    """The verdict on one key: right, the right letter in another octave, or wrong.

    Args:
        expected: the slot's keys.
        key: MIDI key number.
        apart: as :attr:`Slot.apart`.
    """
    if key % apart in {other % apart for other in expected}:
        return Verdict.RIGHT
    if key % 12 in {other % 12 for other in expected}:
        return Verdict.WRONG_OCTAVE
    return Verdict.WRONG


def together(press: JudgedPress, t: float, window_s: float) -> bool:
    """Whether `t`, seconds since the slot became readable, is within the window of a press."""
    return t - press.t <= window_s + _ROUNDING_S


def first_verdict(
    expected: frozenset[int], presses: Sequence[JudgedPress], window_s: float, apart: int = 128
) -> Verdict | None:
    """The verdict on the first answer to a slot; None while it is still undecided.

    One expected key: the verdict on the first press. Several: RIGHT once all of them have
    gone down within `window_s` of the first press and no other key has; WRONG when the
    window closes before that; else the verdict on the first key that does not belong.
    """
    struck: set[int] = set()
    due = {key % apart for key in expected}
    for press in presses:
        if press.verdict is not Verdict.RIGHT:
            return press.verdict
        if not together(presses[0], press.t, window_s):
            return Verdict.WRONG
        struck.add(press.key % apart)
        if struck == due:
            return Verdict.RIGHT
    return None


def completes(
    expected: frozenset[int], presses: Sequence[JudgedPress], window_s: float, apart: int = 128
) -> bool:
    """Whether the last press completes the slot: every expected key pressed within `window_s`."""
    last = presses[-1]
    if last.verdict is not Verdict.RIGHT:
        return False  # what is there without it would have completed the slot before
    struck = set()
    for press in reversed(presses):  # the latest only: somebody may hammer thousands of keys
        if not together(press, last.t, window_s):
            break
        struck.add(press.key % apart)
    return {key % apart for key in expected} <= struck
