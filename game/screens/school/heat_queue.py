# SPDX-License-Identifier: MIT
"""Who plays in turn: a list in columns, as many as can be read from ten metres, around the next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from game.screens.school.seat_tile import LEAST_TEXT
from game.ui import theme
from game.ui.widgets import Canvas, Rect
from game.words.text import _

_ROW, _COLUMN, _GAP = 44, 360, 30  # height of a line, least width of a column; of 1280x720
_MARK = 54  # for a place or a sign before a name


@dataclass(frozen=True, slots=True)
class Turn:
    """A reader in the list.

    Args:
        name: of the seat.
        mark: before it: a place, or a sign.
        next: whose turn it is.
        over: has played, or does not count.
    """

    name: str
    mark: str = ""
    next: bool = False
    over: bool = False


def window(count: int, room: int, at: int) -> tuple[int, int]:
    """The part of a list that is shown: its first and the one after its last.

    Args:
        count: of all.
        room: how many can be shown.
        at: who must be; a third of the part, at most, is of those before.
    """
    first = max(0, min(at - room // 3, count - room))
    return first, min(count, first + room)


def queue(canvas: Canvas, room: Rect, turns: Sequence[Turn]) -> None:
    """Draw the list, down its columns; where not all fit, how many more there are at each end."""
    px = canvas.px
    rows = max(1, room.height // px(_ROW))
    most = max(1, (room.width + px(_GAP)) // px(_COLUMN + _GAP))
    columns = min(most, -(-len(turns) // rows))
    width = (room.width - px(_GAP) * (columns - 1)) // columns
    at = next((nth for nth, turn in enumerate(turns) if turn.next), len(turns) - 1)
    first, end = window(len(turns), rows * columns, at)
    shown = list(turns[first:end])
    if first:
        shown[0] = Turn(_("{n} before").format(n=first + 1), "…", over=True)
    if end < len(turns):
        shown[-1] = Turn(_("{n} more").format(n=len(turns) - end + 1), "…", over=True)
    for nth, turn in enumerate(shown):
        column, row = divmod(nth, rows)
        x, y = room.x + column * (width + px(_GAP)), room.y + row * px(_ROW) + px(_ROW) // 2
        _draw(canvas, turn, (x, y), width)


def _draw(canvas: Canvas, turn: Turn, at: tuple[int, int], width: int) -> None:
    (x, y), face = at, "strong" if turn.next else "text"
    colour = theme.MUTED if turn.over else theme.INK
    canvas.text(turn.mark, at, size=LEAST_TEXT, face=face, colour=theme.ACCENT, anchor="midleft")
    x += canvas.px(_MARK)
    room = width - canvas.px(_MARK)
    name, size = turn.name, LEAST_TEXT
    canvas.text(name, (x, y), size=size, face=face, colour=colour, anchor="midleft", width=room)
