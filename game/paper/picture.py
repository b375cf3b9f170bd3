# SPDX-License-Identifier: MIT
"""A page as SVG, with its letters as outlines, and as PNG."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from html import escape

from game.engraving.drawing import FONT_UNITS, Outline, Rule
from game.engraving.marks import Painted
from game.engraving.svg import painted
from game.paper.faces import outlines, runs
from game.paper.page import POINT, Figure, Item, Line, Music, Page, Text
from game.paper.pdf import rule_edges

_DPI = 150


def svg(page: Page, title: str) -> str:
    """A self-contained SVG document as large as the paper, in millimetres."""
    paper = page.paper
    return _document(page, title, f"{paper.width:g}mm", f"{paper.height:g}mm")


def png(page: Page) -> bytes:
    """The page at 150 dots to the inch, on white."""
    import pygame  # here: commands without a picture must start without it

    width, height = (
        round(length * _DPI / 25.4) for length in (page.paper.width, page.paper.height)
    )
    text = _document(page, "", str(width), str(height))
    drawn = pygame.image.load(io.BytesIO(text.encode()), "page.svg")
    surface = pygame.Surface(drawn.get_size())
    surface.fill((255, 255, 255))
    surface.blit(drawn, (0, 0))
    file = io.BytesIO()
    pygame.image.save(surface, file, "page.png")
    return file.getvalue()


def _document(page: Page, title: str, width: str, height: str) -> str:
    paper = page.paper
    elements = [element for item in page.items for element in _drawn(item)]
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
            f'viewBox="0 0 {paper.width:g} {paper.height:g}">',
            f"<title>{escape(title)}</title>",
            f'<rect width="{paper.width:g}" height="{paper.height:g}" fill="#ffffff"/>',
            *elements,
            "</svg>\n",
        )
    )


def _drawn(item: Item) -> Iterator[str]:
    if isinstance(item, Text):
        yield from _letters(item)
    elif isinstance(item, Line):
        dash = f' stroke-dasharray="{" ".join(map(_n, item.dash))}"' if item.dash else ""
        yield (
            f'<path d="M{_n(item.x1)} {_n(item.y1)}L{_n(item.x2)} {_n(item.y2)}" fill="none" '
            f'stroke="{_grey(item.grey)}" stroke-width="{_n(item.thickness)}"{dash}/>'
        )
    elif isinstance(item, Music):
        yield from _shapes(painted(item.engraving, (0, 0, 0)), item)
    else:
        yield from _shapes(item.items, item)


def _letters(item: Text) -> Iterator[str]:
    x, em = item.left, item.size * POINT
    for run in runs(item.text, item.face):
        for drawn in outlines(run):
            scale = em / drawn.em
            if drawn.d:
                yield _path(drawn.d, x, item.y, scale, -scale, f'fill="{_grey(item.grey)}"')
            x += drawn.advance * scale


def _shapes(items: Iterable[Painted], item: Music | Figure) -> Iterator[str]:
    space = item.space
    for one in items:
        shape, ink = one.item, "#{:02x}{:02x}{:02x}".format(*one.colour)
        if isinstance(shape, Rule):
            x1, y1, x2, y2 = (edge * space for edge in rule_edges(shape))
            yield (
                f'<rect x="{_n(item.x + x1)}" y="{_n(item.y + y1)}" '
                f'width="{_n(x2 - x1)}" height="{_n(y2 - y1)}" fill="{ink}"/>'
            )
        elif isinstance(shape, Outline):
            units = FONT_UNITS if shape.font else 1
            scale = space / units
            pen = f'fill="{ink}"'
            if shape.stroke:
                pen = (
                    f'fill="none" stroke="{ink}" stroke-width="{_n(shape.stroke * units)}" '
                    'stroke-linecap="round" stroke-linejoin="round"'
                )
            x, y = item.x + shape.x * space, item.y + shape.y * space
            yield _path(shape.d, x, y, scale, -scale if shape.font else scale, pen)


def _path(d: str, x: float, y: float, across: float, down: float, pen: str) -> str:
    place = f"matrix({across:.6g} 0 0 {down:.6g} {_n(x)} {_n(y)})"
    return f'<path transform="{place}" {pen} d="{d}"/>'


def _grey(grey: float) -> str:
    return "#" + f"{round(255 * grey):02x}" * 3


def _n(length: float) -> str:
    return f"{length:.3f}".rstrip("0").rstrip(".")
