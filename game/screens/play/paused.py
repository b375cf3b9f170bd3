# SPDX-License-Identifier: MIT
"""What stands in the place of the staff while a round is paused."""

from __future__ import annotations

from collections.abc import Sequence

from game.ui import theme
from game.ui.button_row import in_rows
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _


def pause_controls(canvas: Canvas, buttons: Sequence[Control]) -> list[Control]:
    """The ways out, side by side."""
    foot = round(canvas.height * 0.58) + canvas.px(48)
    room = Rect(canvas.px(20), 0, canvas.width - canvas.px(40), foot)
    in_rows(canvas, buttons, room, least=220, high=48, centred=True)
    return [*buttons]


def draw_paused(canvas: Canvas, reason: str, *, alarm: bool = False) -> None:
    """The word, and why; or what would be lost."""
    x, y = canvas.width // 2, round(canvas.height * 0.34)
    canvas.text(_("Paused"), (x, y), size=44, face="title", anchor="center")
    canvas.centred(
        reason,
        (x, y + canvas.px(38)),
        canvas.width - canvas.px(80),
        size=20,
        colour=theme.WRONG if alarm else theme.MUTED,
    )
