# SPDX-License-Identifier: MIT
"""The note that was actually played: where it stands, and how it is spelled."""

from __future__ import annotations

from dataclasses import dataclass

from game.levels import LOWER, UPPER, USUAL_CLEF, Note
from game.notation import Bar, Clef, KeySignature, Pitch, ledger_lines, likeliest

Colour = tuple[int, int, int]

MOST_LEDGERS = 4  # a ghost leaves the staff of the expected note rather than need more
FARTHEST = 7  # ledger lines that are still drawn; beyond, an arrow with the name


@dataclass(frozen=True, slots=True)
class Ghost:
    """A played note, drawn lightly beside the expected one.

    Args:
        pitch: what was played, spelled.
        staff: 1 = upper, 2 = lower: the staff on which it is drawn.
        clef: of that staff.
        beside: id of the note that was expected.
        sign: the accidental that it needs there, as for :class:`Note`.
        colour: of head, sign and ledger lines.
    """

    pitch: Pitch
    staff: int
    clef: Clef
    beside: str
    sign: str | None
    colour: Colour

    @property
    def position(self) -> int:
        """Staff position: 0 = bottom line, 8 = top line."""
        return self.clef.position(self.pitch)

    @property
    def off_the_page(self) -> bool:
        """Whether it lies too far from its staff to be drawn as a note."""
        return abs(ledger_lines(self.position)) > FARTHEST


def ghost_for(
    key: int,
    note: Note,
    signature: KeySignature,
    bar: Bar | None = None,
    *,
    colour: Colour,
    other_clef: Clef | None = None,
) -> Ghost:
    """The ghost of a wrong press, in its likeliest spelling and on the better staff.

    It stands on the staff of the expected note, unless it would need more than four ledger
    lines there and fewer on the other staff. Its sign is the one it needs right after the
    expected note: F played for F sharp shows its natural.

    Args:
        key: the MIDI key that was pressed.
        note: the note that was expected.
        signature: of the prompt.
        bar: what is in force when `note` is reached; None at the start of a bar.
        other_clef: of the other staff; None for the usual one.
        colour: what to draw it in.
    """
    pitch = likeliest(key, signature)
    other = LOWER if note.staff == UPPER else UPPER
    if other_clef is None:
        other_clef = USUAL_CLEF[other]
    here, there = (abs(ledger_lines(clef.position(pitch))) for clef in (note.clef, other_clef))
    staff, clef = (note.staff, note.clef)
    if here > MOST_LEDGERS and there < here:
        staff, clef = other, other_clef
    if bar is None:
        bar = Bar(signature)
    sign = bar.after(note.staff, note.pitch).sign(staff, pitch)
    return Ghost(pitch, staff, clef, note.id, sign, colour)
