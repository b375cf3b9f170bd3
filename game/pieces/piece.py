# SPDX-License-Identifier: MIT
"""A piece of sheet music as a pianist meets it: slots in reading order."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from game.notation import KeySignature, Pitch


class PieceError(Exception):
    """A piece that cannot be taken; the message names the file, the place and the mend."""


@dataclass(frozen=True, slots=True)
class PieceNote:
    """A printed note.

    Args:
        id: of the note in the MEI, so of the file where it gives ids; unique in the piece.
        pitch: what sounds on a piano, spelled. Transposing instruments and 8va lines are worked
            in, so it need not be the pitch that is printed.
        staff: 1 = upper, 2 = lower: where it is printed, also for a hand that crosses over.
        clef: in force at it, by name: ``treble``, ``bass``, ``alto``, ``treble 8vb`` …
        sign: the accidental printed at it: ``#`` ``b`` ``n`` ``##`` ``bb``, or None.
        tied: it continues a tie, so its key is held and not struck.
        grace: a grace note, played before the beat of its slot and taking no time of the bar.
    """

    id: str
    pitch: Pitch
    staff: int
    clef: str
    sign: str | None
    tied: bool = False
    grace: bool = False

    @property
    def key(self) -> int:
        """The MIDI key that plays it."""
        return self.pitch.key


@dataclass(frozen=True, slots=True)
class PieceSlot:
    """The notes that begin together.

    Args:
        bar: index of its bar among :attr:`Piece.bars`.
        beat: quarters from the beginning of the bar, counted from 1. In a pickup, and in the
            second half of a bar that a repeat sign divides, from where the bar would begin if
            it were whole. Grace notes have the beat of the note that they lead to.
        notes: at least one; grace notes never together with others.
        signature: in force, of the sounding pitches: of a transposing instrument it is not the
            printed one. None where the two staves have different ones.
    """

    bar: int
    beat: Fraction
    notes: tuple[PieceNote, ...]
    signature: KeySignature | None


@dataclass(frozen=True, slots=True)
class PieceBar:
    """A bar as printed.

    Args:
        label: its number as the file has it, such as ``12``.
        metre: as printed, such as (3, 4); None for none.
        length: quarters that its music takes.
        begin: quarters that it lacks at its beginning, as a pickup does.
    """

    label: str
    metre: tuple[int, int] | None
    length: Fraction
    begin: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Notice:
    """What a reader must be told of a bar.

    Args:
        bar: index of the bar.
        text: what is the matter, for people.
        doubtful: the file disagrees with itself here, or leaves something open: what the slots
            of the bar say may not be what was meant.
    """

    bar: int
    text: str
    doubtful: bool = True


@dataclass(frozen=True)
class Piece:
    """A piece.

    Every printed bar is there once, in printed order: repeats and endings are not played out.

    Args:
        title: of the file, or its name.
        part: the part that was taken, or empty where there is only one.
        bars: in printed order.
        slots: in reading order.
        notices: what a reader must be told, in order of the bars.
        complaints: what Verovio said of the file, where it touches pitch or time.
    """

    title: str
    part: str
    bars: tuple[PieceBar, ...]
    slots: tuple[PieceSlot, ...]
    notices: tuple[Notice, ...] = ()
    complaints: tuple[str, ...] = ()

    @property
    def doubtful(self) -> frozenset[int]:
        """Indices of the bars whose slots are in doubt."""
        return frozenset(notice.bar for notice in self.notices if notice.doubtful)
