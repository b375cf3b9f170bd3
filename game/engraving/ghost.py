# SPDX-License-Identifier: MIT
"""The note that was actually played: where it stands."""

from __future__ import annotations

from dataclasses import dataclass

from game.engraving.mei import prompt_clefs
from game.levels import LOWER, UPPER, USUAL_CLEF, Note, Prompt
from game.notation import Clef, Pitch, ledger_lines

Colour = tuple[int, int, int]

MOST_LEDGERS = 4  # a ghost leaves the staff of the expected note rather than need more
FARTHEST = 7  # ledger lines that are still drawn; beyond, an arrow


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
        farthest: ledger lines that there is room for; beyond, it is an arrow.
    """

    pitch: Pitch
    staff: int
    clef: Clef
    beside: str
    sign: str | None
    colour: Colour
    farthest: int = FARTHEST

    @property
    def position(self) -> int:
        """Staff position: 0 = bottom line, 8 = top line."""
        return self.clef.position(self.pitch)

    @property
    def off_the_page(self) -> bool:
        """Whether it lies too far from its staff to be drawn as a note."""
        return abs(ledger_lines(self.position)) > self.farthest


def ghost_for(prompt: Prompt, note: Note, played: Pitch, *, colour: Colour) -> Ghost:
    """The ghost of a wrong press, on the better staff.

    It stands on the staff of the expected note, unless it would need more than four ledger
    lines there and fewer on the other staff. Its sign is the one it needs right after the
    expected slot: F played for F sharp shows its natural.

    Args:
        prompt: what was being read.
        note: the note of it that was expected.
        played: what was played, spelled.
        colour: what to draw it in.
    """
    other = LOWER if note.staff == UPPER else UPPER
    clefs = dict(zip(USUAL_CLEF, prompt_clefs(prompt), strict=True))
    for slot in prompt.slots:
        clefs |= {each.staff: each.clef for each in slot.notes}
        if note in slot.notes:
            break
    clefs[note.staff] = note.clef
    here, there = (abs(ledger_lines(clefs[n].position(played))) for n in (note.staff, other))
    staff = other if here > MOST_LEDGERS and there < here else note.staff
    last = slot.notes[-1]
    bar = prompt.bar_before(last).after(last.staff, last.pitch, tied=last.tied)
    return Ghost(played, staff, clefs[staff], note.id, bar.sign(staff, played), colour)
