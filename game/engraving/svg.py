# SPDX-License-Identifier: MIT
"""Drawings as SVG text, with staff lines on whole pixels."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor

from game.engraving.drawing import FONT_UNITS, GRAND_HEIGHT, Engraving, Rule
from game.engraving.ghost import Colour, Ghost
from game.engraving.layout import STAFF_LINE
from game.engraving.marks import Mark, Painted, feedback

ABOVE = BELOW = 9.5  # staff spaces outside the staves: seven ledger lines and a sharp
_LEFT, _RIGHT = 2.0, 2.0  # room for the brace; for a ghost near the end of the bar
INK: Colour = (0x1B, 0x1A, 0x17)


@dataclass(frozen=True, slots=True)
class Frame:
    """The way from staff spaces to pixels, and the size of the picture.

    Args:
        space_px: height of a staff space, whole pixels, 3 or more.
        right: where the staff ends, in staff spaces.
        above, below: room above the upper and below the lower staff, in staff spaces.
    """

    space_px: int
    right: float
    above: float = ABOVE
    below: float = BELOW

    def __post_init__(self) -> None:
        if self.space_px < 3:
            raise ValueError(f"a staff space of {self.space_px} px cannot be drawn; 3 is the least")

    @property
    def line_px(self) -> int:
        """Thickness of a staff line in pixels."""
        return self.thickness(STAFF_LINE)

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the picture in pixels."""
        x, y = self._origin
        right = ceil((self.right + _RIGHT) * self.space_px)
        return x + right, y + GRAND_HEIGHT * self.space_px + ceil(self.below * self.space_px)

    @property
    def middle(self) -> int:
        """The row of pixels halfway between the two staves."""
        return self._origin[1] + GRAND_HEIGHT * self.space_px // 2

    @property
    def offset(self) -> tuple[float, float]:
        """Where the origin of the drawing lies, in pixels; the scale is :attr:`space_px`."""
        x, y = self._origin
        return float(x), y + self.line_px / 2

    @property
    def _origin(self) -> tuple[int, int]:
        """The first pixel of the top line of the upper staff."""
        return ceil(_LEFT * self.space_px), ceil(self.above * self.space_px)

    def thickness(self, width: float) -> int:
        """A line's thickness in whole pixels."""
        return max(1, floor(width * self.space_px + 0.5))

    def to_px(self, x: float, y: float) -> tuple[float, float]:
        """A place of the drawing in pixels."""
        left, top = self.offset
        return left + x * self.space_px, top + y * self.space_px


def painted(
    engraving: Engraving, ink: Colour, marks: Sequence[Mark] = (), ghosts: Sequence[Ghost] = ()
) -> tuple[Painted, ...]:
    """The whole drawing, in drawing order, with its marks and ghosts on top."""
    printed = tuple(
        Painted(shape, ink)
        for shape in engraving.shapes
        if not shape.owners or not engraving.hidden.issuperset(shape.owners)
    )
    return printed + feedback(engraving, marks, ghosts)


def svg_body(items: Iterable[Painted], frame: Frame) -> str:
    """SVG elements of a drawing, in pixels of the frame: paths, whole-pixel rectangles, text.

    No ``<use>``, no styles, no nested documents: a plain rasteriser reads it.
    """
    return "\n".join(_element(item, frame) for item in items)


def svg_document(items: Iterable[Painted], frame: Frame) -> str:
    """A self-contained SVG document of a drawing."""
    width, height = frame.size
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}">\n{svg_body(items, frame)}\n</svg>\n'
    )


def svg_file(
    engraving: Engraving,
    space_px: int = 40,
    *,
    ink: Colour = INK,
    marks: Sequence[Mark] = (),
    ghosts: Sequence[Ghost] = (),
    above: float = ABOVE,
    below: float = BELOW,
) -> str:
    """A prompt as an SVG document to be saved; arguments as for :func:`render`."""
    frame = Frame(space_px, engraving.right, above, below)
    return svg_document(painted(engraving, ink, marks, ghosts), frame)


def _element(one: Painted, frame: Frame) -> str:
    item = one.item
    fill = "#{:02x}{:02x}{:02x}".format(*one.colour)
    if isinstance(item, Rule):
        x, y, width, height = _pixels(item, frame)
        return f'<rect x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}" fill="{fill}"/>'
    x, y = frame.to_px(item.x, item.y)
    scale = frame.space_px / (FONT_UNITS if item.font else 1)
    pen = f'fill="{fill}"'
    if item.stroke:
        width = item.stroke * (FONT_UNITS if item.font else 1)
        pen = (
            f'fill="none" stroke="{fill}" stroke-width="{width:g}" '
            'stroke-linecap="round" stroke-linejoin="round"'
        )
    if one.opacity < 1:
        pen += f' opacity="{one.opacity:g}"'
    up = -scale if item.font else scale
    return f'<path transform="matrix({scale:g} 0 0 {up:g} {x:g} {y:g})" {pen} d="{item.d}"/>'


def _pixels(rule: Rule, frame: Frame) -> tuple[float, float, float, float]:
    """A level or upright line as x, y, width and height; its thickness on whole pixels."""
    x1, y1 = frame.to_px(rule.x1, rule.y1)
    x2, y2 = frame.to_px(rule.x2, rule.y2)
    thick = frame.thickness(rule.width)
    if rule.y1 == rule.y2:
        left, right = floor(x1 + 0.5), floor(x2 + 0.5)
        return left, floor(y1 - thick / 2 + 0.5), right - left, thick
    if rule.role == "barline":  # to the outer edges of the outer staff lines
        y1, y2 = y1 - frame.line_px / 2, y2 + frame.line_px / 2
    return floor(x1 - thick / 2 + 0.5), y1, thick, y2 - y1
