# SPDX-License-Identifier: MIT
"""The look: colours, type and spacing. Everything that a screen draws with comes from here."""

from __future__ import annotations

from functools import lru_cache, partial
from math import ceil

import pygame

from game.files.resources import MissingResource, font_path
from game.lettering import PaintedRun, TextRun, has, painted, pieces, shortened

Colour = tuple[int, int, int]

PAPER: Colour = (0xF6, 0xF1, 0xE7)
CARD: Colour = (0xFC, 0xF9, 0xF2)
INK: Colour = (0x1B, 0x1A, 0x17)
MUTED: Colour = (0x65, 0x5F, 0x54)  # 5.6:1 on PAPER, above WCAG 2.2 AA's 4.5:1
RULE: Colour = (0xD3, 0xC9, 0xB6)
ACCENT: Colour = (0x1F, 0x5F, 0xA8)  # 5.8:1 on PAPER; also the colour of a right note
ACCENT_WASH: Colour = (0xE3, 0xE9, 0xEE)
WRONG: Colour = (0xA6, 0x45, 0x04)  # 5.9:1 on PAPER
RIGHT = ACCENT

_FACES = {
    "text": "SourceSansPro-Regular",
    "strong": "SourceSansPro-Semibold",
    "title": "SourceSerifPro-Semibold",
    "serif": "SourceSerifPro-Regular",
    "symbols": "StavewiseSymbols-Regular",
}
missing_fonts: list[str] = []
"""Messages about fonts that could not be read; the start screen shows them."""


class Metrics:
    """Sizes for one window: everything grows with the smaller of its sides.

    Args:
        width: of the window, pixels.
        height: likewise.
    """

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self.unit = max(0.72, min(width / 1280, height / 720))

    def px(self, size: float) -> int:
        """Pixels for a size given for a window of 1280x720."""
        return max(1, round(size * self.unit))


@lru_cache(maxsize=64)
def _font(face: str, size: int) -> pygame.font.Font:
    try:
        return pygame.font.Font(str(font_path(_FACES[face])), size)
    except (MissingResource, OSError, pygame.error) as error:
        if str(error) not in missing_fonts:
            missing_fonts.append(str(error))
        return pygame.font.Font(None, size)


_SYMBOLS = frozenset("♯♭♮𝄪𝄫♩\ue1e7✗▏ハニホヘトイロ嬰変重")
"""Characters that the symbol font has and the text fonts have not."""


def says(text: str) -> bool:
    """Whether all letters of a text can be drawn, with the fonts of the assets or the computer."""
    return all(
        piece.font or all(_ours("text", one) or not one.isprintable() for one in piece.text)
        for piece in _pieces(text, "text")
    )


@lru_cache(maxsize=2048)
def _ours(face: str, character: str) -> bool:
    try:
        font = font_path(_FACES[face])
    except MissingResource:  # another is used in its place, which has what it has
        return True
    return character in _SYMBOLS or has(font, character)


@lru_cache(maxsize=512)
def _pieces(text: str, face: str) -> list[TextRun]:
    return [TextRun(text)] if text.isascii() else pieces(text, partial(_ours, face))


def _runs(text: str, face: str) -> list[tuple[str, str]]:
    """Split text into runs of one font: signs and Japanese names come from the symbol font."""
    runs: list[tuple[str, str]] = []
    for character in text:
        use = "symbols" if character in _SYMBOLS else face
        if runs and runs[-1][0] == use:
            runs[-1] = (use, runs[-1][1] + character)
        else:
            runs.append((use, character))
    return runs


def _painted(piece: TextRun, face: str, size: int) -> PaintedRun:
    """Letters of the computer's fonts, made smaller where they are higher than a line."""
    letters, height = painted(piece, size), _font(face, size).get_height()
    most = len(letters.cover) / height
    return painted(piece, size / most) if most > 1 else letters


@lru_cache(maxsize=256)
def text_surface(text: str, face: str, size: int, colour: Colour) -> pygame.Surface:
    """A line of text on a transparent ground, baseline of the main face."""
    main = _font(face, size)
    surface = pygame.Surface(
        (max(1, text_width(text, face, size)), main.get_height()), pygame.SRCALPHA
    )
    x = 0.0
    for piece in _pieces(text, face):
        if piece.font:
            letters = _painted(piece, face, size)
            y = min(main.get_ascent() - letters.top, main.get_height() - len(letters.cover))
            surface.blit(_inked(letters, colour), (x + letters.left, max(0, y)))
            x += letters.advance
            continue
        for use, run in _runs(piece.text, face):
            drawn = _font(use, size).render(run, True, colour)
            surface.blit(drawn, (x, main.get_ascent() - _font(use, size).get_ascent()))
            x += drawn.get_width()
    return surface


def _inked(letters: PaintedRun, colour: Colour) -> pygame.Surface:
    surface = pygame.Surface(letters.cover.shape[::-1], pygame.SRCALPHA)
    surface.fill(colour)
    pygame.surfarray.pixels_alpha(surface)[:] = letters.cover.T
    return surface


def text_width(text: str, face: str, size: int) -> int:
    """Width of a line of text in pixels."""
    return ceil(sum(_advance(piece, face, size) for piece in _pieces(text, face)))


def _advance(piece: TextRun, face: str, size: int) -> float:
    if piece.font:
        return _painted(piece, face, size).advance
    return sum(_font(use, size).size(run)[0] for use, run in _runs(piece.text, face))


def line_height(face: str, size: int) -> int:
    """Height of a line of text in pixels."""
    return _font(face, size).get_linesize()


def fitted(text: str, face: str, size: int, width: int) -> str:
    """The text, shortened with an ellipsis where it is wider than `width` pixels."""
    return shortened(text, lambda line: text_width(line, face, size) <= width)


def wrapped(text: str, face: str, size: int, width: int) -> list[str]:
    """The text broken into lines of at most `width` pixels; a longer word, such as a path, too."""
    lines = [""]
    words = text.split()
    if any(text_width(word, face, size) > width for word in words):
        words = [part for word in words for part in broken(word, face, size, width)]
    for word in words:
        candidate = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(candidate, face, size) > width:
            lines.append(word)
        else:
            lines[-1] = candidate
    return lines


def broken(words: str, face: str, size: int, width: int) -> list[str]:
    """A path or an address on lines of at most `width` pixels, none of it left out."""
    lines = [""] if words else []
    for character in words:
        if lines[-1] and text_width(lines[-1] + character, face, size) > width:
            lines.append("")
        lines[-1] += character
    return lines
