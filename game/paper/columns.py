# SPDX-License-Identifier: MIT
"""What stands over and under the heads of a chart: a figure and a name in each column.

A figure that would touch its neighbour stands a row further out; so "33?" beside "100?" can never
be read as one number. The name is the inner line of a row, the figure the outer one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import NamedTuple

from game.engraving.chart import Chart
from game.engraving.svg import Frame, svg_body

_SPACE = 12  # pixels of a staff space in the drawing; the page scales it
_TEXT, _LINE = 10, 13  # pixels
_ROW = 2 * _LINE
_CLEAR = 5  # pixels from the outermost head to the first name
_GAP = 0.55  # sizes between two neighbours


class Column(NamedTuple):
    """A column of a chart: its number, whose staff's it is, its figure, its note's name."""

    number: int
    upper: bool
    figure: str
    called: str


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
        placed = rows((labels[nth][1:] for nth in here), gap)
        for nth, row in zip(here, placed, strict=True):
            found[nth] = row
        deep[upper] = max(placed, default=0) + 1
    return tuple(found), deep


def chart_svg(
    chart: Chart, above: float, below: float, columns: Sequence[Column], about: str
) -> str:
    """The chart with its columns as an SVG element that takes its letters from the page around it.

    Args:
        chart: the staff and its heads.
        above, below: how far heads stand out of the staves, in spaces.
        columns: from left to right.
        about: what it shows, for whoever cannot see it.
    """
    labels = [(one.upper, chart.x(one.number) * _SPACE, _wide(one)) for one in columns]
    row_of, deep = both_rows(labels, _GAP * _TEXT)
    room = {upper: (count * _ROW + _CLEAR) / _SPACE for upper, count in deep.items()}
    frame = Frame(_SPACE, chart.right, above + room[True], below + room[False])
    width, height = frame.size
    texts = []
    for one, row in zip(columns, row_of, strict=True):
        x, _ = frame.to_px(chart.x(one.number), 0)
        if one.upper:
            figure = (deep[True] - row) * _ROW - _LINE - 1
            name = figure + _LINE
        else:
            name = height - (deep[False] - row) * _ROW + _LINE - 3
            figure = name + _LINE
        for y, said, kind in ((figure, one.figure, ""), (name, one.called, "quiet")):
            texts.append(
                f'<text x="{x:.1f}" y="{y}" text-anchor="middle" class="{kind}" '
                f'style="font-size:{_TEXT}px">{escape(said)}</text>'
            )
    return (
        f'<svg class="known" viewBox="0 0 {width} {height}" role="img" '
        f'aria-label="{escape(about)}">{svg_body(chart.items, frame)}{"".join(texts)}</svg>'
    )


def _wide(one: Column) -> float:
    """Pixels, in the widest of the usual fonts: which one a page gets is not known here."""
    return _TEXT * max(map(_ems, (one.figure, one.called)))


def _ems(text: str) -> float:
    """The digits of DejaVu Serif have 0.64 sizes, its letters hardly more in the mean."""
    return sum(0.54 if one == "?" else 0.64 if one < "\u2e80" else 1.0 for one in text)
