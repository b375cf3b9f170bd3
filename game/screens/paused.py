# SPDX-License-Identifier: MIT
"""What stands in the place of the staff while a round is paused."""

from __future__ import annotations

from collections.abc import Callable

from game.screens import theme
from game.screens.text import _
from game.screens.widgets import Canvas, Control, Rect


def pause_controls(
    canvas: Canvas, resume: Callable[[], None], end: Callable[[], None]
) -> list[Control]:
    """The two ways out."""
    px = canvas.px
    width, height = px(220), px(48)
    x, y = canvas.width // 2, round(canvas.height * 0.56)
    left, right = (Rect(at, y, width, height) for at in (x - width - px(10), x + px(10)))
    return [
        Control("on", left, _("Go on"), resume, "primary"),
        Control("end", right, _("End the round"), end),
    ]


def draw_paused(canvas: Canvas, reason: str) -> None:
    """The word, and why."""
    x, y = canvas.width // 2, round(canvas.height * 0.34)
    canvas.text(_("Paused"), (x, y), size=44, face="title", anchor="center")
    canvas.text(
        reason,
        (x, y + canvas.px(52)),
        size=20,
        colour=theme.MUTED,
        anchor="center",
        width=canvas.width - canvas.px(80),
    )
