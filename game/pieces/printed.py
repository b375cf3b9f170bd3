# SPDX-License-Identifier: MIT
"""What a score prints: notes, octave lines, bars. Values of :mod:`game.pieces.score`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from game.notation import LETTERS
from game.pieces.piece import Notice

MAIN = 0  # rank of a note on the beat; grace notes before it have -1, -2 … backwards
Place = tuple[int, Fraction, int]
"""Where in the piece: index of the bar, quarters from its beginning, rank of a grace note."""


@dataclass(frozen=True, slots=True)
class Printed:
    """A note as it is printed, with what the file says of its sound.

    `octave` is that of the written pitch, `sounding_octave` what the file says outright.
    `sign` is the printed alteration and `gestural` the sounding one, where given.
    """

    id: str
    place: Place
    order: int
    staff: str
    clef: str
    letter: str
    octave: int
    sounding_octave: int | None
    sign: int | None
    gestural: int | None
    tie: str
    seat: tuple[str, str]  # staff and layer that it belongs to, wherever it is printed

    @property
    def step(self) -> int:
        """The written diatonic step."""
        return self.octave * 7 + LETTERS.index(self.letter)


@dataclass(frozen=True, slots=True)
class Shift:
    """An octave line: how many octaves up its notes sound, on one staff, from one place to
    another (both included); of one of its layers, or of all where `layer` is empty."""

    staff: str
    layer: str
    octaves: int
    start: Place
    end: Place

    def covers(self, note: Printed) -> bool:
        within = note.staff == self.staff and self.start <= note.place <= self.end
        return within and self.layer in ("", note.seat[1])


@dataclass(frozen=True, slots=True)
class Signature:
    """A signature in force on a staff from a place on."""

    start: Fraction
    fifths: int


@dataclass(frozen=True, slots=True)
class RawBar:
    """A bar: its label (or ""), metre and signatures by staff, how long it is, and whether the file
    says that it is not whole."""

    label: str
    metre: tuple[int, int] | None
    signatures: Mapping[str, tuple[Signature, ...]]
    length: Fraction
    partial: bool


@dataclass(frozen=True)
class PrintedScore:
    """Everything that some staves of a score print, notes in reading order.

    `ties` are pairs of ids, `transpositions` (steps, semitones) by staff and bar index.
    """

    bars: Sequence[RawBar]
    notes: Sequence[Printed]
    ties: Sequence[tuple[str, str]]
    shifts: Sequence[Shift]
    transpositions: Mapping[tuple[str, int], tuple[int, int]]
    notices: Sequence[Notice]
