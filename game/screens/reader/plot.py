# SPDX-License-Identifier: MIT
"""A small plot on the canvas: the same places as in the printed report, in the theme's colours."""

from __future__ import annotations

import pygame

from game.paper.plot import Plot, placed
from game.ui import theme
from game.ui.widgets import Canvas, Rect

_BAND = (0xD5, 0xDF, 0xE8)  # the interval: ACCENT thinned with PAPER
_SMALL = 15


def draw_plot(canvas: Canvas, rect: Rect, plot: Plot) -> None:
    """Draw a plot in a rectangle: title, what the axis counts, the points, labels below."""
    px = canvas.px
    canvas.text(plot.title, rect.topleft, size=18, face="strong", width=rect.width)
    canvas.text(
        plot.up, (rect.x, rect.y + px(23)), size=_SMALL, colour=theme.MUTED, width=rect.width
    )
    if not plot.points:
        canvas.paragraph(
            plot.empty, (rect.x, rect.y + px(64)), rect.width, size=16, colour=theme.MUTED
        )
        return
    left, top = rect.x + px(46), rect.y + px(56)
    width, height = rect.right - left - px(6), rect.bottom - px(26) - top
    parts = placed(plot, left, top, width, height)
    for y, words in parts.rules:
        canvas.rule(left, round(y), width)
        canvas.text(
            words, (left - px(8), round(y)), size=_SMALL, colour=theme.MUTED, anchor="midright"
        )
    surface, pen = canvas.surface, max(1, px(2))
    if parts.band:
        pygame.draw.polygon(surface, _BAND, parts.band)
    if parts.line is not None:
        _dashes(canvas, left, round(parts.line), width)
    if parts.path:
        pygame.draw.lines(surface, theme.ACCENT, False, parts.path, pen)
    for spot in parts.dots:
        pygame.draw.circle(surface, theme.ACCENT, spot, max(2, px(3.5)))
    for x, words in parts.labels:
        half = theme.text_width(words, "text", px(_SMALL)) // 2
        middle = min(max(round(x), rect.x + half), rect.right - half)
        canvas.text(
            words, (middle, rect.bottom), size=_SMALL, colour=theme.MUTED, anchor="midbottom"
        )


def _dashes(canvas: Canvas, left: int, y: int, width: int) -> None:
    dash, pen = canvas.px(6), max(1, canvas.px(1.5))
    for x in range(left, left + width, 2 * dash):
        canvas.surface.fill(theme.WRONG, Rect(x, y, min(dash, left + width - x), pen))
