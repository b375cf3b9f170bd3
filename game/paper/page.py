# SPDX-License-Identifier: MIT
"""Pages as values: what is printed, and where, in millimetres from the top left corner.

x grows to the right and y downwards. A report is laid out as pages of these five things; the
painters (pdf.py, picture.py) draw any page and know nothing of what it reports.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from game.engraving import Engraving
from game.engraving.marks import Painted
from game.engraving.svg import painted
from game.paper.faces import Face, ascent, descent, fitted, width

Box = tuple[float, float, float, float]
"""Left, top, right and bottom."""
POINT = 25.4 / 72
"""Millimetres in a point."""
BLACK, GREY = 0.0, 0.38  # the grey has 6:1 on white, above WCAG 2.2 AA's 4.5:1
LEAST = 0.6
"""Of its usual size, so small is a line that is too long made before it is cut."""
Align = Literal["left", "middle", "right"]


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, upright, in millimetres."""

    name: str
    width: float
    height: float


# ISO 216 (A4); ANSI/ASME Y14.1, size A (Letter, 8.5 by 11 inches).
PAPERS = {"A4": Paper("A4", 210.0, 297.0), "Letter": Paper("Letter", 215.9, 279.4)}


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text.

    Args:
        text: in any script; see faces.py for what no font here has.
        x, y: the baseline's left end, middle or right end, as `align` says.
        size: in points.
        face: which of the faces.
        align: what `x` is.
        grey: 0 is black, 1 white.
    """

    text: str
    x: float
    y: float
    size: float = 10.0
    face: Face = "text"
    align: Align = "left"
    grey: float = BLACK

    @property
    def left(self) -> float:
        """The left end."""
        long = width(self.text, self.face) * self.size * POINT
        return self.x - {"left": 0.0, "middle": long / 2, "right": long}[self.align]

    @property
    def box(self) -> Box:
        """From the highest to the lowest that its letters reach."""
        em = self.size * POINT
        long = width(self.text, self.face) * em
        return self.left, self.y - ascent(self.text) * em, self.left + long, self.y + descent() * em


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line of a thickness in millimetres; `dash` are lengths drawn and left out."""

    x1: float
    y1: float
    x2: float
    y2: float
    thickness: float = 0.2
    grey: float = BLACK
    dash: tuple[float, ...] = ()

    @property
    def box(self) -> Box:
        """With its thickness."""
        pen = self.thickness / 2
        xs, ys = sorted((self.x1, self.x2)), sorted((self.y1, self.y2))
        return xs[0] - pen, ys[0] - pen, xs[1] + pen, ys[1] + pen


@dataclass(frozen=True, slots=True)
class Music:
    """An engraved prompt.

    Args:
        engraving: what is printed.
        x, y: where the top line of the upper staff begins.
        space: of the staff: the distance of two lines.
    """

    engraving: Engraving
    x: float
    y: float
    space: float

    @property
    def box(self) -> Box:
        """Of all that is printed."""
        left, top, right, bottom = (edge * self.space for edge in ink_box(self.engraving))
        return self.x + left, self.y + top, self.x + right, self.y + bottom


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing in colours, such as a chart on a staff; its labels are left out.

    Args:
        items: what is drawn, in order.
        x, y: where its origin stands.
        space: of the staff.
    """

    items: tuple[Painted, ...]
    x: float
    y: float
    space: float

    @property
    def box(self) -> Box:
        """Of all that is drawn."""
        left, top, right, bottom = (edge * self.space for edge in _box_of(self.items))
        return self.x + left, self.y + top, self.x + right, self.y + bottom


Item = Text | Line | Music | Figure


@dataclass(frozen=True)
class Page:
    """One page and what stands on it, in drawing order."""

    paper: Paper
    items: tuple[Item, ...]


@dataclass(frozen=True)
class Sheet:
    """Pages that belong together; the title is what a window or a shelf calls them."""

    title: str
    pages: tuple[Page, ...]


def shrunk(text: str, face: Face, size: float, room: float) -> tuple[str, float]:
    """A line that fits: made smaller, down to :data:`LEAST`, and only then cut with an ellipsis.

    Args:
        text, face: what is set.
        size: as large as it may be, in points.
        room: for its length, mm.

    Returns:
        The text, and its size in points.
    """
    size = max(LEAST * size, min(size, room / max(1e-6, width(text, face) * POINT)))
    return fitted(text, face, room / (size * POINT) + 1e-6), size


def ink_box(engraving: Engraving) -> Box:
    """Of all that an engraving prints, in its staff spaces; notes that are hidden do not count."""
    return _box_of(painted(engraving, (0, 0, 0)))


def _box_of(items: Iterable[Painted]) -> Box:
    boxes = [one.item.box for one in items]
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)
