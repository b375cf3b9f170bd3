# SPDX-License-Identifier: MIT
"""What stands above everything in a heat, and what is called out over it."""

from __future__ import annotations

from collections.abc import Sequence

from game.heats import Heat, HeatPhase, HeatSetup
from game.rounds import Verdict
from game.screens.school.seat_tile import LEAST_TEXT, draw_verdict, verdict_width
from game.ui import theme
from game.ui.widgets import Canvas, Rect
from game.words.text import _, clock, plural

STRIP = 84
"""Its height, of a window 720 high."""
_CLOCK = 58


def strip(
    canvas: Canvas,
    time: str,
    parts: Sequence[str],
    *,
    alarm: bool = False,
    verdict: Verdict | None = None,
) -> None:
    """The clock at the left, beside it what is said now, at the right the last verdict.

    Args:
        canvas: the window.
        time: on the clock; empty for none.
        parts: what is said, the most important first; what does not fit is left out.
        alarm: somebody must do something about it.
        verdict: of the last answer, where there is one reader.
    """
    px, y = canvas.px, canvas.px(STRIP) // 2
    x, end = px(24), canvas.width - px(24)
    if time:
        # As wide for every time, so that what follows stands still.
        canvas.text(time, (x, y), size=_CLOCK, face="title", anchor="midleft")
        pixels = px(_CLOCK)
        x += max(theme.text_width(text, "title", pixels) for text in ("0:00", time)) + px(36)
    if verdict is not None:
        wide = verdict_width(px(LEAST_TEXT + 18))
        draw_verdict(canvas.surface, Rect(end - wide, 0, wide, px(STRIP)), verdict)
        end -= wide + px(16)
    colour = theme.WRONG if alarm else theme.INK
    for number, part in enumerate(parts):
        wide = theme.text_width(part, "strong", px(LEAST_TEXT))
        if number and x + wide > end:
            break
        canvas.text(
            part,
            (x, y),
            size=LEAST_TEXT,
            face="strong",
            colour=colour,
            anchor="midleft",
            width=max(1, end - x),
        )
        x += wide + px(34)


def time_words(heat: Heat, t: float) -> str:
    """What the one clock shows at a time of the heat's: what is left, or has passed; or nothing."""
    left = heat.left(t)
    if left is not None:
        return clock(left)
    if heat.phase is HeatPhase.RUNNING and heat.since is not None:
        passed = (t if heat.paused is None else heat.paused) - heat.since
        return f"{int(passed) // 60}:{int(passed) % 60:02d}"
    if heat.setup.seconds is not None:
        return clock(0.0 if heat.done else heat.setup.seconds)
    return ""


def task_words(setup: HeatSetup) -> tuple[str, str]:
    """What is read, and how much of it."""
    if setup.seconds is not None:
        return setup.level_title, _("{n} seconds").format(n=setup.seconds)
    length = plural("{n} prompt each", "{n} prompts each", setup.prompts or 0)
    return setup.level_title, length.format(n=setup.prompts)
