# SPDX-License-Identifier: MIT
"""The JSON of a piece of sheet music."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypedDict

from game.contract.form import PrintedNote, told

if TYPE_CHECKING:  # else every command would wait for Verovio
    from game.pieces import Piece


class PieceNoteJson(PrintedNote):
    """A printed note of a piece.

    `spelling` and `key` are what sounds on a piano: transposing instruments and 8va lines are
    worked in. `staff` is 1 (upper) or 2 (lower), where the note is printed. `clef` is the clef in
    force at it by name (``treble``, ``bass``, ``alto``, ``treble 8vb`` …), `sign` the accidental
    that the piece prints at it, or null. `tied`: it continues a tie, so its key is held and not
    struck. `grace`: a grace note, played before the beat of its slot.
    """

    grace: bool


class PieceSlotJson(TypedDict):
    """The notes that begin together; `notes` go up from the lowest, upper staff first.

    `bar` is the number as printed. `beat` is counted in quarters from 1; the notes of a pickup
    stand at the end of its bar, so a single upbeat in 3/4 is on 3. `signature` is in force, of
    the sounding pitches: -7 to 7, or null where the two staves have different ones.
    """

    bar: str
    beat: float
    signature: int | None
    notes: list[PieceNoteJson]


class PieceNoticeJson(TypedDict):
    """What is to be known of a bar. `doubtful`: its slots may not be what was meant."""

    bar: str
    text: str
    doubtful: bool


class PieceJson(TypedDict):
    """``deal --piece FILE --json``: a piece in reading order.

    Each printed bar is there once, in printed order; repeats are not played out. `piece` is its
    title, or the name of the file. `part` is the part that was taken, "" where there is one.
    `complaints` are what Verovio, which read the file, had to say of it.
    """

    format: Literal[1]
    piece: str
    part: str
    slots: list[PieceSlotJson]
    notices: list[PieceNoticeJson]
    complaints: list[str]


def piece_json(piece: Piece) -> PieceJson:
    """A piece of sheet music."""
    slots = [
        told(
            PieceSlotJson,
            bar=piece.bars[slot.bar].label,
            beat=float(slot.beat),
            signature=None if slot.signature is None else slot.signature.fifths,
            notes=[told(PieceNoteJson, one, spelling=one.pitch.spelling) for one in slot.notes],
        )
        for slot in piece.slots
    ]
    notices = [told(PieceNoticeJson, one, bar=piece.bars[one.bar].label) for one in piece.notices]
    return told(PieceJson, piece, piece=piece.title, slots=slots, notices=notices)
