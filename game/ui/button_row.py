# SPDX-License-Identifier: MIT
"""Buttons side by side."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from game.ui import theme
from game.ui.widgets import Canvas, Control, Rect


def button(
    name: str, label: str, act: Callable[[], None], style: str = "button", *, enabled: bool = True
) -> Control:
    """A button, not yet placed."""
    return Control(name, Rect(0, 0, 1, 1), label, act, style, enabled=enabled)


def in_rows(
    canvas: Canvas,
    buttons: Sequence[Control],
    room: Rect,
    *,
    least: float = 150,
    high: float = 46,
    centred: bool = False,
) -> int:
    """Place buttons at the foot of a room, on as many lines as their words need.

    Args:
        canvas: on this.
        buttons: from left to right.
        room: they are no wider than it.
        least: how wide each is where there is room; of a window of 1280.
        high: of a window 720 high.
        centred: in the middle of the room, instead of at its left.

    Returns: the y of the upper edge of the first line.
    """
    px, gap = canvas.px, canvas.px(14)

    def wide(pad: float, least: float) -> list[int]:
        words = [theme.text_width(item.label, "strong", px(18)) for item in buttons]
        return [min(room.width, max(px(least), width + px(pad))) for width in words]

    found = (wide(44, least), wide(44, 0), wide(24, 0))
    fits = (one for one in found if sum(one) + gap * (len(one) - 1) <= room.width)
    lines: list[list[tuple[Control, int]]] = []
    left = 0
    for item, width in zip(buttons, next(fits, found[-1]), strict=True):
        if not lines or width > left:
            lines.append([])
            left = room.width
        lines[-1].append((item, width))
        left -= width + gap
    y = room.bottom + gap
    for line in reversed(lines):
        y -= px(high) + gap
        x = room.x
        if centred:
            x = room.centerx - (sum(width for _item, width in line) + gap * (len(line) - 1)) // 2
        for item, width in line:
            item.rect = Rect(x, y, width, px(high))
            x = item.rect.right + gap
    return y


def at_head(canvas: Canvas, items: Sequence[Control], title: int) -> int:
    """Place what a page leads to at its upper right, or where there is no room for that, on lines
    of its own below the title.

    Args:
        canvas: on this.
        items: from left to right; quiet ones, or buttons.
        title: how wide the title is, pixels.

    Returns: the y below.
    """
    px, gap = canvas.px, canvas.px(6)
    widths = [
        theme.text_width(item.label, "strong", px(16 if item.style == "quiet" else 18))
        + px(22 if item.style == "quiet" else 36)
        for item in items
    ]
    x, y = canvas.width - px(40) - sum(widths) - gap * (len(items) - 1), px(21)
    if x < px(60) + title:
        x, y = px(40), px(64)
    for item, width in zip(items, widths, strict=True):
        if x + width > canvas.width - px(40):
            x, y = px(40), y + px(40)
        item.rect = Rect(x, y, width, px(36))
        x += width + gap
    return y + px(36)
