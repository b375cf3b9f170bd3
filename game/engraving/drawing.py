# SPDX-License-Identifier: MIT
"""An engraved prompt as a value: a display list that knows which note each shape belongs to.

Lengths are in staff spaces (the distance of two lines). The origin is where the top line of
the upper staff begins; x grows to the right and y downwards. So the lines of the upper staff
stand at y = 0 to 4 and those of the lower staff at 12 to 16, in every prompt.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from game.levels import LOWER, UPPER
from game.notation import TOP_LINE, Clef

GAP = 8  # staff spaces between the two staves, as piano music is commonly set
STAFF_TOP = {UPPER: 0, LOWER: 4 + GAP}
STAFF_LINES = tuple(tuple(float(top + line) for line in range(5)) for top in STAFF_TOP.values())
GRAND_HEIGHT = 4 + GAP + 4
# SMuFL 1.4: four staff spaces to the em; Bravura has 1000 units to the em. From memory.
FONT_UNITS = 250


class EngravingError(Exception):
    """Nothing can be engraved here; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Outline:
    """A filled or stroked path.

    Args:
        role: what it is: clef, keySig, notehead, accid, brace (Verovio's words), mark or ghost.
        d: SVG path data.
        x, y: where its own origin stands.
        font: `d` is in font units with y upwards, rather than in staff spaces with y downwards.
        stroke: width of the pen in staff spaces; 0 means filled.
        owners: ids of the notes that it belongs to.
        code: SMuFL code point in hexadecimal for a glyph, as in ``E050``.
    """

    role: str
    d: str
    x: float = 0.0
    y: float = 0.0
    font: bool = False
    stroke: float = 0.0
    owners: tuple[str, ...] = ()
    code: str = ""

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom, the pen included."""
        left, top, right, bottom = path_box(self.d)
        if self.font:
            left, top, right, bottom = (n / FONT_UNITS for n in (left, -bottom, right, -top))
        pen = self.stroke / 2
        return self.x + left - pen, self.y + top - pen, self.x + right + pen, self.y + bottom + pen


@dataclass(frozen=True, slots=True)
class Rule:
    """A straight line, level or upright, which is drawn on whole pixels.

    Args:
        role: staff, ledger, stem or barline.
        x1, y1, x2, y2: its ends, on its middle; x1 <= x2 and y1 <= y2.
        width: its thickness in staff spaces.
        owners: ids of the notes that it belongs to.
    """

    role: str
    x1: float
    y1: float
    x2: float
    y2: float
    width: float
    owners: tuple[str, ...] = ()

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom."""
        return self.x1, self.y1, self.x2, self.y2


Shape = Outline | Rule


@dataclass(frozen=True, slots=True)
class NoteBox:
    """Where a notehead stands: its centre, its size, its staff (1 upper, 2 lower), its slot."""

    x: float
    y: float
    width: float
    height: float
    staff: int
    slot: int

    @property
    def right(self) -> float:
        """The right edge of the notehead."""
        return self.x + self.width / 2

    @property
    def left(self) -> float:
        """The left edge of the notehead."""
        return self.x - self.width / 2


@dataclass(frozen=True)
class Engraving:
    """One prompt, drawn. See the module for units.

    Args:
        shapes: everything printed, in drawing order.
        notes: the noteheads by note id.
        clefs: of the upper and the lower staff.
        right: x of the right end of the staff lines; the left end is at 0.
        glyphs: outlines of the font by SMuFL code point, for marks and ghosts.
        hidden: ids of notes that are not printed; a mark shows them.
        measured: it has a metre, and its notes stand close.
    """

    shapes: tuple[Shape, ...]
    notes: Mapping[str, NoteBox]
    clefs: tuple[Clef, Clef]
    right: float
    glyphs: Mapping[str, str] = field(repr=False, compare=False)
    hidden: frozenset[str] = frozenset()
    measured: bool = False

    @property
    def staff_lines(self) -> tuple[tuple[float, ...], ...]:
        """The five y of each staff, top line first: the same for every prompt."""
        return STAFF_LINES

    @property
    def whole_notes(self) -> bool:
        """Whether the prompt is in whole notes (one slot) rather than in quarters."""
        if self.measured:
            return False
        return any(shape.code == "E0A2" for shape in self.shapes if isinstance(shape, Outline))


def staff_y(staff: int, position: int) -> float:
    """The y of a staff position (0 = bottom line, 8 = top line) of a staff."""
    return STAFF_TOP[staff] + (TOP_LINE - position) / 2


_TOKEN = re.compile(r"([MmLlHhVvCcSsZz])|(-?(?:\d+\.?\d*|\.\d+))")
_STEP = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4}


@lru_cache(maxsize=256)
def path_box(d: str) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of path data, in its own units, over the on-curve points.

    Exact for outlines that have points at their extremes, as those of a font do.
    """
    xs: list[float] = []
    ys: list[float] = []
    x = y = start_x = start_y = 0.0
    command, numbers = "M", list[float]()
    for letter, number in _TOKEN.findall(d):
        if letter:
            command, numbers = letter, []
            if letter in "Zz":
                x, y = start_x, start_y
            continue
        numbers.append(float(number))
        upper = command.upper()
        if len(numbers) < _STEP[upper]:
            continue
        base_x, base_y = (x, y) if command.islower() else (0.0, 0.0)
        if upper == "V":
            y = base_y + numbers[0]
        else:
            x = base_x + numbers[-2 if upper != "H" else -1]
            if upper != "H":
                y = base_y + numbers[-1]
        if upper == "M":
            start_x, start_y = x, y
            command = "l" if command == "m" else "L"  # more pairs after a move are lines
        xs.append(x)
        ys.append(y)
        numbers = []
    return min(xs), min(ys), max(xs), max(ys)
