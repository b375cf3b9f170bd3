# SPDX-License-Identifier: MIT
"""Setting slots in columns, on a staff that is the same for every prompt of as many slots.

Music of several bars, or with a metre, keeps the places that Verovio gives it on a staff of the
length that :func:`set_width` asks of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from game.engraving.drawing import (
    GRAND_HEIGHT,
    STAFF_LINES,
    Engraving,
    NoteBox,
    Outline,
    Rule,
    Shape,
)
from game.engraving.mei import clef_changes, prompt_clefs
from game.levels import Prompt

SINGLE_WIDTH, SLOT_WIDTH = 24.0, 4.5  # staff length for one slot, and for each one more
_MOST_COLUMNS = 8
STAFF_LINE, BARLINE = 0.1, 0.16  # thickness; Bravura's own are 0.13 and 0.16
_CLEAR = 0.7  # kept free between slots, after the signature and before the barline
_BEFORE_MIDDLE = 0.46  # a note stands a little left of its column's middle: ghosts come after it


_HEAD, _BEAT, _PER_SLOT, _BAR = 11.0, 3.6, 3.4, 1.5  # where Verovio spaces the notes


def set_width(prompt: Prompt) -> float | None:
    """The staff's length in spaces where Verovio spaces the notes; None for columns of ours."""
    if prompt.metre is not None:
        assert prompt.bar_quarters is not None
        return _HEAD + prompt.bars * (_BAR + prompt.bar_quarters * _BEAT)
    slots = max(prompt.room, len(prompt.slots))
    if prompt.hidden or (prompt.bars == 1 and slots <= _MOST_COLUMNS and not clef_changes(prompt)):
        return None
    return max(SINGLE_WIDTH, _HEAD + prompt.bars * _BAR + slots * _PER_SLOT)


@dataclass
class Pieces:
    """Stateful: what has been read of a prompt so far. See drawing for units.

    Args:
        slots: the shapes of each slot, x as Verovio set it.
        fixed: clefs, signatures and brace, which stay where they are.
        notes: noteheads by note id.
        barlines: x of the end of each bar, as Verovio set it.
    """

    slots: tuple[list[Shape], ...]
    fixed: list[Outline] = field(default_factory=list)
    notes: dict[str, NoteBox] = field(default_factory=dict)
    barlines: list[float] = field(default_factory=list)


def lay_out(prompt: Prompt, pieces: Pieces, glyphs: Mapping[str, str]) -> Engraving:
    """The finished drawing of a prompt."""
    if set_width(prompt) is None:
        shifts, right = _columns(pieces, prompt)
        ends = [right - BARLINE / 2]
    else:
        shifts, ends = [0.0 for _ in pieces.slots], pieces.barlines
        right = ends[-1] + BARLINE / 2
    moved = [
        _moved(shape, shift)
        for shift, shapes in zip(shifts, pieces.slots, strict=True)
        for shape in shapes
    ]
    lines = [Rule("staff", 0, y, right, y, STAFF_LINE) for staff in STAFF_LINES for y in staff]
    bars = [Rule("barline", x, 0, x, GRAND_HEIGHT, BARLINE) for x in (BARLINE / 2, *ends)]
    notes = {name: replace(box, x=box.x + shifts[box.slot]) for name, box in pieces.notes.items()}
    return Engraving(
        (*lines, *bars, *pieces.fixed, *moved),
        MappingProxyType(notes),
        prompt_clefs(prompt),
        right,
        MappingProxyType(glyphs),
        prompt.hidden,
        prompt.metre is not None,
    )


def _columns(pieces: Pieces, prompt: Prompt) -> tuple[list[float], float]:
    """How far each slot moves to the right, and where the staff ends.

    A slot stands at the same x in every prompt of this signature and number of slots, unless
    signs need more room before it. Only a bar too full for its staff makes the staff longer.
    """
    count = len(pieces.slots)
    right = SINGLE_WIDTH + SLOT_WIDTH * max(0, count - 1, prompt.room - 1)
    start = max(shape.box[2] for shape in pieces.fixed) + _CLEAR
    column = (right - _CLEAR - start) / max(1, count)
    free, shifts = start, []
    for number, shapes in enumerate(pieces.slots):
        if not shapes:
            shifts.append(0.0)
            continue
        middle = min(box.x for box in pieces.notes.values() if box.slot == number)
        left = min(shape.box[0] for shape in shapes)
        shift = max(start + (number + _BEFORE_MIDDLE) * column - middle, free - left)
        shifts.append(shift)
        free = max(shape.box[2] for shape in shapes) + shift + _CLEAR
    return shifts, max(right, free)


def _moved(shape: Shape, shift: float) -> Shape:
    if isinstance(shape, Outline):
        return replace(shape, x=shape.x + shift)
    return replace(shape, x1=shape.x1 + shift, x2=shape.x2 + shift)
