# SPDX-License-Identifier: MIT
"""The quiet line above the staff: what is read, how far it has come, how it stands to the pace."""

from __future__ import annotations

from game.levels import Level, tempo_mark
from game.rounds import Round
from game.screens.play.pace_mark import PaceMark
from game.session.live_round import LiveRound
from game.ui import theme
from game.ui.widgets import Canvas
from game.words.text import _, clock


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
    elapsed, words = live.round.elapsed(live.time(now)), ""
    if pace is not None:
        pace.draw(canvas, live.round, elapsed, now)
        words = pace.words(live.round, elapsed)
    title = read_words(live.level, live.round, name)
    draw_line(canvas, title, _so_far(live, elapsed), words, free=140)


def draw_line(canvas: Canvas, title: str, count: str, aside: str = "", *, free: float = 30) -> None:
    """A title, how far it has come, and what stands beside it; in a narrow window on two lines.

    Args:
        canvas: on this.
        title: at the left.
        count: in the middle.
        aside: at the right.
        free: at the right end of the first line, of a window of 1280.
    """
    px, width = canvas.px, canvas.width
    y, half = px(32), width // 2
    room, middle, anchor = half - px(120), half, "center"
    end, rest = width - px(free), half - px(free + 80)
    if canvas.narrow:
        room, middle, anchor = width - px(free + 40), px(30), "midleft"
        y, end, rest = px(62), width - px(30), width - px(180)
    at = px(30), px(32)
    canvas.text(title, at, size=18, face="serif", colour=theme.MUTED, anchor="midleft", width=room)
    canvas.text(count, (middle, y), size=20, face="strong", anchor=anchor)
    canvas.text(aside, (end, y), size=16, colour=theme.MUTED, anchor="midright", width=rest)


def below_line(canvas: Canvas) -> int:
    """The y of the middle of the line below it."""
    return canvas.px(92 if canvas.narrow else 66)


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
