# SPDX-License-Identifier: MIT
"""Ties and octave lines: from their ends in MEI to notes and places."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from xml.etree.ElementTree import Element

from game.pieces.printed import MAIN, Place, RawBar, Shift

_OCTAVES = {"8": 1, "15": 2, "22": 3}


@dataclass(frozen=True)
class Anchors:
    """What the ends of lines may refer to, by id: places of all events, notes of chords, and
    diatonic steps of notes. Filled while a score is read."""

    places: dict[str, Place] = field(default_factory=dict)
    chords: dict[str, list[str]] = field(default_factory=dict)
    steps: dict[str, int] = field(default_factory=dict)


def reference(element: Element, attribute: str) -> str:
    """The id that an attribute points to, or ""."""
    return element.get(attribute, "").lstrip("#")


def tied(element: Element, anchors: Anchors) -> list[tuple[str, str]] | None:
    """The pairs of notes that a tie joins, of two chords those on the same step.

    Empty for a tie of staves that were not read; None where it does not lead from note to note.
    """
    start, end = reference(element, "startid"), reference(element, "endid")
    known = [name in anchors.places for name in (start, end)]
    if not any(known):
        return [] if start or end else None
    pairs = [
        (one, other)
        for one in anchors.chords.get(start, [start])
        for other in anchors.chords.get(end, [end])
    ]
    if not all(known):
        return None
    if len(pairs) > 1:
        pairs = [pair for pair in pairs if len({anchors.steps.get(name) for name in pair}) == 1]
    return pairs or None


def shifted(index: int, element: Element, anchors: Anchors, bars: Sequence[RawBar]) -> Shift | None:
    """What an octave line in bar `index` covers; None where it does not say."""
    octaves = _OCTAVES.get(element.get("dis", "8"), 0)
    if element.get("dis.place", "above") == "below":
        octaves = -octaves
    start, end = (
        anchors.places.get(reference(element, key)) or _timed(index, element.get(stamp), bars)
        for key, stamp in (("startid", "tstamp"), ("endid", "tstamp2"))
    )
    if start is None or end is None or not octaves:
        return None
    return Shift(element.get("staff", ""), element.get("layer", ""), octaves, start, end)


def _timed(index: int, stamp: str | None, bars: Sequence[RawBar]) -> Place | None:
    """The place of a time stamp: beats of the metre from 1, after a number of bars."""
    match = re.fullmatch(r"(?:(\d+)m\s*\+\s*)?(\d+(?:\.\d+)?)", (stamp or "").strip())
    if match is None:
        return None
    bar = min(index + int(match[1] or 0), len(bars) - 1)
    unit = (bars[bar].metre or (4, 4))[1]
    return bar, (Fraction(match[2]) - 1) * 4 / unit, MAIN
