# SPDX-License-Identifier: MIT
"""The teacher's line at the foot of a heat: what can be done, and by which key."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import pygame

from game.ui import theme
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _

FOOT = 44
"""Its height, of a window 720 high."""
_TEXT = 16

# None of these is a key of the piano that the computer's keyboard can be.
KEYS = {
    pygame.K_n: "N",
    pygame.K_r: "R",
    pygame.K_x: "X",
    pygame.K_c: "C",
    pygame.K_q: "Q",
    pygame.K_PLUS: "+",
    pygame.K_KP_PLUS: "+",
    pygame.K_EQUALS: "+",  # the same key on many keyboards
}
"""Key of the computer's keyboard -> its name at the foot."""


@dataclass(frozen=True)
class Does:
    """Something that the teacher can do, with its key, and whether it can be done now."""

    label: str
    key: str
    act: Callable[[], None]
    enabled: bool = True


def controls(canvas: Canvas, does: Sequence[Does], chosen: Callable[[Does], None]) -> list[Control]:
    """The controls, from the right end of the foot; `chosen` is told which one was."""
    px = canvas.px
    gap, y, height = px(8), canvas.height - px(FOOT) + px(5), px(FOOT - 10)
    labels = [f"{one.label} · {one.key}" for one in does]
    widths = [theme.text_width(label, "strong", px(_TEXT)) + px(18) for label in labels]
    x = canvas.width - px(14) - sum(widths) - gap * (len(widths) - 1)
    found = []
    for one, label, width in zip(does, labels, widths, strict=True):
        rect, act = Rect(x, y, width, height), partial(chosen, one)
        found.append(Control(one.key, rect, label, act, "quiet", enabled=one.enabled))
        x += width + gap
    return found


def foot_hints(canvas: Canvas, seat: str, waiting: int, unsaved: int) -> None:
    """Which seat the controls are about, and what does not go as it should."""
    px = canvas.px
    y = canvas.height - px(FOOT)
    canvas.rule(0, y, canvas.width)
    middle, wide = y + px(FOOT) // 2, canvas.width // 4
    up = px(9) if waiting else 0
    canvas.text(
        f"‹ {seat} ›",
        (px(16), middle - up),
        size=_TEXT,
        face="strong",
        colour=theme.ACCENT,
        anchor="midleft",
        width=wide,
    )
    if waiting:
        canvas.text(
            _("Store away: {n} in memory only").format(n=unsaved)
            if unsaved
            else _("Store away: {n} kept here").format(n=waiting),
            (px(16), middle + px(10)),
            size=_TEXT - 2,
            colour=theme.MUTED,
            anchor="midleft",
            width=wide,
        )
