# SPDX-License-Identifier: MIT
"""A list of which the window shows a part: it follows the focus, the wheel and the bar."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import pygame

from game.ui import theme
from game.ui.widgets import Canvas, Control, Rect

_NOTCH = 3  # lines that a notch of the wheel moves, at most


def stacked(
    rows: Sequence[Control], view: Rect, high: int, columns: int = 1, gap: int = 0
) -> Sequence[Control]:
    """The rows, one below the other from the top of the view on, or side by side in columns."""
    width = (view.width - gap * (columns - 1)) // columns
    for number, item in enumerate(rows):
        down, right = divmod(number, columns)
        item.rect = Rect(view.x + right * (width + gap), view.y + down * high, width, high)
    return rows


def drawn(rect: Rect, draw: Callable[[Canvas, Rect], None]) -> Control:
    """A part of a page that is only looked at, as a row of a list that the page scrolls."""
    return Control("", rect, "", lambda: None, "drawn", enabled=False, draw=draw)


def in_columns(
    parts: Sequence[Callable[[Canvas, Rect], None]],
    room: Rect,
    columns: int,
    *,
    gap: int,
    high: int,
) -> list[Control]:
    """Parts that are only looked at, each as high, side by side from the top of a room on."""
    width = (room.width - gap * (columns - 1)) // columns
    found = []
    for number, draw in enumerate(parts):
        down, right = divmod(number, columns)
        rect = Rect(room.x + right * (width + gap), room.y + down * high, width, high)
        found.append(drawn(rect, draw))
    return found


def prose(canvas: Canvas, words: str, room: Rect, **how: Any) -> list[Control]:
    """The lines of a text, from the top of a room on and as wide.

    Args:
        canvas: whose sizes they have.
        words: wrapped.
        room: its height does not matter.
        how: size, face and colour, as for :meth:`Canvas.text`.
    """
    face, pixels = how.get("face", "text"), canvas.px(how.get("size", 18))
    high = round(theme.line_height(face, pixels) * 1.08)
    found = []
    for number, line in enumerate(theme.wrapped(words, face, pixels, room.width)):

        def draw(canvas: Canvas, rect: Rect, line: str = line) -> None:
            canvas.text(line, rect.topleft, **how)

        found.append(drawn(Rect(room.x, room.y + number * high, room.width, high), draw))
    return found


class Scroll:
    """Stateful: a list, and how far it is scrolled. Only whole rows are in view; all of them are
    controls of the page, so that the focus can go to those that are not."""

    def __init__(self) -> None:
        self._top = 0  # pixels of the list above the view
        self._followed: object = None
        self.held = False  # the mouse holds the bar
        self.clear()

    def clear(self) -> None:
        """There is no list in view, until one is placed."""
        self.rows: list[Control] = []
        self._view = self._bar = Rect(0, 0, 0, 0)
        self._at: list[int] = []  # of each row, pixels from the top of the list
        self._lines = [0]  # where a line of rows begins
        self._deep = self._last = 0

    def place(
        self, canvas: Canvas, rows: Sequence[Control], view: Rect, focus: str
    ) -> list[Control]:
        """Rows that were laid out from the top of the view on, moved to where they are seen.

        Args:
            canvas: on this.
            rows: in reading order.
            view: the part of the window that is the list's.
            focus: the id of the row to be in view; it is followed when it changes.
        """
        self.rows, self._view = list(rows), view
        self._at = [item.rect.y - view.y for item in rows]
        self._deep = max((item.rect.bottom - view.y for item in rows), default=0)
        self._lines = sorted({0, *(stop for item in rows for stop in self._stops(item.rect))})
        self._bar = Rect(view.right - canvas.px(14), view.y, canvas.px(14), view.height)
        row = next((n for n, item in enumerate(rows) if item.id == focus), None)
        seen = focus, view.size, self._deep
        if row is not None and seen != self._followed:
            self._follow(self._at[row], self._at[row] + rows[row].rect.height)
        self._followed = seen
        self._roll_to(self._top)
        return list(rows)

    def _stops(self, row: Rect) -> Iterable[int]:
        """Where the view can begin at a row; in one that is higher than it, also further down."""
        start, step = row.y - self._view.y, max(1, self._view.height // 2)
        more = row.height - self._view.height
        return [start, *range(start + step, start + more, step), start + max(0, more)]

    def _follow(self, start: int, end: int) -> None:
        """Bring a row into view, with the line before it and the one after where there is room."""
        room, before = self._view.height, [at for at in self._lines if at < start][-1:]
        after = [at + end - start for at in self._lines if at >= end][:1]
        low, high = (*before, start)[0], min((*after, end)[0], self._deep)
        if high - low > room:
            low, high = start, end
        self._top = max(min(self._top, low), high - room)

    def _roll_to(self, top: int) -> None:
        """The list from a line on; no room is left empty at its end."""
        room = self._view.height
        self._last = next((at for at in self._lines if self._deep - at <= room), 0)
        self._top = next((at for at in self._lines if at >= min(top, self._last)), self._last)
        for item, at in zip(self.rows, self._at, strict=True):
            item.view, item.rect.y = self._view, self._view.y + at - self._top

    @property
    def long(self) -> bool:
        """Whether there is more than the view shows."""
        return self._deep > self._view.height

    def covers(self, position: tuple[int, int]) -> bool:
        """Whether a place of the window is the list's."""
        return self._view.collidepoint(position)

    def roll(self, lines: int) -> None:
        """Scroll on by lines, or back; at least one that was in view stays there."""
        room = self._view.height
        seen = sum(self._top <= at < self._top + room for at in self._lines)
        most = max(1, seen - 1)
        place = self._lines.index(self._top) + max(-most, min(most, lines))
        self._roll_to(self._lines[max(0, min(len(self._lines) - 1, place))])

    def near(self, focus: str) -> str:
        """The row that the focus goes to, once it has been scrolled out of view."""
        here = next((item for item in self.rows if item.id == focus), None)
        seen = [item for item in self.rows if item.seen and item.enabled]
        if here is None or here.seen or not seen:
            return focus
        focus = min(seen, key=lambda item: _apart(item, here)).id
        self._followed = focus, self._view.size, self._deep
        return focus

    def paged(self, focus: str, by: int) -> str:
        """The row that is a view further on (1), or back; of a list to be read, it is scrolled."""
        can = [item for item in self.rows if item.enabled]
        if not can:
            self.roll(by * len(self._lines))
            return focus
        here = next((item for item in can if item.id == focus), None)
        if here is None:
            here = next((item for item in can if item.seen), can[0])
        column = [item for item in can if item.rect.x == here.rect.x]
        beyond = [item for item in column if (item.rect.y - here.rect.y) * by > 0]
        within = [item for item in beyond if abs(item.rect.y - here.rect.y) < self._view.height]
        if within:
            return max(within, key=lambda item: abs(item.rect.y - here.rect.y)).id
        return (beyond or [here])[0 if by > 0 else -1].id

    def end(self, focus: str, by: int) -> str:
        """The first row (-1) or the last."""
        can = [item.id for item in self.rows if item.enabled]
        if not can:
            self._roll_to(self._lines[0 if by < 0 else -1])
        return can[0 if by < 0 else -1] if can else focus

    # The bar

    def mouse(self, event: pygame.event.Event) -> bool:
        """Drag the bar; whether the event was for it."""
        held = self.held
        if event.type == pygame.MOUSEBUTTONDOWN and event.button == 1:
            self.held = self.long and self._bar.collidepoint(event.pos)
        elif event.type == pygame.MOUSEBUTTONUP:
            self.held = False
            return held
        if self.held and event.type in (pygame.MOUSEBUTTONDOWN, pygame.MOUSEMOTION):
            down = (event.pos[1] - self._view.y) / self._view.height * self._deep
            self._roll_to(round(down - self._view.height / 2))
        return self.held

    def draw(self, canvas: Canvas) -> None:
        """The bar at the list's side, where there is more than the view shows."""
        if not self.long:
            return
        px, view, wide = canvas.px, self._view, canvas.px(5)
        x = view.right - wide
        canvas.surface.fill(theme.RULE, Rect(x + wide // 2, view.y, max(1, px(1)), view.height))
        high = max(px(24), view.height * view.height // self._deep)
        y = view.y + (view.height - high) * self._top // max(1, self._last)
        canvas.surface.fill(theme.MUTED, Rect(x, y, wide, high))


def _apart(one: Control, other: Control) -> int:
    return abs(one.rect.x - other.rect.x) + abs(one.rect.y - other.rect.y)
