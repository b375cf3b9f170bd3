# SPDX-License-Identifier: MIT
"""Prompts that are written out in the level file, note by note."""

from __future__ import annotations

from game.levels.prompt import LOWER, UPPER, USUAL_CLEF, Note, Slot
from game.notation import HIGHEST_KEY, LOWEST_KEY, SIGN_OF_ALTER, Bar, Clef, KeySignature, Pitch

WrittenNote = tuple[int, Clef, Pitch]


def read_slot(text: str) -> tuple[WrittenNote, ...]:
    """The notes of a slot such as ``F#4 A4 / D3``: upper staff, then after a slash the lower one.

    A clef may follow a note, where its staff has another one than usual: ``F#3@bass``.

    Returns:
        Staff, clef and pitch of each note, as written.

    Raises:
        ValueError: no note, two notes of one key, a note off the piano or beyond a double sign,
            or something that is no note.
    """
    hands = text.split("/")
    if len(hands) > 2:
        raise ValueError(f"{text!r} has more than one slash: upper staff / lower staff")
    notes = []
    for staff, hand in zip((UPPER, LOWER), hands, strict=False):
        for word in hand.split():
            spelling, _, clef = word.partition("@")
            if clef not in ("", *(known.value for known in Clef)):
                raise ValueError(
                    f"{word!r}: the clef after @ is one of {', '.join(c.value for c in Clef)}"
                )
            pitch = Pitch.parse(spelling)
            if pitch.alter not in SIGN_OF_ALTER:
                raise ValueError(f"{spelling!r} has more than a double sign")
            if not LOWEST_KEY <= pitch.key <= HIGHEST_KEY:
                raise ValueError(f"{spelling!r} is outside the piano, A0 to C8")
            notes.append((staff, Clef(clef) if clef else USUAL_CLEF[staff], pitch))
    if not notes:
        raise ValueError(f"{text!r} has no note; a slot is written 'F#4 A4 / D3'")
    if len({pitch.key for _, _, pitch in notes}) < len(notes):
        raise ValueError(f"{text!r} asks for one key twice")
    for staff in USUAL_CLEF:
        if len({clef for of, clef, _ in notes if of == staff}) > 1:
            raise ValueError(f"{text!r} has two clefs on one staff at once")
    return tuple(notes)


def written_slots(texts: tuple[str, ...], signature: KeySignature, name: str) -> tuple[Slot, ...]:
    """The slots of one written bar, with the signs that must be printed.

    Args:
        texts: as for :func:`read_slot`, which has accepted them.
        signature: in force.
        name: what the ids of the notes begin with.
    """
    bar = Bar(signature)
    slots = []
    for number, text in enumerate(texts):
        notes = []
        for nth, (staff, clef, pitch) in enumerate(read_slot(text)):
            note_id = f"{name}s{number}n{nth}"
            notes.append(Note(note_id, pitch, staff, clef, bar.sign(staff, pitch)))
            bar = bar.after(staff, pitch)
        slots.append(Slot(tuple(notes)))
    return tuple(slots)
