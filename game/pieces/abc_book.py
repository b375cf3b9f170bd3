# SPDX-License-Identifier: MIT
"""The tunes of an ABC file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from game.engraving.convert import PieceError


@dataclass(frozen=True, slots=True)
class Tune:
    """The lines of a tune, and the number of its first line in the file."""

    title: str
    first_line: int
    lines: tuple[str, ...]


def tunes_of(text: str, name: str) -> list[Tune]:
    """The tunes of a file; an empty line ends one.

    Raises:
        PieceError: there is none, or music follows an empty line.
    """
    tunes: list[Tune] = []
    lines: list[str] | None = None
    first = 0
    for number, line in enumerate([*text.splitlines(), ""], 1):
        if line.startswith("X:") or (lines is None and not tunes and line.startswith("T:")):
            if lines is not None:
                tunes.append(_tune(lines, first))
            lines, first = [], number
        if lines is None:
            if tunes and re.search(r"^[^%\"A-Za-z:]*[A-Ga-gz|][^:]*\|", line):
                raise PieceError(
                    f"{name}, line {number}: music after an empty line, which ends a tune in ABC; "
                    "take the empty line out"
                )
            continue
        if line.strip():
            lines.append(line)
        else:
            tunes.append(_tune(lines, first))
            lines = None
    if not tunes:
        raise PieceError(f"{name}: no line begins with 'X:': this is not ABC; export it again")
    return tunes


def _tune(lines: Sequence[str], first: int) -> Tune:
    titles = [line[2:].strip() for line in lines if line.startswith("T:")]
    return Tune(titles[0] if titles else "", first, tuple(lines))
