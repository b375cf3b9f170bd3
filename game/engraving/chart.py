# SPDX-License-Identifier: MIT
"""A grand staff with a notehead on every place that is asked about, filled by degrees.

For figures about places rather than music to be read: the staff, clefs and brace are those of
any prompt, the columns are even, and each head is a vessel that is filled from below.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import asin, cos, pi, sin

from game.engraving.drawing import GRAND_HEIGHT, Engraving, Outline, Rule, Shape, staff_y
from game.engraving.ghost import Colour
from game.engraving.layout import BARLINE
from game.engraving.marks import Painted
from game.levels import LOWER, UPPER, Prompt, Slot
from game.notation import GRAND_STAFF, TOP_LINE, Clef, KeySignature, ledger_lines

COLUMN = 2.1
"""Staff spaces from one head to the next."""
_RX, _RY, _PEN = 0.68, 0.5, 0.13
_DOT = 0.28
_CURVE = 0.5523  # the usual constant for a quarter of an ellipse in cubic curves
_START, _END = 1.6, 1.2  # from the clef to the first head, from the last one to the barline
_CLEAR = 0.8  # over the highest head and under the lowest
_LEDGER_LINE, _LEDGER_REACH = 0.14, 0.17
EMPTY = Prompt(KeySignature(), (Slot(()),))
"""What the staff, the clefs and the brace are engraved from."""


@dataclass(frozen=True, slots=True)
class Head:
    """A line or space and how it is drawn.

    Args:
        clef: under which it stands.
        position: 0 = bottom line, 8 = top line.
        filled: how much of the head is filled, from below, 0 to 1.
        ink: of the filling and the outline.
        dashed: the outline is broken: what it says is not sure yet.
        dot: nothing but a small ring: there is nothing to say.
    """

    clef: Clef
    position: int
    filled: float
    ink: Colour
    dashed: bool = False
    dot: bool = False


@dataclass(frozen=True)
class Chart:
    """A staff with its heads.

    Args:
        items: everything, in drawing order.
        right: x of the right end of the staff lines, in staff spaces.
        columns: of each head, its middle in staff spaces and whether it is on the upper staff.
        above, below: room that the heads need over and under the staves, in spaces.
    """

    items: tuple[Painted, ...]
    right: float
    columns: tuple[tuple[float, bool], ...]
    above: float
    below: float


def chart(
    engrave: Callable[[Prompt], Engraving], heads: Sequence[Head], ink: Colour, paper: Colour
) -> Chart:
    """The chart of these heads: one column a position, then on the upper staff what stands under
    another clef than the staves begin with, each after its clef.

    Args:
        engrave: makes the empty staff, of :data:`EMPTY`.
        heads: what stands on it.
        ink: of the staff.
        paper: what shows through a head that is not full.
    """
    upper, lower = GRAND_STAFF
    clefs = dict.fromkeys(head.clef for head in heads)
    if upper not in clefs:
        upper = next((clef for clef in clefs if clef is not lower), upper)
    shapes = engrave(replace(EMPTY, clefs=(upper, lower))).shapes
    fixed = [shape for shape in shapes if isinstance(shape, Outline) and not shape.owners]
    right = max(shape.box[2] for shape in fixed)
    first: dict[Clef, tuple[float, int]] = {}  # x and position of the first column
    for together in ((upper, lower), *((clef,) for clef in clefs if clef not in (upper, lower))):
        if together != (upper, lower):
            fixed.append(_clef(engrave, together[0], right + _START))
            right = fixed[-1].box[2]
        here = [head.position for head in heads if head.clef in together] or [0]
        start = right + _START
        first |= dict.fromkeys(together, (start, min(here)))
        right = start + COLUMN * (max(here) - min(here))
    right += _END
    lines = [
        replace(shape, x2=right)
        for shape in shapes
        if isinstance(shape, Rule) and shape.role == "staff"
    ]
    bars = [
        Rule("barline", x, 0, x, GRAND_HEIGHT, BARLINE) for x in (BARLINE / 2, right - BARLINE / 2)
    ]
    staves: list[Shape] = [*lines, *bars, *fixed]
    items = [Painted(shape, ink) for shape in staves]
    columns = []
    for head in heads:
        start, lowest = first[head.clef]
        x = start + COLUMN * (head.position - lowest)
        columns.append((x, head.clef is not lower))
        items += _head(head, UPPER if columns[-1][1] else LOWER, x, ink, paper)
    positions = [head.position for head in heads]
    over, under = max((0, *(n - TOP_LINE for n in positions))), max((0, *(-n for n in positions)))
    return Chart(tuple(items), right, tuple(columns), over / 2 + _CLEAR, under / 2 + _CLEAR)


def _clef(engrave: Callable[[Prompt], Engraving], clef: Clef, left: float) -> Outline:
    """A clef on the upper staff, from `left` on."""
    shapes = engrave(replace(EMPTY, clefs=(clef, GRAND_STAFF[1]))).shapes
    (found,) = (
        shape
        for shape in shapes
        if isinstance(shape, Outline) and shape.role == "clef" and shape.y < GRAND_HEIGHT / 2
    )
    return replace(found, x=found.x + left - found.box[0])


def key(head: Head, paper: Colour) -> tuple[Painted, ...]:
    """A head alone around the origin, for the key beside a chart."""
    return tuple(_drawn(head, 0.0, 0.0, paper))


def _head(head: Head, staff: int, x: float, ink: Colour, paper: Colour) -> list[Painted]:
    y = staff_y(staff, head.position)
    count = ledger_lines(head.position)
    reach = _RX + _LEDGER_REACH
    ledgers = [
        staff_y(staff, 8 + 2 * nth if count > 0 else -2 * nth) for nth in range(1, abs(count) + 1)
    ]
    painted = [
        Painted(Rule("ledger", x - reach, line, x + reach, line, _LEDGER_LINE), ink)
        for line in ledgers
    ]
    return painted + _drawn(head, x, y, paper)


def _drawn(head: Head, x: float, y: float, paper: Colour) -> list[Painted]:
    if head.dot:
        ring = Outline("mark", _ellipse(_DOT, _DOT), x, y)
        return [Painted(ring, paper), Painted(replace(ring, stroke=_PEN), head.ink)]
    whole = _ellipse(_RX, _RY)
    painted = [Painted(Outline("mark", whole, x, y), paper)]
    if head.filled > 0:
        pale = tuple((a + b) // 2 for a, b in zip(head.ink, paper, strict=True))
        fill = (pale[0], pale[1], pale[2]) if head.dashed else head.ink
        painted.append(Painted(Outline("mark", _filling(head.filled), x, y), fill))
    outline = _arcs() if head.dashed else whole
    painted.append(Painted(Outline("mark", outline, x, y, stroke=_PEN), head.ink))
    return painted


def _ellipse(rx: float, ry: float) -> str:
    kx, ky = _CURVE * rx, _CURVE * ry
    return (
        f"M0,{-ry:.3f} C{kx:.3f},{-ry:.3f} {rx:.3f},{-ky:.3f} {rx:.3f},0 "
        f"C{rx:.3f},{ky:.3f} {kx:.3f},{ry:.3f} 0,{ry:.3f} "
        f"C{-kx:.3f},{ry:.3f} {-rx:.3f},{ky:.3f} {-rx:.3f},0 "
        f"C{-rx:.3f},{-ky:.3f} {-kx:.3f},{-ry:.3f} 0,{-ry:.3f} Z"
    )


def _filling(share: float) -> str:
    """The lower part of the ellipse, as a polygon fine enough for its size."""
    if share >= 1:
        return _ellipse(_RX, _RY)
    start = asin(1 - 2 * share)  # the level of the filling, y downwards
    steps = 24
    points = [
        (_RX * cos(angle), _RY * sin(angle))
        for angle in (start + (pi - 2 * start) * n / steps for n in range(steps + 1))
    ]
    return "M" + " L".join(f"{x:.3f},{y:.3f}" for x, y in points) + " Z"


def _arcs() -> str:
    """The outline of a head in dashes, each a short line of a many-sided ellipse."""
    dashes, each = 9, 4
    parts = []
    for dash in range(dashes):
        angles = [2 * pi * (dash + 0.55 * n / each) / dashes for n in range(each + 1)]
        points = (f"{_RX * cos(a):.3f},{_RY * sin(a):.3f}" for a in angles)
        parts.append("M" + " L".join(points))
    return " ".join(parts)
