# SPDX-License-Identifier: MIT
"""The pace on the play screen: a thin rule with the reader's progress and a tick for the pace,
which is as far behind the reader as the reader is ahead in points."""

from __future__ import annotations

from math import inf

from game.rounds import Lead, Pace, Round, lead
from game.session.paces import BEST, CLASSMATE, LAST, LEVEL_BEST, TEMPOS
from game.ui import theme
from game.ui.widgets import Canvas, Rect
from game.words.text import _

GLIDE_S = 0.25
_FRAME_S = 1 / 60
_STEP = 0.002  # of the rule: a smaller one, as time makes it, needs no glide


class PaceMark:
    """Stateful: where the tick stands, and where it is gliding to.

    Args:
        pace: of the round.
        glides: whether the tick glides to its next place; else it steps there.
    """

    def __init__(self, pace: Pace, *, glides: bool) -> None:
        self.pace = pace
        self._glides = glides
        self._from = self._to = 0.0
        self._since = float("-inf")

    def words(self, state: Round, elapsed: float) -> str:
        """The lead in a few words; before the first note, what is read against."""
        if state.started is None:
            return _("against {name}").format(name=_name(self.pace))
        ahead = lead(self.pace, state, elapsed)
        words = lead_words(self.pace, ahead)
        seconds = f"{abs(ahead.seconds):.1f}"
        if state.limit_s == inf or seconds == "0.0":
            return words
        rest = _("{s} s faster") if ahead.seconds > 0 else _("{s} s slower")
        return f"{words} · {rest.format(s=seconds)}"

    def wait(self, elapsed: float, now: float) -> float | None:
        """Seconds until it looks different; None when it has come to its end."""
        if self._glides and now - self._since < GLIDE_S:
            return _FRAME_S
        passed = self.pace.by(elapsed)
        return self.pace.done_s[passed] - elapsed if passed < len(self.pace.done_s) else None

    def draw(self, canvas: Canvas, state: Round, elapsed: float, now: float) -> None:
        """Draw it along the upper edge of the window."""
        px, y = canvas.px, canvas.px(8)  # away from notes on ledger lines
        left, width = px(30), canvas.width - px(60)
        read = sum(result.completed for result in state.results)
        whole = self._whole(state, read, elapsed)
        canvas.rule(left, y, width)
        thick = max(2, px(2))
        canvas.surface.fill(theme.INK, Rect(left, y - thick // 2, width * read // whole, thick))
        # A point of an endless round is a slot; of any other it is a hundredth of the whole.
        unit = whole if state.misses is not None else 100
        ahead = lead(self.pace, state, elapsed).points
        place = self._place(read / whole - ahead / unit, now)
        tick = Rect(0, 0, thick, px(11))
        tick.center = (left + round(width * min(1.0, max(0.0, place))), y)
        canvas.surface.fill(theme.ACCENT, tick)

    def _whole(self, state: Round, read: int, elapsed: float) -> int:
        """How many slots the whole rule is."""
        if state.seconds is not None:
            return max(1, read, self.pace.by(state.seconds))
        if state.misses is not None:  # as far as the pace came, then as far as either has come
            return max(1, read, self.pace.found, self.pace.by(elapsed))
        return max(1, len(self.pace.done_s))

    def _place(self, target: float, now: float) -> float:
        if abs(target - self._to) > _STEP:
            self._from, self._since = self._here(now), now
        self._to = target
        return self._here(now)

    def _here(self, now: float) -> float:
        share = min(1.0, (now - self._since) / GLIDE_S) if self._glides else 1.0
        return self._from + (self._to - self._from) * share * (2.0 - share)  # slower at its end


_NAMES = {
    BEST: _("your best"),
    LEVEL_BEST: _("your best on this level"),
    LAST: _("your last round"),
    CLASSMATE: _("your classmate’s round"),
    **{tempo: _(tempo) for tempo in TEMPOS},
}


def _name(pace: Pace) -> str:
    return _NAMES.get(pace.name) or _("{name}’s round").format(name=pace.name)


def lead_words(pace: Pace, ahead: Lead) -> str:
    """The lead in points, such as ``12.4 points ahead of your best``."""
    points = f"{abs(ahead.points):.1f}"
    if points == "0.0":
        words = _("level with {name}")
    elif ahead.points > 0:
        words = _("{n} points ahead of {name}")
    else:
        words = _("{n} points behind {name}")
    return words.format(n=points, name=_name(pace))
