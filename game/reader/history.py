# SPDX-License-Identifier: MIT
"""How the slope came to be what it is: one value a day, kept within bounds."""

from __future__ import annotations

from typing import Any

from game.reader.retention import DAY_S
from game.reader.slope import Counting

Slopes = tuple[tuple[float, Counting], ...]
"""(when, what was known then) in the order of time; when is in seconds since 1970."""

MOST = 200
"""Values kept of a clef; beyond, of the older half every other one goes."""


def filed(history: Slopes, when: float, slope: Counting, now: float) -> Slopes:
    """The history with one more value in it.

    Of each day (of Universal Time, since no reader's own is known here) the last value stays.
    After a clock set back, what was dated later than `now` counts as of now.
    """
    days: dict[float, tuple[float, Counting]] = {}
    for at, value in (*history, (when, slope)):
        at = min(at, now)
        days[at // DAY_S] = (at, value)
    kept = tuple(days.values())
    if len(kept) > MOST:
        half = len(kept) // 2
        kept = (*kept[:half:2], *kept[half:])
    return kept


def slopes_to_json(history: Slopes) -> list[list[Any]]:
    """Plain values for a file."""
    return [
        [at, s.ms_per_step, s.low, s.high, list(s.landmarks), s.fitted, s.answers]
        for at, s in history
    ]


def slopes_from_json(rows: list[list[Any]]) -> Slopes:
    """What :func:`slopes_to_json` gave.

    Raises:
        ValueError, TypeError: it is damaged.
    """
    found = []
    for at, slope, low, high, landmarks, fitted, answers in rows:
        known = tuple(int(place) for place in landmarks)
        value = Counting(float(slope), float(low), float(high), known, float(fitted), int(answers))
        found.append((float(at), value))
    return tuple(found)
