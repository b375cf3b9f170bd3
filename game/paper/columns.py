# SPDX-License-Identifier: MIT
"""A grand staff with a head for every line and space, and what stands over and under the heads:
a figure and a name in each column.

A figure that would touch its neighbour stands a row further out; so "33?" beside "100?" can never
be read as one number. The name is the inner line of a row, the figure the outer one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from html import escape

from game.engraving import Engraving
from game.engraving.chart import Chart, Head, chart
from game.engraving.ghost import Colour
from game.engraving.svg import Frame, svg_body
from game.levels import Prompt
from game.notation import NoteNames
from game.paper.html import SPACE
from game.paper.progress_words import place_name

_TEXT, _LINE = 10, 13  # pixels
_ROW = 2 * _LINE
_CLEAR = 5  # pixels from the outermost head to the first name
_GAP = 0.55  # sizes between two neighbours


INK: Colour = (0x1B, 0x1A, 0x17)


@dataclass(frozen=True, slots=True)
class Column:
    """A head, the figure in its column (empty where there is none), the column's middle in staff
    spaces, and whether it is the upper staff's."""

    head: Head
    figure: str
    x: float
    upper: bool

    def called(self, names: NoteNames) -> str:
        """Its natural note."""
        return place_name(self.head.clef, self.head.position, names)


@dataclass(frozen=True)
class ColumnStaff:
    """The staff and its columns."""

    chart: Chart
    columns: tuple[Column, ...]


def column_staff(
    heads: Sequence[tuple[Head, str]], engrave: Callable[[Prompt], Engraving], paper: Colour
) -> ColumnStaff:
    """The grand staff of these heads with their figures; `engrave` draws it empty."""
    drawn = chart(engrave, [head for head, _ in heads], INK, paper)
    return ColumnStaff(
        drawn,
        tuple(Column(*head, *at) for head, at in zip(heads, drawn.columns, strict=True)),
    )


def rows(labels: Iterable[tuple[float, float]], gap: float) -> tuple[int, ...]:
    """In which row each label stands, 0 the innermost, so that no two touch.

    Args:
        labels: middle and width of each, from left to right.
        gap: the least distance of neighbours in a row.
    """
    ends, found = list[float](), []
    for middle, width in labels:
        left = middle - width / 2
        row = next((n for n, end in enumerate(ends) if end + gap <= left), len(ends))
        ends[row:] = [left + width, *ends[row + 1 :]]
        found.append(row)
    return tuple(found)


def both_rows(
    labels: Sequence[tuple[bool, float, float]], gap: float
) -> tuple[tuple[int, ...], dict[bool, int]]:
    """The same for the labels over the upper staff (True) and under the lower one.

    Returns:
        The row of each, and how many rows there are over and under (1 at least).
    """
    found, deep = [0] * len(labels), dict[bool, int]()
    for upper in (True, False):
        here = [nth for nth, label in enumerate(labels) if label[0] is upper]
        here.sort(key=lambda nth: labels[nth][1])
        placed = rows((labels[nth][1:] for nth in here), gap)
        for nth, row in zip(here, placed, strict=True):
            found[nth] = row
        deep[upper] = max(placed, default=0) + 1
    return tuple(found), deep


def chart_svg(staff: ColumnStaff, names: NoteNames, about: str) -> str:
    """The staff with its columns as an SVG element that takes its letters from the page around it;
    `about` is what it shows, for whoever cannot see it."""
    chart = staff.chart
    called = [one.called(names) for one in staff.columns]
    # The widest of the usual fonts counts: which one a page gets is not known here.
    labels = [
        (one.upper, one.x * SPACE, _TEXT * max(_ems(one.figure), _ems(name)))
        for one, name in zip(staff.columns, called, strict=True)
    ]
    row_of, deep = both_rows(labels, _GAP * _TEXT)
    room = {upper: (count * _ROW + _CLEAR) / SPACE for upper, count in deep.items()}
    frame = Frame(SPACE, chart.right, chart.above + room[True], chart.below + room[False])
    width, height = frame.size
    texts = []
    for one, name, row in zip(staff.columns, called, row_of, strict=True):
        x, _ = frame.to_px(one.x, 0)
        if one.upper:
            over = (deep[True] - row) * _ROW - _LINE - 1
            under = over + _LINE
        else:
            under = height - (deep[False] - row) * _ROW + _LINE - 3
            over = under + _LINE
        for y, said, kind in ((over, one.figure, ""), (under, name, "quiet")):
            texts.append(
                f'<text x="{x:.1f}" y="{y}" text-anchor="middle" class="{kind}" '
                f'style="font-size:{_TEXT}px">{escape(said)}</text>'
            )
    return (
        f'<svg class="known" viewBox="0 0 {width} {height}" role="img" '
        f'aria-label="{escape(about)}">{svg_body(chart.items, frame)}{"".join(texts)}</svg>'
    )


def _ems(text: str) -> float:
    """The digits of DejaVu Serif have 0.64 sizes, its letters hardly more in the mean."""
    return sum(0.54 if one == "?" else 0.64 if one < "\u2e80" else 1.0 for one in text)
