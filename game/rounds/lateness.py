# SPDX-License-Identifier: MIT
"""How late the keys of a keyboard arrive, from somebody who plays along with clicks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from game.rounds.robust import spread
from game.rounds.terms import MOST_DELAY_S

CLICKS, COUNT_IN, CLICK_S = 16, 4, 0.75
"""Clicks to play along with, those before them, and seconds from one to the next."""
FEWEST_KEYS = 8
MOST_SPREAD_S = 0.08
"""Above, the median of so few may be off by more than 0.035 s, a fourteenth of a level's limit."""
_EARLIEST_S = -0.2  # a key that comes sooner was for the click before
_APART_S = 0.2  # keys of one chord, and a key that bounces, are one answer


@dataclass(frozen=True, slots=True)
class Lateness:
    """How late keys came.

    Args:
        keys: how many were played, chords as one.
        offset_s: median seconds from a click to its key, later = positive; 0 without keys.
        spread_s: their robust standard deviation (:func:`game.rounds.robust.spread`), seconds.
    """

    keys: int
    offset_s: float = 0.0
    spread_s: float = 0.0

    @property
    def told(self) -> bool:
        """Whether there were enough keys, and steady enough."""
        return self.keys >= FEWEST_KEYS and self.spread_s <= MOST_SPREAD_S

    @property
    def delay_s(self) -> float:
        """What is to be taken off: nothing of who plays ahead of the clicks."""
        return min(MOST_DELAY_S, max(0.0, round(self.offset_s, 3)))


def lateness(presses: Sequence[float]) -> Lateness:
    """How late these keys came.

    Which key is for which click needs no looking for: what counts is how far from a click each
    came, and that goes round like a clock hand. It is counted from the key that lies nearest to
    all others, so that a delay of half a click is not torn in two.

    Args:
        presses: when keys were pressed, ascending: seconds from the first of the sixteen clicks.
    """
    last = (CLICKS - 1) * CLICK_S + MOST_DELAY_S
    taken: list[float] = []
    for t in presses:
        if _EARLIEST_S <= t <= last and (not taken or t - taken[-1] >= _APART_S):
            taken.append(t)
    if not taken:
        return Lateness(0)
    middle = min(taken, key=lambda t: sum(abs(_from(t, other)) for other in taken))
    off = [_from(middle, t) for t in taken]
    offset = (middle + median(off) - _EARLIEST_S) % CLICK_S + _EARLIEST_S
    return Lateness(len(taken), offset, spread(off))


def _from(one: float, other: float) -> float:
    """Seconds from one to the other round the click, at most half a click either way."""
    return (other - one + CLICK_S / 2) % CLICK_S - CLICK_S / 2
