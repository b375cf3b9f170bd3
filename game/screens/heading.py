# SPDX-License-Identifier: MIT
"""The quiet line above the staff: what is read, how far it has come, how it stands to the pace."""

from __future__ import annotations

from game.levels import Level, tempo_mark
from game.rounds import Round
from game.screens import theme
from game.screens.pace_mark import PaceMark
from game.screens.text import _, clock
from game.screens.widgets import Canvas
from game.store import LiveRound


def read_words(level: Level, round: Round, name: str = "") -> str:
    """What is read: its level, its tempo where it has one, and what the prompt is called."""
    tempo = "" if round.pulse is None else tempo_mark(round.pulse.tempo, level.show.metre)
    return " · ".join(filter(None, (level.title, tempo, name)))


def draw_heading(
    canvas: Canvas, live: LiveRound, name: str, pace: PaceMark | None, now: float
) -> None:
    """Draw it.

    Args:
        canvas: on this.
        live: the round.
        name: of the prompt in view, where it has one.
        pace: what is read against, if anything.
        now: seconds on the game's clock.
    """
    px = canvas.px
    canvas.text(
        read_words(live.level, live.round, name),
        (px(30), px(32)),
        size=18,
        face="serif",
        colour=theme.MUTED,
        anchor="midleft",
        width=canvas.width // 2 - px(120),
    )
    elapsed = live.round.elapsed(live.time(now))
    middle = (canvas.width // 2, px(32))
    canvas.text(_so_far(live, elapsed), middle, size=20, face="strong", anchor="center")
    if pace is not None:
        pace.draw(canvas, live.round, elapsed, now)
        canvas.text(
            pace.words(live.round, elapsed),
            (canvas.width - px(140), px(33)),
            size=16,
            colour=theme.MUTED,
            anchor="midright",
            width=canvas.width // 2 - px(220),
        )


def _so_far(live: LiveRound, elapsed: float) -> str:
    """What is left of the time, what was found and missed, or which prompt it is."""
    terms, state = live.terms, live.round
    if terms.seconds is not None:
        return clock(terms.seconds - elapsed)
    if terms.misses is not None:
        right = sum(result.right for result in state.results)
        left = max(0, terms.misses - state.missed)
        marks = "×" * state.missed + "·" * left
        return _("{n} right, misses {marks}").format(n=right, marks=marks)
    return f"{min(state.prompt + 1, terms.prompts)} / {terms.prompts}"
