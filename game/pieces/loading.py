# SPDX-License-Identifier: MIT
"""A piece from a file."""

from __future__ import annotations

from pathlib import Path

from game.engraving.convert import PieceError, Sheet, Wait, read_text, through_verovio
from game.pieces.abc import abc_mei
from game.pieces.abc_book import Tune, tunes_of
from game.pieces.piece import Piece
from game.pieces.reading import read_piece

_LISTED = 12


def load_piece(
    path: Path, part: str | None = None, number: int | None = None, wait: Wait | None = None
) -> Piece:
    """Read a file of sheet music: MusicXML, compressed MusicXML, MEI, ABC or Humdrum.

    Args:
        path: the file.
        part: number or name of an instrument, or two of one staff each, ``1,2``.
        number: which piece of a file that holds several, from 1.
        wait: called now and then with the seconds that it has taken.

    Raises:
        PieceError: it cannot be read, or there is a choice to make; the message says which.
    """
    text, kind = read_text(path)
    name, title = str(path), path.stem.replace("_", " ")
    if kind == "abc":
        tune = _tune(tunes_of(text, name), number, name)
        sheet = through_verovio(abc_mei(tune, name), "mei", name, wait)
        sheet = Sheet(sheet.mei, "abc", name, sheet.complaints)
        return read_piece(sheet, part, None, tune.title or title)
    return read_piece(through_verovio(text, kind, name, wait), part, number, title)


def _tune(tunes: list[Tune], number: int | None, name: str) -> Tune:
    if number is None and len(tunes) > 1:
        titles = [f"{at} {tune.title}".rstrip() for at, tune in enumerate(tunes, 1)]
        more = f" … {titles[-1]}" if len(titles) > _LISTED else ""
        raise PieceError(
            f"{name}: there are {len(tunes)} tunes in it; choose one with --number: "
            f"{', '.join(titles[:_LISTED])}{more}"
        )
    if not 1 <= (number or 1) <= len(tunes):
        raise PieceError(f"{name}: --number {number}, but the last is {len(tunes)}")
    return tunes[(number or 1) - 1]
