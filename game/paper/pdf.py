# SPDX-License-Identifier: MIT
"""Pages as PDF: music as outlines, text as text with its fonts inside.

The only user of ReportLab, which is imported at the first page. The same sheet gives the same
bytes: no time is written.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from game.engraving.drawing import FONT_UNITS, Outline, Rule
from game.engraving.ghost import Colour
from game.engraving.layout import STAFF_LINE
from game.engraving.marks import Painted
from game.engraving.svg import painted
from game.files.resources import font_path
from game.paper.faces import FONTS, Run, outlines, run_width, runs
from game.paper.page import POINT, Figure, Item, Line, Music, Sheet, Text

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.pdfgen.pathobject import PDFPathObject


def pdf(sheet: Sheet) -> bytes:
    """A PDF document of the sheet's pages.

    Raises:
        MissingResource: a font of the assets is not there.
    """
    from reportlab.pdfbase.pdfmetrics import getRegisteredFontNames, registerFont
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    for name in FONTS.values():
        if name not in getRegisteredFontNames():
            registerFont(TTFont(name, str(font_path(name))))
    file = io.BytesIO()
    canvas = Canvas(file, invariant=1, pageCompression=1, lang="en", initialFontName=FONTS["text"])
    canvas.setTitle(sheet.title)
    canvas.setAuthor("Stavewise")
    canvas.setCreator("Stavewise")
    for page in sheet.pages:
        canvas.setPageSize((page.paper.width / POINT, page.paper.height / POINT))
        painter = _Painter(canvas, page.paper.height)
        for item in page.items:
            painter.draw(item)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


class _Painter:
    """Stateful: draws on the canvas's page. PDF has its y upwards, from the bottom, in points."""

    def __init__(self, canvas: Canvas, height: float) -> None:
        self._canvas, self._height = canvas, height

    def draw(self, item: Item) -> None:
        if isinstance(item, Text):
            self._text(item)
        elif isinstance(item, Line):
            self._line(item)
        elif isinstance(item, Music):
            self._shapes(painted(item.engraving, (0, 0, 0)), item)
        else:
            self._shapes(item.items, item)

    def _at(self, x: float, y: float) -> tuple[float, float]:
        return x / POINT, (self._height - y) / POINT

    def _text(self, item: Text) -> None:
        self._canvas.setFillGray(item.grey)
        x, y = self._at(item.left, item.y)
        for run in runs(item.text, item.face):
            if run.outlined:
                self._outlined(run, x, y, item.size)
            else:
                self._canvas.setFont(FONTS[run.font], item.size)
                self._canvas.drawString(x, y, run.text)
            x += run_width(run) * item.size

    def _outlined(self, run: Run, x: float, y: float, size: float) -> None:
        for drawn in outlines(run):
            scale = size / drawn.em
            self._path(drawn.d, x, y, scale, scale)
            x += drawn.advance * scale

    def _line(self, item: Line) -> None:
        canvas = self._canvas
        canvas.setStrokeGray(item.grey)
        canvas.setLineWidth(item.thickness / POINT)
        canvas.setDash([length / POINT for length in item.dash])
        canvas.line(*self._at(item.x1, item.y1), *self._at(item.x2, item.y2))

    def _shapes(self, items: Iterable[Painted], at: Music | Figure) -> None:
        canvas, space = self._canvas, at.space / POINT
        canvas.setDash([])
        left, top = self._at(at.x, at.y)
        colour = None
        for one in items:
            shape = one.item
            if one.colour != colour:
                colour = one.colour
                self._ink(colour)
            if isinstance(shape, Rule):
                x1, y1, x2, y2 = rule_edges(shape)
                canvas.rect(
                    left + x1 * space,
                    top - y2 * space,
                    (x2 - x1) * space,
                    (y2 - y1) * space,
                    stroke=0,
                    fill=1,
                )
            elif isinstance(shape, Outline):
                scale = space / (FONT_UNITS if shape.font else 1)
                x, y = left + shape.x * space, top - shape.y * space
                up = scale if shape.font else -scale
                self._path(shape.d, x, y, scale, up, shape.stroke * space)

    def _ink(self, colour: Colour) -> None:
        """Black stays a grey, which a printer sets with its black ink alone."""
        if colour == (0, 0, 0):
            self._canvas.setFillGray(0)
            self._canvas.setStrokeGray(0)
        else:
            red, green, blue = (part / 255 for part in colour)
            self._canvas.setFillColorRGB(red, green, blue)
            self._canvas.setStrokeColorRGB(red, green, blue)

    def _path(
        self, d: str, x: float, y: float, across: float, up: float, stroke: float = 0.0
    ) -> None:
        """Path data with its origin at a place; a stroke of 0 fills it."""
        from fontTools.pens.transformPen import TransformPen

        canvas = self._canvas
        path = canvas.beginPath()
        _recorded(d).replay(TransformPen(_pen(path), (across, 0, 0, up, x, y)))
        if stroke:
            canvas.setLineWidth(stroke)
            canvas.setLineCap(1)
            canvas.setLineJoin(1)
        canvas.drawPath(path, stroke=int(stroke > 0), fill=int(stroke == 0), fillMode=1)
        if stroke:
            canvas.setLineCap(0)
            canvas.setLineJoin(0)


@lru_cache(maxsize=512)
def _recorded(d: str) -> Any:
    """Path data, read once for all the places where it is drawn."""
    from fontTools.pens.recordingPen import RecordingPen
    from fontTools.svgLib.path import parse_path

    pen = RecordingPen()
    parse_path(d, pen)
    return pen


def _pen(path: PDFPathObject) -> Any:
    """A pen of fontTools that draws on a path of ReportLab."""
    from fontTools.pens.reportLabPen import ReportLabPen

    path.closePath = path.close  # as its other paths call it
    return ReportLabPen(None, path)


def rule_edges(rule: Rule) -> tuple[float, float, float, float]:
    """The corners of a level or upright line, in staff spaces."""
    pen = rule.width / 2
    if rule.y1 == rule.y2:
        return rule.x1, rule.y1 - pen, rule.x2, rule.y1 + pen
    over = STAFF_LINE / 2 if rule.role == "barline" else 0.0  # over the outer lines of the staves
    return rule.x1 - pen, rule.y1 - over, rule.x1 + pen, rule.y2 + over
