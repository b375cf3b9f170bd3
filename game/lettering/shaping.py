# SPDX-License-Identifier: MIT
"""Letters joined and stacked by HarfBuzz: as an outline for a page, as pixels for a screen."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from game.lettering.fonts import opened_font
from game.lettering.pieces import TextRun


class Drawn(NamedTuple):
    """A piece as SVG path data from its origin on the baseline, y upwards; and its advance.

    Both in units of which `em` make a size.
    """

    d: str
    advance: float
    em: int


class PaintedRun(NamedTuple):
    """A piece in pixels.

    Args:
        cover: how far each pixel is covered, 0 to 255, an array of (height, width), top row first.
        left: of the first column, from the piece's origin.
        top: how far the first row is above the baseline.
        advance: to the origin of what follows.
    """

    cover: NDArray[np.uint8]
    left: int
    top: int
    advance: float


class _Placed(NamedTuple):
    glyph: int
    x: float
    y: float


@lru_cache(maxsize=256)
def drawn(piece: TextRun) -> Drawn:
    """The outline of a piece.

    Raises:
        ValueError: it has no font of the computer's.
    """
    from fontTools.pens.svgPathPen import SVGPathPen
    from fontTools.pens.transformPen import TransformPen

    font, placed, advance = _shaped(piece)
    pen = SVGPathPen(None)
    for glyph, x, y in placed:
        font.draw_glyph_with_pen(glyph, TransformPen(pen, (1, 0, 0, 1, x, y)))
    return Drawn(pen.getCommands(), advance, font.face.upem)


@lru_cache(maxsize=128)
def painted(piece: TextRun, size: float) -> PaintedRun:
    """The pixels of a piece.

    Args:
        piece: one with a font of the computer's.
        size: of the em, pixels.

    Raises:
        ValueError: it has no font of the computer's.
    """
    import uharfbuzz

    font, placed, advance = _shaped(piece)
    scale = size / font.face.upem
    canvas = uharfbuzz.RasterDraw()
    for glyph, x, y in placed:
        canvas.transform = (scale, 0, 0, scale, x * scale, y * scale)
        canvas.draw_glyph(font, glyph)
    image = canvas.render()
    if image is None or not image.buffer:
        return PaintedRun(np.zeros((0, 0), np.uint8), 0, 0, advance * scale)
    of = image.extents
    rows = np.frombuffer(image.buffer, np.uint8).reshape(of.height, of.stride)
    cover = np.ascontiguousarray(rows[::-1, : of.width])
    return PaintedRun(cover, of.x_origin, of.y_origin + of.height, advance * scale)


def _shaped(piece: TextRun) -> tuple[Any, list[_Placed], float]:
    """The font, its glyphs from left to right with their places, and the advance, in its units."""
    import uharfbuzz

    font = opened_font(piece.font) if piece.font else None
    if font is None:
        raise ValueError(f"{piece.text!r} has no font of this computer's.")
    buffer = uharfbuzz.Buffer()
    buffer.add_str(piece.text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if piece.leftward else "ltr"
    uharfbuzz.shape(font, buffer)
    placed = list(_places(buffer))
    return font, placed, float(sum(one.x_advance for one in buffer.glyph_positions))


def _places(buffer: Any) -> Iterator[_Placed]:
    x = 0
    for glyph, at in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        yield _Placed(glyph.codepoint, x + at.x_offset, at.y_offset)
        x += at.x_advance
