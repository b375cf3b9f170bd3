# SPDX-License-Identifier: MIT
"""The lines of a page, as they are drawn."""

from __future__ import annotations

from typing import NamedTuple

import pytest
from player import Player

from game.ui import theme
from game.ui.widgets import Canvas, Rect


class Line(NamedTuple):
    """A line of text as it is seen: cut where it is too long for its room."""

    words: str
    rect: Rect
    size: float
    anchor: str


def lines_of(person: Player, *, pictures: bool = False) -> list[Line]:
    """Every line of the page in view, in the order in which they are drawn; those of pictures on
    it, such as tiles, only if asked for."""
    found: list[Line] = []
    draw, window = Canvas.text, person.stage.window.canvas

    def text(canvas, words, at, **how):
        rect, size = draw(canvas, words, at, **how), how.get("size", 18)
        if words and (pictures or canvas.surface is window.surface):
            if (width := how.get("width")) is not None:
                words = theme.fitted(words, how.get("face", "text"), canvas.px(size), width)
            found.append(Line(words, rect, size, how.get("anchor", "topleft")))
        return rect

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Canvas, "text", text)
        person.screen.draw(window)
    return found


def words_of(person: Player, *, pictures: bool = False) -> list[str]:
    """What they say."""
    return [line.words for line in lines_of(person, pictures=pictures)]
