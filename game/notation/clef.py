# SPDX-License-Identifier: MIT
"""Clefs: from a written pitch to a line or space of the staff, and back."""

from __future__ import annotations

from enum import Enum

from game.notation.pitch import Pitch

TOP_LINE = 8  # staff position of the fifth line; the bottom line is 0


class Clef(Enum):
    """A clef of the grand staff; the value is its name in files and commands."""

    TREBLE = "treble"
    BASS = "bass"

    @property
    def bottom_line(self) -> Pitch:
        """Pitch on the bottom line: E4 (treble), G2 (bass)."""
        return _BOTTOM_LINE[self]

    def position(self, pitch: Pitch) -> int:
        """Staff position: 0 = bottom line, 1 = the space above it, … 8 = top line.

        Negative below the staff. Even positions are lines, odd ones are spaces.
        """
        return pitch.step - self.bottom_line.step

    def step_at(self, position: int) -> int:
        """The diatonic step (:attr:`Pitch.step`) that stands at a staff position."""
        return self.bottom_line.step + position


_BOTTOM_LINE = {Clef.TREBLE: Pitch("E", 0, 4), Clef.BASS: Pitch("G", 0, 2)}


def ledger_lines(position: int) -> int:
    """How many ledger lines a note at this staff position needs.

    Positive above the staff, negative below it, 0 on it. Without limit.
    """
    if position > TOP_LINE + 1:
        return (position - TOP_LINE) // 2
    if position < -1:
        return -(-position // 2)
    return 0
