# SPDX-License-Identifier: MIT
"""Text and tables set one under the other, from page to page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from game.paper.faces import Face, wrapped
from game.paper.page import BLACK, GREY, POINT, Item, Line, Paper, Text, shrunk
from game.paper.worksheet import MARGIN, across, bottom

Align = Literal["left", "right"]
_LEADING = 1.35  # sizes from one line to the next
_HEAD = 13.0  # points
_BODY = 10.0


class Flow:
    """Stateful: a place on a page, which moves down and on to the next page.

    All lengths are in mm, sizes of letters in points.
    """

    def __init__(self, paper: Paper) -> None:
        self.paper = paper
        self.pages: list[list[Item]] = [[]]
        self.y = MARGIN

    @property
    def width(self) -> float:
        """Between the margins."""
        return across(self.paper)

    def need(self, height: float) -> bool:
        """Go on to the next page unless so much is left on this one; whether that was done."""
        if self.y + height <= bottom(self.paper) or not self.pages[-1]:
            return False
        self.pages.append([])
        self.y = MARGIN
        return True

    def add(self, *items: Item) -> None:
        """Put items on the page where they say."""
        self.pages[-1] += items

    def gap(self, height: float) -> None:
        """Leave so much free, but for the top of a page."""
        if self.pages[-1]:
            self.y += height

    def heading(self, text: str, keep: float = 20.0) -> None:
        """A heading that has at least `keep` under it on its page."""
        self.gap(5.0)
        self.need(_HEAD * POINT * _LEADING + keep)
        self.line(text, _HEAD, "title")
        self.gap(1.0)

    def line(
        self, text: str, size: float = _BODY, face: Face = "text", grey: float = BLACK
    ) -> None:
        """A line, smaller where it is too long."""
        self.need(size * POINT * _LEADING)
        self.y += size * POINT * _LEADING
        text, smaller = shrunk(text, face, size, self.width)
        self.add(Text(text, MARGIN, self.y, smaller, face, grey=grey))

    def paragraph(
        self, text: str, size: float = _BODY, face: Face = "text", grey: float = BLACK
    ) -> None:
        """Lines broken between words."""
        for line in wrapped(text, face, self.width / (size * POINT)):
            self.line(line, size, face, grey)
        self.gap(0.8)

    def table(
        self,
        rows: Sequence[Sequence[str]],
        widths: Sequence[float],
        *,
        head: Sequence[str] = (),
        right: Sequence[int] = (),
        size: float = _BODY,
    ) -> None:
        """Rows of cells that fit their columns, a hairline under each; the head on every page.

        Args:
            rows: of as many cells as there are widths.
            widths: of the columns.
            head: over them.
            right: numbers of the columns that end in line.
            size: of the letters.
        """
        step = size * POINT * 1.75
        if head:
            self.need(3 * step)
            self._row(head, widths, right, size, step, GREY)
        for row in rows:
            if self.need(step) and head:
                self._row(head, widths, right, size, step, GREY)
            self._row(row, widths, right, size, step, BLACK)
        self.gap(1.5)

    def _row(
        self,
        cells: Sequence[str],
        widths: Sequence[float],
        right: Sequence[int],
        size: float,
        step: float,
        grey: float,
    ) -> None:
        self.y += step
        x, baseline = MARGIN, self.y - 0.5 * size * POINT
        for number, (cell, wide) in enumerate(zip(cells, widths, strict=True)):
            text, smaller = shrunk(cell, "text", size, wide - 2.5)
            ends = x + wide - 4.0 if number in right else x
            align: Align = "right" if number in right else "left"
            self.add(Text(text, ends, baseline, smaller, align=align, grey=grey))
            x += wide
        self.add(Line(MARGIN, self.y, MARGIN + sum(widths), self.y, 0.1, 0.75))


def block(
    text: str,
    x: float,
    y: float,
    room: float,
    size: float,
    face: Face = "text",
    most: int = 3,
    grey: float = BLACK,
) -> tuple[tuple[Text, ...], float]:
    """A text in at most so many lines from a first baseline on, and the baseline after them."""
    lines = wrapped(text, face, room / (size * POINT))
    if len(lines) > most:
        lines = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    made = []
    for line in lines:
        line, smaller = shrunk(line, face, size, room)
        made.append(Text(line, x, y, smaller, face, grey=grey))
        y += size * POINT * _LEADING
    return tuple(made), y


def centred(
    text: str,
    x: float,
    y: float,
    room: float,
    size: float,
    face: Face = "text",
    grey: float = BLACK,
) -> Text:
    """A line around x, smaller where it is too long."""
    text, size = shrunk(text, face, size, room)
    return Text(text, x, y, size, face, "middle", grey)
