# SPDX-License-Identifier: MIT
"""Rhythms: bars filled with cells, each a few note lengths that belong together."""

from __future__ import annotations

from functools import lru_cache

NOTE_LENGTHS = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0)
"""Lengths in quarters that one note can print, with a dot at most. Exact in binary."""
REST_LENGTHS = (0.25, 0.5, 1.0, 2.0)

Rhythm = tuple[float, ...]
"""Lengths in quarters; one below 0 is a rest of that length."""


def bar_quarters(metre: str) -> float:
    """The length of a bar of a metre such as ``3/4``, in quarters."""
    count, unit = metre.split("/")
    return int(count) * 4 / int(unit)


@lru_cache(maxsize=64)
def fillings(cells: tuple[Rhythm, ...], metre: str) -> tuple[Rhythm, ...]:
    """Every way to fill a bar with cells, a note among them, in a fixed order; empty if none.

    A cell begins on a multiple of its own length, or of a beat where it is longer than one: so a
    half note stands on the first or third beat of four, and the beat can be seen in what is
    printed (common practice; Gould, *Behind Bars* (2011), "Grouping of note-values", from memory).
    """
    whole = bar_quarters(metre)
    compound = metre.endswith("/8")
    beat = 1.5 if compound else 1.0
    found: list[Rhythm] = []

    def stands(start: float, length: float) -> bool:
        if length == whole:
            return start == 0
        if length <= beat:
            return start % beat + length <= beat and start % length == 0
        return start % (beat if length % (2 * beat) else min(length, 2 * beat)) == 0

    def fill(start: float, rhythm: Rhythm) -> None:
        if start == whole:
            found.append(rhythm)
            return
        for cell in dict.fromkeys(cells):
            length = sum(map(abs, cell))
            if start + length <= whole and stands(start, length):
                fill(start + length, rhythm + cell)

    fill(0.0, ())
    return tuple(dict.fromkeys(bar for bar in found if max(bar) > 0))
