# SPDX-License-Identifier: MIT
"""The grand staff of a heat: a notehead on every line and space that was read, the fuller the
more often it was missed.

How often is said three times: by how full and dark a head is, by the figure in its column, and in
words in the list of signs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from game.engraving import Engraving
from game.engraving.chart import Head, key
from game.engraving.ghost import Colour
from game.engraving.marks import Painted
from game.levels import Prompt
from game.notation import Clef
from game.paper.columns import INK, ColumnStaff, column_staff
from game.words.percents import percent

PAPER: Colour = (0xFF, 0xFF, 0xFF)
FEW = 5
"""With fewer answers a figure is a first impression, and its head is dashed."""


class Look(NamedTuple):
    """From this share of misses on a head is so full, and of this ink."""

    least: float
    filled: float
    ink: Colour
    words: str


LOOKS = (
    Look(0.5, 1.0, (0x7A, 0x2E, 0x00), "half of the time or more"),
    Look(0.25, 0.75, (0xA6, 0x45, 0x04), "a quarter or more"),
    Look(0.1, 0.5, (0xC2, 0x66, 0x1F), "a tenth or more"),
    Look(0.0, 0.25, (0xC2, 0x66, 0x1F), "less"),
)
"""Ours, by judgement; each ink has 3:1 or more on white (WCAG 2.2, 1.4.11)."""
FIGURES = (
    "The fuller and darker a note, the more often it was missed; the figure is the per cent, with "
    "a question mark while it rests on few answers."
)


def legend() -> Iterator[tuple[tuple[Painted, ...], str]]:
    """What a head means: it alone, around the origin, and words."""
    for look in LOOKS:
        yield key(Head(Clef.TREBLE, 0, look.filled, look.ink), PAPER), look.words
    yield key(Head(Clef.TREBLE, 0, 0.0, INK), PAPER), "never"
    dashed = Head(Clef.TREBLE, 0, LOOKS[2].filled, LOOKS[2].ink, dashed=True)
    yield key(dashed, PAPER), f"fewer than {FEW} answers"


def missed_staff(
    places: Mapping[tuple[Clef, int], tuple[int, int]], engrave: Callable[[Prompt], Engraving]
) -> ColumnStaff:
    """The grand staff of the lines and spaces that were read; over each how much of a hundred was
    missed, with a question mark while it rests on few answers.

    Args:
        places: clef and staff position -> how often it was missed, and how often asked for; at
            least one.
        engrave: draws the empty staff.
    """
    heads = [
        (
            _head(clef, position, missed, asked),
            percent(missed / asked) + ("?" if asked < FEW else ""),
        )
        for (clef, position), (missed, asked) in sorted(places.items(), key=lambda one: one[0][1])
    ]
    return column_staff(heads, engrave, PAPER)


def _head(clef: Clef, position: int, missed: int, asked: int) -> Head:
    if not missed:
        return Head(clef, position, 0.0, INK)
    look = next(look for look in LOOKS if missed / asked >= look.least)
    return Head(clef, position, look.filled, look.ink, asked < FEW)
