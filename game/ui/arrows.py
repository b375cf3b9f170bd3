# SPDX-License-Identifier: MIT
"""Where an arrow key leads: to the nearest control that lies wholly in its direction."""

from __future__ import annotations

from collections.abc import Iterable

from game.ui.widgets import Control, Rect


def toward(here: Control, controls: Iterable[Control], dx: int, dy: int) -> Control | None:
    """The control that an arrow leads to; None where nothing lies there.

    Edges decide, not centres: the middle of a row as wide as the page lies to the right of most
    things, and the row does not. To the left and right leads only what stands in the same row. Up
    and down lead to what stands in the same column, and without any to the nearest row.

    Args:
        here: has the focus.
        controls: of the page; those that cannot be chosen are passed over.
        dx: -1 left, 1 right, else 0.
        dy: -1 up, 1 down, else 0.
    """
    found = [
        (_between(here.rect, one.rect, across=bool(dy)), _gap(here.rect, one.rect, dx, dy), one)
        for one in controls
        if one.enabled and one.id != here.id and _lies(here.rect, one.rect, dx, dy)
    ]
    beside = [(gap, one) for aside, gap, one in found if aside < 0]
    if not beside and dy:
        beside = [(gap + 2 * aside, one) for aside, gap, one in found]

    def distance(item: tuple[int, Control]) -> tuple[int, int]:
        gap, one = item  # of several below a wide row, the first
        return gap, abs(one.rect.x - here.rect.x if dy else one.rect.centery - here.rect.centery)

    return min(beside, key=distance)[1] if beside else None


def _lies(here: Rect, other: Rect, dx: int, dy: int) -> bool:
    """Whether another lies in a direction; a hair's breadth of overlap does not count."""
    slack = min(here.width, other.width) // 4 if dx else min(here.height, other.height) // 4
    return _gap(here, other, dx, dy) >= -slack


def _gap(here: Rect, other: Rect, dx: int, dy: int) -> int:
    """Pixels between the edges that face each other, in a direction."""
    if dx:
        return other.left - here.right if dx > 0 else here.left - other.right
    return other.top - here.bottom if dy > 0 else here.top - other.bottom


def _between(here: Rect, other: Rect, *, across: bool) -> int:
    """Pixels between two columns (`across`) or two rows; negative where they overlap."""
    if across:
        return max(here.left, other.left) - min(here.right, other.right)
    return max(here.top, other.top) - min(here.bottom, other.bottom)
