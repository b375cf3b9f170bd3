# SPDX-License-Identifier: MIT
"""What the tests of pieces share: the files of support/pieces, and a piece in short lines."""

from __future__ import annotations

from fractions import Fraction

from places import PIECES

from game.notation import KeySignature, Pitch
from game.pieces import Piece, PieceBar, PieceNote, PieceSlot, load_piece


def piece(name: str, part: str | None = None, number: int | None = None) -> Piece:
    """A file of tests/support/pieces."""
    return load_piece(PIECES / name, part, number)


def lines(read: Piece) -> list[str]:
    """A line for each slot: bar, beat, upper staff / lower staff.

    A sign that is printed stands in brackets before its note; ``~`` is held by a tie, ``,`` a
    grace note.
    """
    told = []
    for slot in read.slots:
        hands = []
        for staff in (1, 2):
            hands.append(
                " ".join(
                    ("~" if note.tied else "")
                    + ("," if note.grace else "")
                    + (f"({note.sign})" if note.sign else "")
                    + str(note.pitch)
                    for note in slot.notes
                    if note.staff == staff
                )
            )
        text = f"{hands[0]} / {hands[1]}".strip() if hands[1] else hands[0]
        told.append(f"{read.bars[slot.bar].label} {slot.beat}: {text}")
    return told


def notices(read: Piece) -> list[str]:
    return [f"{read.bars[notice.bar].label}: {notice.text}" for notice in read.notices]


def made(*bars: str, signature: int = 0, clef: str = "treble") -> Piece:
    """A piece of single notes on the upper staff, an eighth each, a text for each bar."""
    slots = [
        PieceSlot(
            index,
            1 + Fraction(place, 2),
            (PieceNote(f"n{index}-{place}", Pitch.parse(word), 1, clef, None),),
            KeySignature(signature),
        )
        for index, text in enumerate(bars)
        for place, word in enumerate(text.split())
    ]
    heads = [
        PieceBar(str(index + 1), (4, 4), Fraction(len(text.split()), 2))
        for index, text in enumerate(bars)
    ]
    return Piece("Made", "", tuple(heads), tuple(slots))
