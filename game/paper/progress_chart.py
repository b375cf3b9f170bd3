# SPDX-License-Identifier: MIT
"""The grand staff of a progress page: a notehead on every line and space, the fuller the surer.

How well a place is known is said four times: by how full its head is, by how dark, by the figure
in its column, and in words in the list of places.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from game.engraving import Engraving
from game.engraving.chart import Head, key
from game.engraving.ghost import Colour
from game.engraving.marks import Painted
from game.levels import Prompt
from game.notation import Clef
from game.paper.columns import ColumnStaff, column_staff
from game.reader import Band, StaffPosition
from game.words.percents import percent

LOOKS: dict[Band, tuple[float, Colour]] = {
    Band.SHAKY: (0.25, (0x5A, 0x8C, 0xC2)),
    Band.GROWING: (0.5, (0x35, 0x72, 0xB5)),
    Band.GOOD: (0.75, (0x1F, 0x5F, 0xA8)),
    Band.SURE: (1.0, (0x12, 0x3B, 0x6B)),
}
"""How full a head is, and its ink, darker from band to band; all have 3:1 or more on the paper of
the screen and of a page, as WCAG 2.2 asks of graphics (1.4.11)."""
_DOT: Colour = (0x65, 0x5F, 0x54)


def known_staff(
    places: Sequence[StaffPosition], engrave: Callable[[Prompt], Engraving], paper: Colour
) -> ColumnStaff:
    """The grand staff of these places, a column each in their order; over each its per cent, with
    a question mark while it rests on few answers, or nothing where nothing was met."""
    heads = [
        (_look(Head(one.clef, one.position, 0.0, _DOT), one.band, few=one.few), _text(one))
        for one in places
    ]
    return column_staff(heads, engrave, paper)


def band_key(band: Band, paper: Colour, *, few: bool = False) -> tuple[Painted, ...]:
    """A head alone, to say what it means."""
    return key(_look(Head(Clef.TREBLE, 0, 0.0, _DOT), band, few=few), paper)


def _text(place: StaffPosition) -> str:
    if place.estimate is None:
        return ""
    return percent(place.estimate.certainty.mean) + ("?" if place.few else "")


def _look(head: Head, band: Band, *, few: bool) -> Head:
    if band is Band.UNREAD:
        return replace(head, dot=True)
    filled, ink = LOOKS[band]
    return replace(head, filled=filled, ink=ink, dashed=few)
