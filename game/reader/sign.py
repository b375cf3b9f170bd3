# SPDX-License-Identifier: MIT
"""What is learnt: a sign, which is a place on a staff under a clef with one way to be altered."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from game.levels.prompt import Note, Prompt
from game.notation import Bar, Clef


class Source(Enum):
    """Where a note has its alteration from; the value is its name in stored states."""

    NONE = "none"  # nothing alters it
    SIGNATURE = "signature"  # the key signature does
    PRINTED = "printed"  # a sign is printed at it
    HELD = "held"  # a sign earlier in the bar still holds


@dataclass(frozen=True, slots=True)
class ReadingItem:
    """A thing to be read, and known or not.

    Args:
        clef: the clef in force.
        position: staff position, 0 = bottom line, 8 = top line.
        source: where the alteration comes from.
    """

    clef: Clef
    position: int
    source: Source = Source.NONE

    @property
    def name(self) -> str:
        """Plain text that :meth:`parse` reads back, such as ``treble 4 none``."""
        return f"{self.clef.value} {self.position} {self.source.value}"

    @classmethod
    def parse(cls, name: str) -> ReadingItem:
        """The sign of this name.

        Raises:
            ValueError: the name is not a clef, a position and a source.
        """
        try:
            clef, position, source = name.split()
            return cls(Clef(clef), int(position), Source(source))
        except ValueError:
            raise ValueError(
                f"{name!r} is not a sign such as 'treble 4 none': a clef, a staff position, "
                f"and one of {', '.join(source.value for source in Source)}"
            ) from None


def sign_of(note: Note, bar: Bar) -> ReadingItem:
    """The sign that a note is, with what is in force in the bar when it is reached."""
    if note.sign is not None:
        source = Source.PRINTED
    elif (note.staff, note.pitch.step) in bar.signs:
        source = Source.HELD
    elif bar.signature.alter(note.pitch.letter):
        source = Source.SIGNATURE
    else:
        source = Source.NONE
    return ReadingItem(note.clef, note.position, source)


def signs_of(prompt: Prompt) -> dict[str, ReadingItem]:
    """Note id -> sign, for the notes that are printed and played."""
    return {
        note.id: sign_of(note, bar)
        for note, bar in prompt.walk()
        if not note.tied and note.id not in prompt.hidden
    }
