# SPDX-License-Identifier: MIT
"""What a printed prompt asks for: a place to write at for each note, or questions."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from game.engraving import Engraving
from game.levels import LOWER, UPPER, Prompt
from game.notation import NoteNames, Pitch

Side = Literal["above", "below"]


@dataclass(frozen=True, slots=True)
class Blank:
    """Where the name of a note is written, or the names of a chord.

    Args:
        side: of the two staves.
        x: of its middle, in the staff spaces of the engraving.
        pitches: from the lowest up.
        slot: of the prompt.
    """

    side: Side
    x: float
    pitches: tuple[Pitch, ...]
    slot: int

    def said(self, names: NoteNames) -> str:
        """The answer."""
        return " ".join(names.name(pitch) for pitch in self.pitches)


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of a signature; its answer is one note, or several in order."""

    label: str
    pitches: tuple[Pitch, ...]

    def said(self, names: NoteNames) -> str:
        """The answer."""
        return " ".join(names.name(pitch) for pitch in self.pitches)


def printable(prompt: Prompt) -> Prompt:
    """The prompt as it is printed: a signature that is asked about needs no room for answers."""
    return replace(prompt, slots=prompt.slots[:1], room=0) if prompt.hidden else prompt


def both_hands(prompts: tuple[Prompt, ...]) -> bool:
    """Whether any of them has something in both staves."""
    return any(
        len({note.staff for note in prompt.notes}) > 1 and _mixed(prompt) for prompt in prompts
    )


def _mixed(prompt: Prompt) -> bool:
    """Whether the staves sound together, or each has a line of its own."""
    return prompt.metre is not None or any(
        len({note.staff for note in slot.notes}) > 1 for slot in prompt.slots
    )


def blanks(prompt: Prompt, engraving: Engraving, both: bool) -> tuple[Blank, ...]:
    """A place for every slot, from left to right; of notes that a tie leads to as well.

    Args:
        both: the names of the upper staff go above, and those of the lower below.
    """
    found = []
    for number, slot in enumerate(prompt.slots):
        for staff in (UPPER, LOWER):
            notes = sorted(
                (note for note in slot.notes if note.staff == staff), key=lambda note: note.key
            )
            if not notes or slot.asks:
                continue
            xs = [engraving.notes[note.id].x for note in notes]
            found.append(
                Blank(
                    "above" if both and staff == UPPER else "below",
                    (min(xs) + max(xs)) / 2,
                    tuple(note.pitch for note in notes),
                    number,
                )
            )
    return tuple(found)


def questions(prompt: Prompt) -> tuple[Question, ...]:
    """What a signature is asked for, a question each; none of a prompt of notes."""
    labels = {
        "altered": "Sharps" if prompt.signature.fifths > 0 else "Flats",
        "major tonic": "Major key",
        "minor tonic": "Minor key",
    }
    found: dict[str, tuple[Pitch, ...]] = {}
    for slot in prompt.slots:
        if slot.asks:
            pitches = found.get(slot.asks, ())
            found[slot.asks] = (*pitches, *(note.pitch for note in slot.notes))
    return tuple(Question(labels[asks], pitches) for asks, pitches in found.items())
