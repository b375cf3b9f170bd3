# SPDX-License-Identifier: MIT
"""Feedback as shapes: marks on the notes of an engraving, and ghosts beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from game.engraving.drawing import (
    Engraving,
    NoteBox,
    Outline,
    Rule,
    Shape,
    staff_y,
)
from game.engraving.ghost import Colour, Ghost
from game.levels import LOWER, UPPER
from game.notation import TOP_LINE, ledger_lines

_GLYPH_OF_SIGN = {"#": "E262", "b": "E260", "n": "E261", "##": "E263", "bb": "E264"}
_PEN = 0.2  # staff spaces; marks must hold their own against staff lines
_GHOST_PEN = 0.16
_WASH = 0.22  # how much of its colour fills a ghost
_LEDGER_LINE, _LEDGER_REACH = 0.14, 0.3
_RING_X, _RING_Y = 0.45, 0.36  # from the notehead's edge to the ring
_TICK = "M0,0.1 L0.35,0.5 L1.05,-0.5"
_TICK_GAP, _TICK_ROOM = 0.45, 1.2
_LATE = "M-0.7,0 L0.7,0 M0.15,-0.5 L0.7,0 L0.15,0.5"
_EARLY = "M0.7,0 L-0.7,0 M-0.15,-0.5 L-0.7,0 L-0.15,0.5"
_MISSED = "M-0.5,-0.5 L0.5,0.5 M-0.5,0.5 L0.5,-0.5"
_ROW = 1.3  # from the highest of a slot's shapes to a mark outside the staff
_GHOST_GAP = 1.1  # from the expected notes, ring and all, to the ghost
_CLEAR_OF_RING = 1.2  # from the middle of a ringed head to that of a ghost above or below it
_CLOSE_GAP = 0.6
_SIGN_GAP = 0.35
_UP = "M0,1.1 L0,-1.1 M-0.6,-0.4 L0,-1.1 L0.6,-0.4"
_DOWN = "M0,-1.1 L0,1.1 M-0.6,0.4 L0,1.1 L0.6,0.4"
_FAR = 5.6  # from the staff to the middle of an arrow


MarkShape = Literal["right", "wrong", "late", "early", "missed"]


@dataclass(frozen=True, slots=True)
class Mark:
    """Feedback on one note: its head, sign and ledger lines in a colour, and a small shape.

    Args:
        note_id: which note.
        shape: ``right`` adds a tick after the note, ``wrong`` a ring around its head; in music
            with a metre ``late`` and ``early`` add an arrow onwards or back, and ``missed`` a
            cross. There these marks (and the tick) stand outside the staff, over the upper or
            under the lower one, for the notes leave no room among them.
        colour: red, green, blue, 0 to 255 each.
    """

    note_id: str
    shape: MarkShape
    colour: Colour


@dataclass(frozen=True, slots=True)
class Painted:
    """A shape in its colour; `opacity` from 0 to 1."""

    item: Shape
    colour: Colour
    opacity: float = 1.0


def feedback(
    engraving: Engraving, marks: Sequence[Mark] = (), ghosts: Sequence[Ghost] = ()
) -> tuple[Painted, ...]:
    """Marks and ghosts as painted shapes, in drawing order.

    Raises:
        ValueError: a mark or a ghost names a note that the engraving does not have.
    """
    painted: list[Painted] = []
    ticks: list[tuple[int, float]] = []  # slot and height
    for mark in marks:
        box = _box(engraving, mark.note_id)
        painted += [
            Painted(shape, mark.colour)
            for shape in engraving.shapes
            if mark.note_id in shape.owners
        ]
        if mark.shape == "wrong":
            x, y, path = box.x, box.y, _ring(box, _signed(engraving, mark.note_id))
        elif engraving.measured or mark.shape != "right":
            x, y, path = box.x, _outside(engraving, box), _OUTSIDE[mark.shape]
        else:
            ticks.append((box.slot, box.y))
            x, y, path = _right_of_slot(engraving, box.slot) + _TICK_GAP, box.y, _TICK
        sign = Outline("mark", path, x, y, stroke=_PEN, owners=(mark.note_id,))
        painted.append(Painted(sign, mark.colour))
    for ghost in ghosts:
        box = _box(engraving, ghost.beside)
        slot, y = box.slot, staff_y(ghost.staff, ghost.position)
        x = _right_of_slot(engraving, slot) + _GHOST_GAP
        if engraving.measured and not ghost.off_the_page:
            # Close notes leave no room beside them: above or below, where there is room for it.
            in_column = abs(y - box.y) >= _CLEAR_OF_RING
            x = box.left if in_column else box.right + _CLOSE_GAP
            painted += _near(engraving, ghost, x, head_at_x=in_column)
            continue
        if any(tick == slot and abs(height - y) < 2 for tick, height in ticks):
            x += _TICK_ROOM
        painted += _far(engraving, ghost, x) if ghost.off_the_page else _near(engraving, ghost, x)
    return tuple(painted)


_OUTSIDE = {
    "right": "M-0.5,0 L-0.15,0.4 L0.55,-0.6",
    "late": _LATE,
    "early": _EARLY,
    "missed": _MISSED,
}


def _outside(engraving: Engraving, box: NoteBox) -> float:
    """The height of a mark over the upper or under the lower staff, clear of the slot's shapes."""
    owners = {
        name
        for name, other in engraving.notes.items()
        if other.staff == box.staff and abs(other.x - box.x) < 2 * box.width
    }
    boxes = [shape.box for shape in engraving.shapes if owners.intersection(shape.owners)]
    if box.staff == UPPER:
        return min(staff_y(UPPER, TOP_LINE), *(top for _, top, _, _ in boxes)) - _ROW
    return max(staff_y(LOWER, 0), *(bottom for _, _, _, bottom in boxes)) + _ROW


def _box(engraving: Engraving, note_id: str) -> NoteBox:
    try:
        return engraving.notes[note_id]
    except KeyError:
        raise ValueError(f"there is no note {note_id!r} in this engraving") from None


def _right_of_slot(engraving: Engraving, slot: int) -> float:
    return max(box.right for box in engraving.notes.values() if box.slot == slot)


def _near(
    engraving: Engraving, ghost: Ghost, x: float, *, head_at_x: bool = False
) -> list[Painted]:
    """A ghost in its own place: sign, outlined head, ledger lines.

    Its left edge is at x, or that of its head, with the sign before it.
    """
    y = staff_y(ghost.staff, ghost.position)
    shapes: list[Painted] = []
    if ghost.sign is not None:
        sign = _glyph(engraving, _GLYPH_OF_SIGN[ghost.sign], x, y)
        if head_at_x:
            sign = replace(sign, x=sign.x - (sign.box[2] + _SIGN_GAP - x))
        else:
            x = sign.box[2] + _SIGN_GAP
        shapes.append(Painted(sign, ghost.colour))
    code = "E0A2" if engraving.whole_notes else "E0A4"
    head = _glyph(engraving, code, x, y)
    head = replace(head, d=_contour(head.d))
    left, _, right, _ = head.box
    count = ledger_lines(ghost.position)
    for nth in range(1, abs(count) + 1):
        line = staff_y(ghost.staff, 8 + 2 * nth if count > 0 else -2 * nth)
        ledger = Rule(
            "ledger", left - _LEDGER_REACH, line, right + _LEDGER_REACH, line, _LEDGER_LINE
        )
        shapes.append(Painted(ledger, ghost.colour))
    shapes.append(Painted(head, ghost.colour, _WASH))
    shapes.append(Painted(replace(head, stroke=_GHOST_PEN), ghost.colour))
    return shapes


def _far(engraving: Engraving, ghost: Ghost, x: float) -> list[Painted]:
    """An arrow beyond the staff; its name is said, in the reader's own words."""
    up = ghost.position > 0
    far = min(_FAR, ghost.farthest + 0.3)
    y = staff_y(ghost.staff, 8) - far if up else staff_y(ghost.staff, 0) + far
    arrow = Outline("ghost", _UP if up else _DOWN, x + 0.6, y, stroke=_PEN)
    return [Painted(arrow, ghost.colour)]


def _glyph(engraving: Engraving, code: str, x: float, y: float) -> Outline:
    """A glyph whose left edge is at x."""
    glyph = Outline("ghost", engraving.glyphs[code], x, y, font=True, code=code)
    return replace(glyph, x=x + (x - glyph.box[0]))


def _contour(d: str) -> str:
    """The first, outer contour of a glyph: a notehead without its hole."""
    return d[: d.lower().index("z") + 1]


def _signed(engraving: Engraving, note_id: str) -> bool:
    return any(shape.role == "accid" and note_id in shape.owners for shape in engraving.shapes)


def _ring(box: NoteBox, signed: bool) -> str:
    """A ring around a notehead, of cubic curves; open to the left where a sign stands there."""
    rx, ry = box.width / 2 + _RING_X, box.height / 2 + _RING_Y
    kx, ky = 0.5523 * rx, 0.5523 * ry  # the usual constant for a quarter of an ellipse
    right = (
        f"C{kx:.3f},{-ry:.3f} {rx:.3f},{-ky:.3f} {rx:.3f},0 "
        f"C{rx:.3f},{ky:.3f} {kx:.3f},{ry:.3f} 0,{ry:.3f} "
    )
    if signed:
        lead = box.width * 0.4
        return f"M{-lead:.3f},{-ry:.3f} L0,{-ry:.3f} {right}L{-lead:.3f},{ry:.3f}"
    return (
        f"M0,{-ry:.3f} {right}"
        f"C{-kx:.3f},{ry:.3f} {-rx:.3f},{ky:.3f} {-rx:.3f},0 "
        f"C{-rx:.3f},{-ky:.3f} {-kx:.3f},{-ry:.3f} 0,{-ry:.3f} Z"
    )
