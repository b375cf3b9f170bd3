# SPDX-License-Identifier: MIT
"""What presses are worth against a slot."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

_ROUNDING_S = 1e-9  # so that keys exactly the window apart are within it whatever the float


class Verdict(Enum):
    """The worth of a press, and of the first answer to a slot; the value is its public name."""

    RIGHT = "right"
    WRONG_OCTAVE = "wrong octave"
    WRONG = "wrong"
    UNANSWERED = "unanswered"
    # Presses that are no answer and count for nothing: game.rounds.touch says which.
    BOUNCE = "bounce"
    EXTRA = "extra"
    FLAT_HAND = "flat hand"


@dataclass(frozen=True, slots=True)
class JudgedPress:
    """A press with its verdict.

    Args:
        t: seconds since its slot became readable.
        key: MIDI key number.
        velocity: 1 to 127.
        verdict: RIGHT, WRONG_OCTAVE or WRONG; of one that is no answer BOUNCE, EXTRA or FLAT_HAND.
        keyboard: as :attr:`Press.keyboard`; no part of what the press was worth.
        late_s: of a key of a chord that came too late for the others, the seconds since the first
            of them; 0 of any other.
    """

    t: float
    key: int
    velocity: int
    verdict: Verdict
    keyboard: str = field(default="", compare=False)
    late_s: float = 0.0

    @property
    def counts(self) -> bool:
        """Whether it is an answer."""
        return self.verdict in (Verdict.RIGHT, Verdict.WRONG_OCTAVE, Verdict.WRONG)


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


def together(earlier: float, later: float, window_s: float) -> bool:
    """Whether two times lie within a window, its end included whatever the float."""
    return later - earlier <= window_s + _ROUNDING_S
