# SPDX-License-Identifier: MIT
"""A line of text in the order in which it is seen, in pieces of one font each."""

from __future__ import annotations

import unicodedata
from bisect import bisect_left
from collections.abc import Callable, Iterator
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import NamedTuple

from game.lettering.fonts import font_for, has

_MIRRORED = str.maketrans("()[]{}<>«»", ")(][}{><»«")


class TextRun(NamedTuple):
    """Neighbouring characters of one font.

    Args:
        text: in the order in which it is said, also where it is read from right to left.
        font: the file of the computer's font for it; None for a font of the assets.
        leftward: it is joined from right to left.
    """

    text: str
    font: Path | None = None
    leftward: bool = False


def pieces(text: str, ours: Callable[[str], bool]) -> list[TextRun]:
    """A line of text in pieces, from left to right.

    The line is read from left to right, as all of Stavewise's own are. A stretch of letters that
    are read from right to left, such as a name of two words, is turned round in its place, as an
    isolate of the Unicode Bidirectional Algorithm is (Unicode Standard Annex 9, section 2.4.2):
    figures and signs that the line has before or after a name stay where the line has them.

    Args:
        text: the line.
        ours: whether the assets' fonts have a character. A word is not set in two fonts if one of
            the computer's has all of it. What no font has at all is left to the assets' too.
    """
    found: list[TextRun] = []
    text = unicodedata.normalize("NFC", text).replace("♩.", "♩\ue1e7")  # beside its head
    for leftward, part in _directions(text):
        said = [_piece(run, font, leftward) for run, font in _fonts(part, ours)]
        found += reversed(said) if leftward else said
    return found


def shortened(text: str, fits: Callable[[str], bool]) -> str:
    """The text; where it does not fit, as much of its beginning as does with an ellipsis.

    Args:
        text: a line.
        fits: whether a line has room; of two beginnings the shorter one has, if the longer has.
    """
    if fits(text):
        return text
    most = bisect_left(range(1, len(text) + 1), True, key=lambda n: not fits(text[:n] + "…"))
    return text[:most].rstrip() + "…"


def _piece(text: str, font: Path | None, leftward: bool) -> TextRun:
    if leftward and font is None:  # no letters that are joined: spaces, and brackets to turn
        return TextRun(text[::-1].translate(_MIRRORED))
    return TextRun(text, font, leftward)


def _directions(text: str) -> Iterator[tuple[bool, str]]:
    """The stretches of one direction: whether it is leftward, and what it says."""
    kinds = [_leftward(one) for one in text]
    leftward: list[bool] = []
    last = opened = False
    for at, (one, kind) in enumerate(zip(text, kinds, strict=True)):
        category = unicodedata.category(one)
        if kind is None and category[0] != "M":  # neither: as its neighbours are
            following = next((later for later in kinds[at:] if later is not None), False)
            kind = last and (following or one == "…" or (opened and category == "Pe"))
        last = last if kind is None else kind
        opened = last and (opened or category == "Ps")
        leftward.append(last)
    for back, group in groupby(zip(leftward, text, strict=True), key=itemgetter(0)):
        yield back, "".join(one for _, one in group)


def _leftward(character: str) -> bool | None:
    """Whether a letter or digit is read from right to left; None for all else."""
    if unicodedata.category(character)[0] not in "LN":
        return None
    return unicodedata.bidirectional(character) in ("R", "AL")


def _fonts(text: str, ours: Callable[[str], bool]) -> list[tuple[str, Path | None]]:
    """A part in runs of one font each."""
    runs: list[tuple[str, Path | None]] = []

    def add(run: str, font: Path | None) -> None:
        if runs and runs[-1][1] == font:
            runs[-1] = (runs[-1][0] + run, font)
        else:
            runs.append((run, font))

    for _, group in groupby(text, key=_in_word):
        word = "".join(group)
        if all(map(ours, word)):
            add(word, None)
        elif whole := font_for(word):
            add(word, whole)
        else:
            for one in word:
                last = runs[-1][1] if runs else None
                same = last is not None and has(last, one)
                add(one, last if same else None if ours(one) else font_for(one))
    return runs


def _in_word(character: str) -> bool:
    return unicodedata.category(character)[0] in "LM" or character in "\u200c\u200d"
