# SPDX-License-Identifier: MIT
"""A misread that was made, kept so small that one of each kind can always be shown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from game.levels.prompt import Note, Prompt, Slot
from game.notation import Bar, Clef, KeySignature, Pitch
from game.reader.explain import Explanation
from game.reader.misread import Misread


@dataclass(frozen=True)
class Example:
    """A misread as it was made.

    Args:
        prompt: the slot that was misread, and before it the one whose sign or place misled,
            where there was one; nothing else of what was printed.
        note_id: the note that was misread, in the last slot of `prompt`.
        played: the MIDI key that was pressed.
        read: what the note was taken for.
        at: when, in seconds since 1970.
    """

    prompt: Prompt
    note_id: str
    played: int
    read: Pitch
    at: float

    @property
    def note(self) -> Note:
        """The note that was misread."""
        return next(note for note in self.prompt.notes if note.id == self.note_id)

    @property
    def shown(self) -> Pitch:
        """The pitch that was shown."""
        return self.note.pitch

    def to_json(self) -> dict[str, Any]:
        """Plain values for a file."""
        return {
            "at": self.at,
            "signature": self.prompt.signature.fifths,
            "played": self.played,
            "read": self.read.spelling,
            "note": self.note_id,
            "slots": [
                [
                    slot.bar,
                    [
                        [note.id, note.staff, note.clef.value, note.pitch.spelling, note.sign]
                        for note in slot.notes
                    ],
                ]
                for slot in self.prompt.slots
            ],
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Example:
        """What :meth:`to_json` gave.

        Raises:
            ValueError, KeyError, TypeError: it is damaged.
        """
        slots = tuple(
            Slot(
                tuple(
                    Note(str(name), Pitch.parse(pitch), int(staff), Clef(clef), sign)
                    for name, staff, clef, pitch, sign in notes
                ),
                int(bar),
            )
            for bar, notes in data["slots"]
        )
        prompt = Prompt(KeySignature(int(data["signature"])), slots)
        note_id = str(data["note"])
        if note_id not in {note.id for note in prompt.notes}:
            raise ValueError(f"the example has no note {note_id!r}")
        read = Pitch.parse(data["read"])
        return cls(prompt, note_id, int(data["played"]), read, float(data["at"]))


def example_of(
    prompt: Prompt,
    slot: int,
    played: int,
    why: Explanation,
    at: float,
    before: Prompt | None = None,
) -> Example | None:
    """The example that a misread makes; None where nothing was printed to be misread.

    Args:
        prompt: what was read.
        slot: index of the slot that was missed.
        played: the MIDI key that was pressed.
        why: the explanation of it.
        at: when, in seconds since 1970.
        before: the prompt before it, whose signs may have been carried over.
    """
    missed = prompt.slots[slot]
    if missed.asks:
        return None
    note = next(note for note in missed.notes if note.id == why.note_id)
    found = [missed]
    led = _misled(prompt, slot, note, why.kind)
    bars = missed.bar - led.bar if led is not None else 0
    if led is None and why.kind is Misread.CARRIED and before is not None:
        led, bars = _signed(before.slots, note), 1
    if led is not None:
        found.insert(0, led)
    numbers = {id(missed): min(bars, 1)}
    slots, bar, where = [], Bar(prompt.signature), 0
    kept = why.note_id
    for index, each in enumerate(found):
        number = numbers.get(id(each), 0)
        bar, where = (bar.barline(), number) if number != where else (bar, where)
        notes = []
        for nth, old in enumerate(old for old in each.notes if not old.tied or each is not missed):
            name = f"e{index}n{nth}"
            kept = name if old is note else kept
            # What a slot that is left out had printed must be printed here.
            sign = old.sign or bar.sign(old.staff, old.pitch)
            notes.append(Note(name, old.pitch, old.staff, old.clef, sign))
            bar = bar.after(old.staff, old.pitch)
        slots.append(Slot(tuple(notes), number))
    return Example(Prompt(prompt.signature, tuple(slots)), kept, played, why.read, at)


def _misled(prompt: Prompt, slot: int, note: Note, kind: Misread) -> Slot | None:
    """The slot before this one that belongs to the misread: with the sign, or the note before."""
    earlier = prompt.slots[:slot]
    if kind is Misread.MIRROR:
        return next(
            (s for s in reversed(earlier) if any(n.staff == note.staff for n in s.notes)), None
        )
    if kind is not Misread.CARRIED:
        here = prompt.slots[slot].bar
        earlier = tuple(before for before in earlier if before.bar == here)
    return _signed(earlier, note)


def _signed(slots: tuple[Slot, ...], note: Note) -> Slot | None:
    """The last of these slots with a sign printed at the place of the note."""

    def signs(slot: Slot) -> Iterator[bool]:
        for other in slot.notes:
            same = (other.staff, other.pitch.step) == (note.staff, note.pitch.step)
            yield same and other.sign is not None

    return next((slot for slot in reversed(slots) if any(signs(slot))), None)
