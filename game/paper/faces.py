# SPDX-License-Identifier: MIT
"""The letters of printed pages: which font has a character, how wide it is, its outline.

What is wanted of a face and is not in its font comes from the other fonts of the assets, or else
from the computer's (:mod:`game.lettering`); what none of them has is shown by a question mark, so
that no name can stop a page.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from functools import lru_cache, partial
from typing import Any, Literal, NamedTuple

from game.files.resources import font_path
from game.lettering import TextRun, drawn, pieces, shortened

Face = Literal["text", "strong", "title"]
FONTS = {
    "text": "SourceSansPro-Regular",
    "strong": "SourceSansPro-Semibold",
    "title": "SourceSerifPro-Semibold",
    "symbols": "StavewiseSymbols-Regular",
}
_INSTEAD = "?"
_WIDTHLESS = {"Cc", "Cf", "Cs", "Mn", "Me"}  # categories of Unicode that leave no gap
_ASCENT, _TALL, _DESCENT = 0.75, 0.95, 0.25  # of the size: capitals, capitals with accents


class Run(NamedTuple):
    """Characters of one font, a key of FONTS; `outlined` when they are better not set as text.

    Those of a font of the computer's are a `piece`, to be drawn as a whole.
    """

    font: str
    text: str
    outlined: bool = False
    piece: TextRun | None = None


@lru_cache(maxsize=2048)
def runs(text: str, face: Face) -> tuple[Run, ...]:
    """A text as it is drawn from left to right: every character in a font that has it."""
    found: list[Run] = []
    for piece in pieces(text, partial(_has, face)):
        if piece.font:
            found.append(Run("", piece.text, True, piece))
            continue
        for character in piece.text:
            run = _drawn(character, face)
            if found and found[-1][::2] == run[::2]:
                found[-1] = run._replace(text=found[-1].text + run.text)
            elif run.text:
                found.append(run)
    return tuple(found)


def width(text: str, face: Face) -> float:
    """The length of a text, in sizes."""
    return sum(run_width(run) for run in runs(text, face))


def run_width(run: Run) -> float:
    """The length of a run, in sizes."""
    if run.piece:
        joined = drawn(run.piece)
        return joined.advance / joined.em
    font = _font(run.font)
    return float(sum(font.widths[font.glyphs[ord(one)]][0] for one in run.text) / font.em)


def ascent(text: str) -> float:
    """How high it stands over its baseline, in sizes."""
    accents = any(unicodedata.decomposition(one) for one in text if one.isupper())
    return _TALL if accents else _ASCENT


def descent() -> float:
    """How far the longest letters hang below a baseline, in sizes."""
    return _DESCENT


def wrapped(text: str, face: Face, room: float) -> list[str]:
    """Lines of at most `room` (in sizes), broken between words; a longer word stands alone."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width(longer, face) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def fitted(text: str, face: Face, room: float) -> str:
    """The text, cut with an ellipsis where it is longer than `room` (in sizes)."""
    return shortened(text, lambda line: width(line, face) <= room)


def says(text: str, face: Face) -> bool:
    """Whether a text is drawn with all its own letters, none replaced and none left out."""
    return all(
        run.font or _drawn(one, face).text == one or unicodedata.category(one) in ("Cc", "Cf")
        for run in pieces(text, partial(_has, face))
        for one in run.text
    )


def outlines(run: Run) -> Iterator[Glyph]:
    """The outlines of a run, one after the other."""
    if run.piece:
        yield Glyph(*drawn(run.piece))
    else:
        yield from (glyph(run.font, character) for character in run.text)


class Glyph(NamedTuple):
    """An outline as SVG path data, in the units of its font, y upwards; and its advance."""

    d: str
    advance: float
    em: int


@lru_cache(maxsize=1024)
def glyph(font: str, character: str) -> Glyph:
    """The outline of a character that the font has."""
    from fontTools.pens.svgPathPen import SVGPathPen

    loaded = _font(font)
    name = loaded.glyphs[ord(character)]
    pen = SVGPathPen(loaded.outlines)
    loaded.outlines[name].draw(pen)
    return Glyph(pen.getCommands(), loaded.widths[name][0], loaded.em)


class _Font(NamedTuple):
    glyphs: dict[int, str]
    widths: Any
    outlines: Any
    em: int


@lru_cache(maxsize=8)
def _font(name: str) -> _Font:
    from fontTools.ttLib import TTFont

    font = TTFont(font_path(FONTS[name]), lazy=True)
    return _Font(font.getBestCmap(), font["hmtx"], font.getGlyphSet(), font["head"].unitsPerEm)


def _has(face: Face, character: str) -> bool:
    return any(ord(character) in _font(font).glyphs for font in (face, "text", "symbols"))


@lru_cache(maxsize=2048)
def _drawn(character: str, face: Face) -> Run:
    """A character in its font, or what is drawn for it."""
    for wanted in (character, unicodedata.normalize("NFKD", character)[0], _INSTEAD):
        for font in (face, "text", "symbols"):
            if ord(wanted) in _font(font).glyphs:
                # ReportLab cannot say in a PDF which character one beyond U+FFFF is.
                return Run(font, wanted, ord(wanted) > 0xFFFF)
        if unicodedata.category(character) in _WIDTHLESS:
            break
    return Run(face, "")
