# SPDX-License-Identifier: MIT
"""Notices a keyboard that is shifted by octaves: the right letters, all of them as far off."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from game.screens.text import _, plural

TELLING = 3  # first presses in a row that are as far off: an accident no more


@dataclass(frozen=True)
class OctaveRun:
    """How the latest first presses have missed.

    Args:
        octaves: how far too high each was; below 0, too low.
        length: how many in a row.
    """

    octaves: int = 0
    length: int = 0

    def after(self, key: int, expected: Collection[int]) -> OctaveRun:
        """The run after the first press of a slot, a MIDI key, and the keys that it asked for."""
        away = [(key - one) // 12 for one in expected if (key - one) % 12 == 0]
        octaves = min(away, key=abs, default=0)
        if octaves == 0:
            return OctaveRun()
        return OctaveRun(octaves, self.length + 1 if octaves == self.octaves else 1)

    @property
    def tells(self) -> bool:
        """Whether it is rather the keyboard that is off."""
        return self.length >= TELLING

    @property
    def words(self) -> str:
        """What is said of it, with where to set it right; empty while it tells nothing."""
        if not self.tells:
            return ""
        far = abs(self.octaves)
        line = (
            plural(
                "Every key is an octave too low: is your keyboard shifted?",
                "Every key is {n} octaves too low: is your keyboard shifted?",
                far,
            )
            if self.octaves < 0
            else plural(
                "Every key is an octave too high: is your keyboard shifted?",
                "Every key is {n} octaves too high: is your keyboard shifted?",
                far,
            )
        ).format(n=far)
        return line + " " + _("“Its middle C” in the settings puts it right.")
