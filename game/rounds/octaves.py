# SPDX-License-Identifier: MIT
"""A keyboard that is shifted by octaves: the right letters, all of them as far off."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from game.rounds.events import ON_SCREEN
from game.rounds.verdict import JudgedPress, Verdict

TELLING = 3
"""First presses in a row that are as many octaves off: an accident no more."""


@dataclass(frozen=True, slots=True)
class OctaveRun:
    """How the latest first presses have missed.

    Args:
        octaves: how far too high each was; below 0, too low.
        length: how many in a row.
    """

    octaves: int = 0
    length: int = 0

    def after(self, expected: Collection[int], first: JudgedPress) -> OctaveRun:
        """The run after one more slot.

        Args:
            expected: the MIDI keys that the slot asked for.
            first: the first press of it.
        """
        octaves = _octaves_off(expected, first)
        if octaves == 0:
            return OctaveRun()
        return OctaveRun(octaves, self.length + 1 if octaves == self.octaves else 1)

    @property
    def tells(self) -> bool:
        """Whether it is rather the keyboard that is off."""
        return self.length >= TELLING


def _octaves_off(expected: Collection[int], press: JudgedPress) -> int:
    """0 for a right key, another letter, and the piano on the screen: no switch can shift that."""
    if press.verdict is not Verdict.WRONG_OCTAVE or press.keyboard == ON_SCREEN:
        return 0
    away = [(press.key - key) // 12 for key in expected if (press.key - key) % 12 == 0]
    return min(away, key=abs)
