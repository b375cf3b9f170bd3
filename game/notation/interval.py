# SPDX-License-Identifier: MIT
"""Intervals between two written pitches."""

from __future__ import annotations

from dataclasses import dataclass

from game.notation.pitch import Pitch

_PERFECT = {1, 4, 5}
_NATURAL_SIZE = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 11}
_NUMBER_NAMES = ("unison", "second", "third", "fourth", "fifth", "sixth", "seventh", "octave")


@dataclass(frozen=True, slots=True)
class Interval:
    """The distance from a lower to a higher written pitch.

    Args:
        number: 1 = unison, 2 = second, … 8 = octave, 9 = ninth …
        semitones: the sounding size; below 0 where the higher written pitch sounds lower.
    """

    number: int
    semitones: int

    @classmethod
    def between(cls, one: Pitch, other: Pitch) -> Interval:
        """The interval between two pitches, whichever is written higher."""
        low, high = sorted((one, other), key=lambda pitch: (pitch.step, pitch.key))
        return cls(high.step - low.step + 1, high.key - low.key)

    @property
    def quality(self) -> str:
        """``perfect``, ``major``, ``minor``, or (doubly …) ``augmented`` / ``diminished``."""
        octaves, simple = divmod(self.number - 1, 7)
        excess = self.semitones - 12 * octaves - _NATURAL_SIZE[simple + 1]
        if simple + 1 in _PERFECT:
            if excess == 0:
                return "perfect"
        elif excess == 0:
            return "major"
        elif excess == -1:
            return "minor"
        elif excess < 0:
            excess += 1
        word = "augmented" if excess > 0 else "diminished"
        times = {1: "", 2: "doubly ", 3: "triply "}.get(abs(excess), f"{abs(excess)} times ")
        return times + word

    def __str__(self) -> str:
        number = self.number
        name = _NUMBER_NAMES[number - 1] if number <= 8 else f"{number}{_ending(number)}"
        return f"{self.quality} {name}"


def _ending(number: int) -> str:
    if number % 100 in (11, 12, 13):
        return "th"
    return {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
