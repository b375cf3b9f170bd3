# SPDX-License-Identifier: MIT
"""The pace on the play screen: a thin rule with the reader's progress and a tick for the pace."""

from __future__ import annotations

from game.rounds import Lead, Pace, Round, lead
from game.screens import theme
from game.screens.text import _
from game.screens.widgets import Canvas, Rect

GLIDE_S = 0.25
_FRAME_S = 1 / 60


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
        name = _NAMES.get(self.pace.name, self.pace.name)
        if state.started is None:
            return _("against {name}").format(name=name)
        return lead_words(lead(self.pace, state, elapsed), name)

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
        place = self._place(float(self.pace.by(elapsed)), now) / whole
        tick = Rect(0, 0, thick, px(11))
        tick.center = (left + round(width * min(1.0, place)), y)
        canvas.surface.fill(theme.ACCENT, tick)

    def _whole(self, state: Round, read: int, elapsed: float) -> int:
        """How many slots the whole rule is."""
        if state.seconds is not None:
            return max(1, read, self.pace.by(state.seconds))
        if state.misses is not None:  # as far as the pace came, then as far as either has come
            return max(1, read, self.pace.found, self.pace.by(elapsed))
        return max(1, len(self.pace.done_s))

    def _place(self, target: float, now: float) -> float:
        if target != self._to:
            self._from, self._to, self._since = self._here(now), target, now
        return self._here(now)

    def _here(self, now: float) -> float:
        share = min(1.0, (now - self._since) / GLIDE_S) if self._glides else 1.0
        return self._from + (self._to - self._from) * share * (2.0 - share)  # slower at its end


_NAMES = {
    "best": _("your best"),
    "last round": _("your last round"),
    "classmate": _("your classmate"),
}


def lead_words(ahead: Lead, name: str) -> str:
    """A lead, such as ``2 ahead of your best · 3.1 s``."""
    seconds = f"{abs(ahead.seconds):.1f}"
    if ahead.slots > 0:
        return _("{n} ahead of {name} · {s} s").format(n=ahead.slots, name=name, s=seconds)
    if ahead.slots < 0:
        return _("{n} behind {name} · {s} s").format(n=-ahead.slots, name=name, s=seconds)
    if seconds == "0.0":
        return _("level with {name}").format(name=name)
    if ahead.seconds > 0:
        return _("level with {name}, {s} s ahead").format(name=name, s=seconds)
    return _("level with {name}, {s} s behind").format(name=name, s=seconds)
