# SPDX-License-Identifier: MIT
"""MusicXML made plain, so that Verovio reads all of it.

Verovio 6.4 takes one number of divisions for a whole part, sets a key signature that comes inside
a bar at its beginning, reads only the first transposition, makes several bars of rest one, and does
not know scores by the bar ("timewise"). So these are evened out in the tree, or taken out of it and
handed on as :class:`Change`. Source: MusicXML 4.0 (W3C Community Group Final Report, 2021).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import NoReturn
from xml.etree.ElementTree import Element, SubElement

from game.pieces import signs
from game.pieces.elements import children
from game.pieces.piece import PieceError

MOST_STAVES = 16
_MOST_DIVISIONS = 2**24
_MOST_FIFTHS = 7
_IN_DIVISIONS = {"duration", "offset"}
_SHIFTS = {"diatonic", "chromatic", "octave-change"}
_NUMBER = re.compile(r"\s*(-?\d{1,9}(?:\.\d{1,6})?)\s*")


@dataclass(frozen=True, slots=True)
class Change:
    """What begins at an onset (quarters from the beginning of a bar, by its index) on some staves,
    by their numbers in the MEI: a printed key signature, or a transposition to the sounding pitch
    in (diatonic steps, semitones)."""

    staves: tuple[str, ...]
    bar: int
    onset: Fraction
    fifths: int | None = None
    transposition: tuple[int, int] | None = None


def made_plain(root: Element, name: str) -> tuple[Change, ...]:
    """Even out a score in place, and take out of it what Verovio reads wrongly.

    Args:
        root: ``<score-partwise>`` or ``<score-timewise>``, which becomes the former.
        name: of the file, for messages.

    Raises:
        PieceError: a number that cannot be, or a transposition that begins inside a bar.
    """
    if root.tag == "score-timewise":
        _by_part(root)
    parts = {part.get("id"): part for part in children(root, "part")}
    changes: list[Change] = []
    first = 1
    for entry in root.iter("score-part"):
        part = parts.get(entry.get("id"))
        if part is not None:
            reader = _Part(part, name, first)
            changes += reader.read()
            first += reader.staves
    return tuple(changes)


def _by_part(root: Element) -> None:
    """From measures that hold parts to parts that hold measures."""
    parts: dict[str, Element] = {}
    for measure in list(children(root, "measure")):
        root.remove(measure)
        for inner in children(measure, "part"):
            part_id = inner.get("id", "")
            part = parts.setdefault(part_id, Element("part", {"id": part_id}))
            SubElement(part, "measure", measure.attrib).extend(inner)
    root.extend(parts.values())
    root.tag = "score-partwise"


class _Part:
    """Stateful: reads one part; its staves are numbered from `first` in the MEI."""

    def __init__(self, part: Element, name: str, first: int) -> None:
        self._measures = list(children(part, "measure"))
        self._name, self._first = name, first
        self._label = "1"
        self.staves = 1

    def read(self) -> list[Change]:
        self._count_staves()
        common = self._common_divisions()
        changes: list[Change] = []
        divisions = Fraction(1)
        shift = (0, 0)
        for index, measure in enumerate(self._measures):
            self._label = measure.get("number") or str(index + 1)
            at, begun = Fraction(0), False
            for element in measure:
                if element.tag == "attributes":
                    for fifths in element.iter("fifths"):
                        if abs(self._number(fifths)) > _MOST_FIFTHS:
                            self._refuse(f"a key signature of {fifths.text} fifths")
                    divisions = self._divisions(element) or divisions
                    for each in list(children(element, "divisions")):
                        each.text = str(common)
                    for style in list(children(element, "measure-style")):
                        if style.find("multiple-rest") is not None:
                            element.remove(style)
                    if at:
                        changes += self._keys(element, index, at)
                    if index or begun:
                        for found in self._transposed(element, index, at):
                            if found.transposition != shift or len(found.staves) < self.staves:
                                changes.append(found)
                            shift = found.transposition or shift
                    elif (first := element.find("transpose")) is not None:
                        shift = self._shift(first)
                    continue
                begun = begun or element.tag == "note"
                for inner in element.iter():
                    if inner.tag == "duration" and self._number(inner) < 0:
                        self._refuse(f"a duration of {inner.text}")
                    if inner.tag in _IN_DIVISIONS:
                        inner.text = self._whole(inner, Fraction(common) / divisions)
                at += self._taken(element) / common
        return changes

    def _count_staves(self) -> None:
        """Verovio makes staves for what the first attributes say, so they must say it all."""
        counts = [1]
        for index, measure in enumerate(self._measures):
            self._label = measure.get("number") or str(index + 1)
            for element in measure.iter():
                if element.tag in ("staves", "staff") and element.text:
                    counts.append(int(self._number(element)))
                    if not 0 < counts[-1] <= MOST_STAVES:
                        self._refuse(f"an instrument of {counts[-1]} staves")
        self.staves = max(counts)
        first = next((each for m in self._measures[:1] for each in m.iter("attributes")), None)
        if first is not None and self.staves > 1:
            staves = first.find("staves")
            if staves is None:  # the schema has it after key and time, before the clefs
                before = [
                    each.tag in ("footnote", "level", "divisions", "key", "time") for each in first
                ]
                staves = Element("staves")
                first.insert(sum(before), staves)
            staves.text = str(self.staves)

    def _common_divisions(self) -> int:
        """The divisions of a quarter that all durations of the part can be written in."""
        common = 1
        for index, measure in enumerate(self._measures):
            self._label = measure.get("number") or str(index + 1)
            for element in children(measure, "attributes"):
                found = self._divisions(element)
                common = lcm(common, found.numerator if found is not None else 1)
                if common > _MOST_DIVISIONS:
                    self._refuse("quarters divided in ways that do not go together")
        return common

    def _divisions(self, attributes: Element) -> Fraction | None:
        element = attributes.find("divisions")
        if element is None:
            return None
        found = self._number(element)
        if found <= 0:
            self._refuse(f"a quarter of {found} divisions")
        return found

    def _keys(self, attributes: Element, index: int, at: Fraction) -> Iterator[Change]:
        """Key signatures inside a bar; those that are not fifths are left to be refused."""
        for key in list(children(attributes, "key")):
            fifths = key.find("fifths")
            if fifths is not None:
                attributes.remove(key)
                yield Change(self._which(key), index, at, fifths=int(self._number(fifths)))

    def _transposed(self, attributes: Element, index: int, at: Fraction) -> Iterator[Change]:
        for element in list(children(attributes, "transpose")):
            attributes.remove(element)
            if at:
                self._refuse("the transposition changes inside the bar")
            yield Change(self._which(element), index, at, transposition=self._shift(element))

    def _shift(self, element: Element) -> tuple[int, int]:
        given = {inner.tag: str(self._number(inner)) for inner in element if inner.tag in _SHIFTS}
        octaves = int(given.get("octave-change", 0))
        steps, semitones = signs.transposition(given.get("chromatic"), given.get("diatonic"))
        return steps + 7 * octaves, semitones + 12 * octaves

    def _which(self, element: Element) -> tuple[str, ...]:
        """The staves that a key or a transposition is of: one by its number, or all."""
        number = element.get("number", "")
        if number.isdecimal() and 1 <= int(number) <= self.staves:
            return (str(self._first + int(number) - 1),)
        return tuple(str(self._first + each) for each in range(self.staves))

    def _whole(self, element: Element, scale: Fraction) -> str:
        return str(round(self._number(element) * scale))

    def _taken(self, element: Element) -> Fraction:
        """How far an element moves the place in the bar, in divisions."""
        duration = element.find("duration")
        if (
            duration is None
            or element.find("chord") is not None
            or element.find("grace") is not None
        ):
            return Fraction(0)
        sign = {"note": 1, "forward": 1, "backup": -1}.get(element.tag, 0)
        return sign * Fraction(duration.text or 0)

    def _number(self, element: Element) -> Fraction:
        match = _NUMBER.fullmatch(element.text or "")
        if match is None:
            self._refuse(f"<{element.tag}> says '{(element.text or '')[:20].strip()}'")
        return Fraction(match[1])

    def _refuse(self, what: str) -> NoReturn:
        raise PieceError(
            f"{self._name}, bar {self._label}: {what}; mend it in a notation program and export "
            "the piece again"
        )
