# SPDX-License-Identifier: MIT
"""The thing to read: a prompt of slots, each a set of notes that go down together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

from game.levels.metre import beat_quarters
from game.notation import GRAND_STAFF, Bar, Clef, KeySignature, Pitch

UPPER, LOWER = 1, 2  # staff numbers, as MEI counts them
USUAL_CLEF = dict(zip((UPPER, LOWER), GRAND_STAFF, strict=True))
"""The clef of a staff of the grand staff, where nothing says otherwise."""

Asks = Literal["", "altered", "major tonic", "minor tonic"]


class Note(NamedTuple):
    """One note on the grand staff.

    Notes and slots are named tuples because they are made by the hundred thousand: a frozen
    dataclass takes three times as long.

    Args:
        id: unique in its round; it comes back as the note's id in the engraved SVG.
        pitch: what it sounds, spelled.
        staff: 1 = upper, 2 = lower.
        clef: the clef in force at the note.
        sign: the accidental printed at it (``#`` ``b`` ``n`` ``##`` ``bb``), or None where
            the signature or an earlier sign of the bar already says it.
        tied: it continues a tie: it is printed, and nothing is pressed for it.
        length: in quarters; None in music without a metre.
    """

    id: str
    pitch: Pitch
    staff: int
    clef: Clef
    sign: str | None = None
    tied: bool = False
    length: float | None = None

    @property
    def key(self) -> int:
        """The MIDI key that plays it."""
        return self.pitch.key

    @property
    def position(self) -> int:
        """Staff position: 0 = bottom line, 8 = top line."""
        return self.clef.position(self.pitch)


class Slot(NamedTuple):
    """The notes whose keys must go down together; one note for a single line.

    Args:
        notes: at least one.
        bar: index of its bar in the prompt, from 0.
        beat: quarters from the beginning of the prompt; None in music without a metre.
        asks: what is asked for where it is not printed, such as the tonic of the signature
            that is shown; any octave answers then. Empty for a slot that is printed.
    """

    notes: tuple[Note, ...]
    bar: int = 0
    beat: float | None = None
    asks: Asks = ""

    @property
    def keys(self) -> frozenset[int]:
        """The MIDI keys to press; none where every note only continues a tie."""
        return frozenset(note.key for note in self.notes if not note.tied)

    @property
    def apart(self) -> int:
        """Keys so many semitones apart answer alike: 12 where any octave does, else none do."""
        return 12 if self.asks else 128


@dataclass(frozen=True)
class Prompt:
    """A bar or a few to read, the slots from left to right, under one key signature.

    Args:
        signature: in force throughout.
        slots: at least one with a key to press.
        metre: beats of a bar and what a beat is, as printed, (4, 4); None for notes that are
            read in order, whatever their rhythm.
        name: what the prompt is called beside the staff, such as the bar of a piece.
        room: for how many slots the staff is long enough, where that is more than it has: the
            most that any prompt of its level has, so that no staff of a round is longer.
        clefs: at the beginning of the upper and the lower staff, where no note is in another.
    """

    signature: KeySignature
    slots: tuple[Slot, ...]
    metre: tuple[int, int] | None = None
    name: str = ""
    room: int = 0
    clefs: tuple[Clef, Clef] = GRAND_STAFF

    @property
    def notes(self) -> tuple[Note, ...]:
        """All notes, slot by slot."""
        return tuple(note for slot in self.slots for note in slot.notes)

    @property
    def bars(self) -> int:
        """How many bars it has."""
        return self.slots[-1].bar + 1 if self.slots else 1

    @property
    def hidden(self) -> frozenset[str]:
        """Ids of the notes that are asked for and not printed."""
        return frozenset(note.id for slot in self.slots if slot.asks for note in slot.notes)

    @property
    def bar_quarters(self) -> float | None:
        """The length of a bar in quarters; None without a metre."""
        return None if self.metre is None else self.metre[0] * 4 / self.metre[1]

    @property
    def beat_quarters(self) -> float | None:
        """The length of a beat in quarters; None without a metre."""
        return None if self.metre is None else beat_quarters(self.metre)

    def bar_before(self, note: Note) -> Bar:
        """What is in force in the bar when one of its notes is reached."""
        for other, bar in self.walk():
            if other.id == note.id:
                return bar
        raise ValueError(f"note {note.id!r} is not in this prompt")

    def walk(self) -> Iterator[tuple[Note, Bar]]:
        """Every note in order, with what is in force when it is reached."""
        bar, number = Bar(self.signature), 0
        for slot in self.slots:
            if slot.bar != number:
                bar, number = bar.barline(), slot.bar
            for note in slot.notes:
                yield note, bar
                bar = bar.after(note.staff, note.pitch, tied=note.tied)

    def looks_like(self, other: Prompt) -> bool:
        """Whether both print the same music (ids aside)."""
        return (
            self.signature == other.signature
            and len(self.slots) == len(other.slots)
            and all(_face(a) == _face(b) for a, b in zip(self.slots, other.slots, strict=True))
        )


def _face(slot: Slot) -> object:
    """What a slot prints, whatever its notes are called."""
    notes = sorted((note.staff, note.pitch.spelling, note.tied) for note in slot.notes)
    return slot.bar, slot.beat, notes
