# SPDX-License-Identifier: MIT
"""Clefs: from a written pitch to a line or space of the staff, and back."""

from __future__ import annotations

from enum import Enum

from game.notation.pitch import Pitch

TOP_LINE = 8  # staff position of the fifth line; the bottom line is 0
_NAMED = {"G": Pitch("G", 0, 4), "F": Pitch("F", 0, 3), "C": Pitch("C", 0, 4)}


class Clef(Enum):
    """The clefs, one a line; the value is its name in files, in commands and in words.

    Args:
        name: the value.
        shape: ``G``, ``F`` or ``C``, whose line carries G4, F3 or C4.
        line: that line, 1 = bottom line.
        octaves: how many octaves higher it sounds than the shape says; -1 for a small 8 below.

    Each has `bottom_line`, the pitch on that line, and `landmarks`, staff positions that are told
    at a glance: the line that the clef names, and each C to two ledger lines. Common practice; what
    a reader's own landmarks are is found from their answers.
    """

    TREBLE = "treble", "G", 2
    BASS = "bass", "F", 4
    ALTO = "alto", "C", 3

    shape: str
    line: int
    octaves: int
    bottom_line: Pitch
    landmarks: tuple[int, ...]

    def __new__(cls, name: str, shape: str = "G", line: int = 2, octaves: int = 0) -> Clef:
        clef = object.__new__(cls)
        clef._value_ = name
        clef.shape, clef.line, clef.octaves = shape, line, octaves
        named = 2 * (line - 1)
        clef.bottom_line = Pitch.at_step(_NAMED[shape].step + 7 * octaves - named)
        cs = (place for place in range(-4, TOP_LINE + 5) if clef.step_at(place) % 7 == 0)
        clef.landmarks = (named, *cs)
        return clef

    def position(self, pitch: Pitch) -> int:
        """Staff position: 0 = bottom line, 1 = the space above it, … 8 = top line.

        Negative below the staff. Even positions are lines, odd ones are spaces.
        """
        return pitch.step - self.bottom_line.step

    def step_at(self, position: int) -> int:
        """The diatonic step (:attr:`Pitch.step`) that stands at a staff position."""
        return self.bottom_line.step + position


GRAND_STAFF = (Clef.TREBLE, Clef.BASS)
"""The clefs of the upper and the lower staff, where nothing says otherwise."""


def ledger_lines(position: int) -> int:
    """How many ledger lines a note at this staff position needs.

    Positive above the staff, negative below it, 0 on it. Without limit.
    """
    if position > TOP_LINE + 1:
        return (position - TOP_LINE) // 2
    if position < -1:
        return -(-position // 2)
    return 0
