# SPDX-License-Identifier: MIT
"""Reads engraved music as an eye does: from glyphs, lines, curves and dots, and where they stand.

Nothing here knows the game: neither its rules of notation nor which note an element is called
after. Code points: SMuFL 1.4, w3.org/2021/03/smufl14, from memory. What a sign alters, and for
how long, is :class:`builders.Eye`'s; how glyphs stand together is common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from builders import Eye, Printed

SIGNS = {"E260": "b", "E261": "n", "E262": "#", "E263": "##", "E264": "bb"}
# The note on whose line a clef stands; the smaller ones are for a change of clef.
_CLEFS = {"E050": "G4", "E062": "F3", "E05C": "C4", "E07A": "G4", "E07C": "F3"}
_HEADS = {"E0A2": 4.0, "E0A3": 2.0, "E0A4": 1.0}  # in quarters
_WIDTHS = {"E0A2": 1.688, "E0A3": 1.18, "E0A4": 1.18}  # Bravura's, in spaces, from memory
_FLAGS = {"E240": 1, "E241": 1, "E242": 2, "E243": 2}
_RESTS = {"E4E3": 4.0, "E4E4": 2.0, "E4E5": 1.0, "E4E6": 0.5, "E4E7": 0.25}
_DIGITS = {f"E08{digit}": digit for digit in range(10)}
GLYPHS = {*SIGNS, *_CLEFS, *_HEADS, *_FLAGS, *_RESTS, *_DIGITS}
_LETTERS = "CDEFGAB"
_NATURAL = dict(zip(_LETTERS, (0, 2, 4, 5, 7, 9, 11), strict=True))
_ORDER = {"#": "FCGDAEB", "b": "BEADGCF"}
_NEAR = 0.1  # of a space: two things at one height


class Illegible(Exception):
    """Something printed has no meaning where it stands."""


@dataclass(frozen=True)
class Glyph:
    code: str
    x: float
    y: float


@dataclass(frozen=True)
class Line:
    x1: float
    y1: float
    x2: float
    y2: float


@dataclass
class Page:
    """Stateful while it is filled. Units are those of the picture, y downwards; beams are given
    by their corners, curves by their two ends."""

    glyphs: list[Glyph] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    curves: list[Line] = field(default_factory=list)
    dots: list[tuple[float, float]] = field(default_factory=list)
    beams: list[list[tuple[float, float]]] = field(default_factory=list)


@dataclass(frozen=True, order=True)
class Seen:
    """A note as it was read; length and onset in its bar in quarters, None without a metre."""

    staff: int
    key: int
    tied: bool
    length: float | None = None
    onset: float | None = None


@dataclass(frozen=True)
class Music:
    """What a page says: the notes of each column of each bar, from left to right."""

    fifths: int
    metre: tuple[int, int] | None
    bars: tuple[tuple[tuple[Seen, ...], ...], ...]


@dataclass(frozen=True)
class _Head:
    glyph: Glyph
    staff: int
    letter: str
    octave: int
    sign: str | None

    @property
    def x(self) -> float:
        return self.glyph.x

    @property
    def right(self) -> float:
        return self.glyph.x + _WIDTHS[self.glyph.code]


def read_page(page: Page) -> Music:
    """The music on a page.

    Raises:
        Illegible: a note, sign, rest, tie, clef or dot means nothing where it stands.
    """
    return _Reading(page).music()


def read_signature(page: Page) -> list[str]:
    """The signs of the signature on the upper, then on the lower staff, as ``F5#``."""
    reading = _Reading(page)
    found = []
    for sign in reading.signature_signs:
        letter, octave = reading.place(sign, reading.on(sign.y) or 0)
        found.append(f"{letter}{octave}{SIGNS[sign.code]}")
    return found


def _scaled(page: Page) -> tuple[Page, tuple[list[float], list[float]]]:
    """The page in staff spaces, and the five lines of each staff, top line first."""
    level = [line for line in page.lines if line.y1 == line.y2]
    edge = min(line.x1 for line in level)
    heights = sorted({line.y1 for line in level if line.x1 == edge})
    if len(heights) != 10:
        raise Illegible(f"{len(heights)} staff lines")
    space = (heights[4] - heights[0]) / 4
    staves = [y / space for y in heights]

    def lines(of: Iterable[Line]) -> list[Line]:
        return [Line(*(n / space for n in (a.x1, a.y1, a.x2, a.y2))) for a in of]

    curves = [curve for curve in lines(page.curves) if curve.x1 > edge / space]  # not the brace
    scaled = Page(
        [Glyph(g.code, g.x / space, g.y / space) for g in page.glyphs],
        lines(page.lines),
        curves,
        [(x / space, y / space) for x, y in page.dots],
        [[(x / space, y / space) for x, y in beam] for beam in page.beams],
    )
    return scaled, (staves[:5], staves[5:])


class _Reading:
    """Stateful: one page, read from left to right."""

    def __init__(self, page: Page) -> None:
        self.page, self.staves = _scaled(page)
        for glyph in self.page.glyphs:
            if glyph.code not in GLYPHS:
                raise Illegible(f"a glyph {glyph.code}")
        upright = [line for line in self.page.lines if line.x1 == line.x2]
        self.barlines = sorted({line.x1 for line in upright if self._bars_both(line)})
        self.stems = [line for line in upright if line.x1 not in self.barlines]
        edge = min(line.x1 for line in self.page.lines)
        self.ledgers = [
            line
            for line in self.page.lines
            if line.y1 == line.y2
            and not any(abs(line.y1 - y) < 0.01 for staff in self.staves for y in staff)
            and line.x1 > edge
        ]
        self.signature_signs: list[Glyph] = []
        self.fifths = self._signature()
        self.heads = self._heads()
        for line in (*self.stems, *self.ledgers):
            if not any(_touch(line, head) for head in self.heads):
                raise Illegible(f"a line without a note: {line}")
        for beam in self.page.beams:
            ends = min(x for x, _ in beam), max(x for x, _ in beam)
            held = [any(abs(stem.x1 - x) < 0.2 for stem in self.stems) for x in ends]
            if not (all(held) or (any(held) and ends[1] - ends[0] < 1.5)):  # the latter is a stub
                raise Illegible(f"a beam that does not run from note to note: {beam}")
        self.metre = self._metre()

    def music(self) -> Music:
        tied = {id(last) for _, last in self._ties()}
        eye, bars = Eye(self.fifths), []
        for left, right in pairwise(self.barlines):
            here = [head for head in self.heads if left < head.x < right]
            times = self._times(here, left, right)
            columns = []
            for column in _columns(here):
                seen = []
                for head in column:
                    note = Printed(
                        head.staff, head.letter, head.octave, head.sign, id(head) in tied
                    )
                    key = 12 * (head.octave + 1) + _NATURAL[head.letter] + eye.read(note)
                    length, onset = times.get(id(head), (None, None))
                    seen.append(Seen(head.staff, key, note.tied, length, onset))
                columns.append(tuple(sorted(seen)))
            bars.append(tuple(columns))
            eye.barline()
        if sum(len(column) for bar in bars for column in bar) < len(self.heads):
            raise Illegible("a note outside the bars")
        return Music(self.fifths, self.metre, tuple(bars))

    def _bars_both(self, line: Line) -> bool:
        """Whether an upright line runs through the gap between the staves."""
        upper, lower = self.staves
        top, bottom = sorted((line.y1, line.y2))
        return top < upper[4] + _NEAR and bottom > lower[0] - _NEAR

    def _of(self, codes: Iterable[str]) -> list[Glyph]:
        found = [glyph for glyph in self.page.glyphs if glyph.code in codes]
        return sorted(found, key=lambda glyph: glyph.x)

    def on(self, y: float) -> int | None:
        """The staff between whose outer lines (or a space beyond) this height lies."""
        for number, lines in enumerate(self.staves, 1):
            if lines[0] - 1.01 < y < lines[4] + 1.01:
                return number
        return None

    def place(self, glyph: Glyph, staff: int) -> tuple[str, int]:
        """Letter and octave at a height, counted from the clef in force there."""
        clefs = [c for c in self._of(_CLEFS) if self.on(c.y) == staff and c.x < glyph.x]
        if not clefs:
            raise Illegible(f"no clef on staff {staff}")
        name = _CLEFS[clefs[-1].code]
        steps = (clefs[-1].y - glyph.y) * 2
        if abs(steps - round(steps)) > 2 * _NEAR:
            raise Illegible(f"something between a line and a space: {glyph}")
        octave, index = divmod(int(name[1]) * 7 + _LETTERS.index(name[0]) + round(steps), 7)
        return _LETTERS[index], octave

    def _signature(self) -> int:
        """The run of like signs close behind the first clef, as long as each is the next one."""
        found = []
        for staff in (1, 2):
            clefs = [clef for clef in self._of(_CLEFS) if self.on(clef.y) == staff]
            if not clefs:
                raise Illegible(f"no clef on staff {staff}")
            end, fifths, kind = clefs[0].x + 4.0, 0, ""
            for sign in self._of(SIGNS):
                if self.on(sign.y) != staff or sign.x > end:
                    continue
                kind = kind or SIGNS[sign.code]
                order = _ORDER.get(kind, "")
                letter, _ = self.place(sign, staff)
                if SIGNS[sign.code] != kind or letter != order[abs(fifths) : abs(fifths) + 1]:
                    raise Illegible(f"no such signature: {sign}")
                fifths += 1 if kind == "#" else -1
                end = sign.x + 1.3
                self.signature_signs.append(sign)
            found.append(fifths)
        if found[0] != found[1]:
            raise Illegible("two signatures")
        return found[0]

    def _metre(self) -> tuple[int, int] | None:
        found = []
        for lines in self.staves:
            middle = lines[2]
            digits = [d for d in self._of(_DIGITS) if lines[0] < d.y < lines[4]]
            above = "".join(str(_DIGITS[d.code]) for d in digits if d.y < middle)
            below = "".join(str(_DIGITS[d.code]) for d in digits if d.y > middle)
            if bool(above) != bool(below):
                raise Illegible("half a metre")
            found.append((int(above), int(below)) if digits else None)
        if found[0] != found[1]:
            raise Illegible("two metres")
        return found[0]

    def _heads(self) -> list[_Head]:
        signs: dict[Glyph, str] = {}
        heads = self._of(_HEADS)
        for sign in self._of(SIGNS):
            if sign in self.signature_signs:
                continue
            level = [h for h in heads if abs(h.y - sign.y) < _NEAR and 0 < h.x - sign.x < 6]
            if not level or level[0] in signs:
                raise Illegible(f"a sign without a note of its own: {sign}")
            signs[level[0]] = SIGNS[sign.code]
        found = []
        for head in heads:
            staff = self._staff_of(head)
            found.append(_Head(head, staff, *self.place(head, staff), signs.get(head)))
        return found

    def _staff_of(self, head: Glyph) -> int:
        """The staff that a notehead is on, or is joined to by ledger lines without a gap."""
        own = {
            round(line.y1, 1)
            for line in self.ledgers
            if line.x1 < head.x + _WIDTHS[head.code] / 2 < line.x2
        }
        found = []
        for number, lines in enumerate(self.staves, 1):
            below, above = head.y - lines[4], lines[0] - head.y
            count = int(max(below, above, 0) + _NEAR)
            first, way = (lines[4], 1) if below > 0 else (lines[0], -1)
            needed = {round(first + way * nth, 1) for nth in range(1, count + 1)}
            if all(any(abs(y - other) < 0.15 for other in own) for y in needed):
                found.append(number)
        if len(found) != 1:
            raise Illegible(f"a note on {len(found)} staves: {head}")
        return found[0]

    def _ties(self) -> Iterator[tuple[_Head, _Head]]:
        """Each curve with the two notes of one height that it joins."""
        for curve in self.page.curves:
            x1, x2 = sorted((curve.x1, curve.x2))
            if abs(curve.y1 - curve.y2) > _NEAR:
                raise Illegible("a curve that is not level: a slur, not a tie")
            first = self._nearest(x1, curve.y1, after=False)
            last = self._nearest(x2, curve.y2, after=True)
            if abs(first.glyph.y - last.glyph.y) > _NEAR or first.staff != last.staff:
                raise Illegible("a tie between two heights")
            yield first, last

    def _nearest(self, x: float, y: float, after: bool) -> _Head:
        def off(head: _Head) -> float:
            middle = (head.x + head.right) / 2
            ahead = middle - x if after else x - middle
            return abs(head.glyph.y - y) + (ahead if ahead > -0.3 else 99.0)

        best = min(self.heads, key=off)
        if off(best) > 2.0:
            raise Illegible("a tie that touches no note")
        return best

    def _times(
        self, heads: list[_Head], left: float, right: float
    ) -> dict[int, tuple[float, float]]:
        """Length and onset of each head of a bar with a metre, each staff of which is full."""
        full = self.metre[0] * 4 / self.metre[1] if self.metre else None
        times: dict[int, tuple[float, float]] = {}
        for staff in (1, 2):
            chords = list(_columns(head for head in heads if head.staff == staff))
            rests = [r for r in self._of(_RESTS) if left < r.x < right and self.on(r.y) == staff]
            events: list[tuple[float, list[_Head], float]] = [
                (chord[0].x, chord, self._length(chord)) for chord in chords
            ]
            if full is None:
                continue
            for rest in rests:  # a whole rest that is alone stands for a bar of any length
                whole = rest.code == "E4E3" and len(rests) == 1 and not chords
                events.append((rest.x, [], full if whole else _RESTS[rest.code]))
            now = 0.0
            for _, chord, length in sorted(events, key=lambda event: event[0]):
                times |= {id(head): (length, now) for head in chord}
                now += length
            if now != full:
                raise Illegible(f"staff {staff}: a bar of {now} quarters, not {full}")
        return times

    def _length(self, chord: list[_Head]) -> float:
        """The length that heads, flags, beams and dots of a chord print."""
        codes = {head.glyph.code for head in chord}
        if len(codes) != 1:
            raise Illegible("two kinds of head in a chord")
        length = _HEADS[codes.pop()]
        stems = [stem for stem in self.stems if any(_touch(stem, head) for head in chord)]
        if len(stems) != (length < 4):
            raise Illegible(f"{len(stems)} stems at {chord[0].glyph}")
        for stem in stems:
            ends = (stem.y1, stem.y2)
            flags = [
                _FLAGS[flag.code]
                for flag in self._of(_FLAGS)
                if abs(flag.x - stem.x1) < 0.2 and min(abs(flag.y - y) for y in ends) < 0.5
            ]
            beams = [beam for beam in self.page.beams if _crosses(beam, stem)]
            if length > 1 and (flags or beams):
                raise Illegible("a white note with flags")
            length /= 2 ** (sum(flags) + len(beams))
        right = max(head.right for head in chord)
        dots = {
            round(x, 1)
            for x, y in self.page.dots
            if 0 < x - right < 1.5 and any(abs(head.glyph.y - y) < 0.6 for head in chord)
        }
        return length * (2 - 0.5 ** len(dots))


def _columns(heads: Iterable[_Head]) -> Iterator[list[_Head]]:
    """Heads that stand above each other; a second beside its neighbour touches it."""
    column: list[_Head] = []
    for head in sorted(heads, key=lambda head: head.x):
        if column and head.x > column[0].right + _NEAR:
            yield column
            column = []
        column.append(head)
    if column:
        yield column


def _touch(line: Line, head: _Head) -> bool:
    """Whether a ledger line runs under or over a head, or a stem along the side of it."""
    if line.y1 == line.y2:
        return line.x1 < (head.x + head.right) / 2 < line.x2
    beside = min(abs(line.x1 - head.x), abs(line.x1 - head.right)) < 0.2
    top, bottom = sorted((line.y1, line.y2))
    return beside and top - 0.4 < head.glyph.y < bottom + 0.4


def _crosses(beam: list[tuple[float, float]], stem: Line) -> bool:
    xs, ys = [x for x, _ in beam], [y for _, y in beam]
    top, bottom = sorted((stem.y1, stem.y2))
    over = min(xs) - 0.2 < stem.x1 < max(xs) + 0.2
    return over and min(ys) < bottom + 0.3 and max(ys) > top - 0.3
