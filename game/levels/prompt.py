# SPDX-License-Identifier: MIT
"""The thing to read: a prompt of slots, each a set of notes that go down together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from game.notation import Bar, Clef, KeySignature, Pitch

UPPER, LOWER = 1, 2  # staff numbers, as MEI counts them


@dataclass(frozen=True, slots=True)
class Note:
    """One note on the grand staff.

    Args:
        id: unique in its round; it comes back as the note's id in the engraved SVG.
        pitch: what it sounds, spelled.
        staff: 1 = upper, 2 = lower.
        clef: the clef in force at the note.
        sign: the accidental printed at it (``#`` ``b`` ``n`` ``##`` ``bb``), or None where
            the signature or an earlier sign of the bar already says it.
    """

    id: str
    pitch: Pitch
    staff: int
    clef: Clef
    sign: str | None = None

    @property
    def key(self) -> int:
        """The MIDI key that plays it."""
        return self.pitch.key

    @property
    def position(self) -> int:
        """Staff position: 0 = bottom line, 8 = top line."""
        return self.clef.position(self.pitch)


@dataclass(frozen=True)
class Slot:
    """The notes whose keys must go down together; one note for a single line."""

    notes: tuple[Note, ...]

    @cached_property
    def keys(self) -> frozenset[int]:
        """The MIDI keys of the slot."""
        return frozenset(note.key for note in self.notes)


@dataclass(frozen=True)
class Prompt:
    """One bar to read, its slots from left to right, under one key signature."""

    signature: KeySignature
    slots: tuple[Slot, ...]

    @property
    def notes(self) -> tuple[Note, ...]:
        """All notes, slot by slot."""
        return tuple(note for slot in self.slots for note in slot.notes)

    def bar_before(self, note: Note) -> Bar:
        """What is in force in the bar when one of its notes is reached."""
        bar = Bar(self.signature)
        for other in self.notes:
            if other.id == note.id:
                break
            bar = bar.after(other.staff, other.pitch)
        return bar

    def looks_like(self, other: Prompt) -> bool:
        """Whether both print the same music (ids aside)."""
        return self._face() == other._face()

    def _face(self) -> object:
        return self.signature, [
            sorted((note.staff, note.pitch.spelling) for note in slot.notes) for slot in self.slots
        ]
