# SPDX-License-Identifier: MIT
"""Counting or recognising: how the time of an answer grows with the way from a landmark.

A reader who counts starts from a place known by heart, a landmark, and pays for each step from
there; a reader who recognises pays nothing. For one clef:

1. **Landmarks** are found from the answers. A set L of one to four places predicts the times

       time(p) = a + b d(p, L),   b >= 0,   d = steps to the nearest landmark

   and is judged by  chi^2 + |L| ln N  (a penalty as in the Bayesian information criterion,
   Schwarz 1978), where chi^2 compares it with the median time at each place, an error of
   1.2533 s / sqrt(n) each (that of a median of n normal values with the spread s), and N is
   the number of answers. Every set is tried; the least sum wins, and no set at all wins where
   one time for all places (|L| = 0) does as well.
2. **The slope** is the median of all pairwise slopes of time on steps (Theil 1950; Sen 1968),
   with Sen's interval. So that landmarks chosen to fit the noise cannot feign a slope, the steps
   of one half of the answers are counted from the landmarks of the other half.

The verdict compares the interval with 100 ms a step, and does not say "recognising" before the
third round or while the landmarks, taken as found, would say otherwise (with few answers the
halves may find wrong ones, which hide a slope). Why 100 ms: counting objects one by one costs
250 to 350 ms each, taking in a few at a glance 40 to 100 (Trick & Pylyshyn 1994, Psychological
Review 101:80-102; from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

COUNTING_MS = 100.0
"""Above this many ms a step a reader counts."""

CONFIDENCE = 0.95
_Z = 1.959964  # of the normal distribution's middle 95 %
LATEST = 400
"""How many answers of a clef are looked at, the latest."""

LEAST_ANSWERS, LEAST_PLACES = 16, 4
LEAST_TO_RECOGNISE = 60
_MOST_LANDMARKS = 4
_Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TimedAnswer:
    """A right first answer: its staff position (0 = bottom line) and its seconds."""

    position: int
    t: float


@dataclass(frozen=True, slots=True)
class Counting:
    """How much a reader counts under a clef.

    Args:
        ms_per_step: the slope.
        low, high: ends of its 95 % interval.
        landmarks: staff positions that the reader starts from, lowest first; none where one
            time for all places explains the answers as well.
        fitted: ms per step from those landmarks on the very answers they were found in; 0
            without landmarks.
        answers: how many it rests on.
    """

    ms_per_step: float
    low: float
    high: float
    landmarks: tuple[int, ...]
    fitted: float
    answers: int

    @property
    def counts(self) -> bool | None:
        """True: counting. False: recognising. None: not clear yet."""
        if self.low > COUNTING_MS:
            return True
        enough = self.answers >= LEAST_TO_RECOGNISE
        return False if enough and max(self.high, self.fitted) < COUNTING_MS else None


def counting(timings: Sequence[TimedAnswer]) -> Counting | None:
    """How much a reader counts; None with fewer than 16 answers or four places.

    Args:
        timings: the right first answers under one clef, oldest first; the latest 400 count.
    """
    latest = timings[-LATEST:]
    if len(latest) < LEAST_ANSWERS or len({timing.position for timing in latest}) < LEAST_PLACES:
        return None
    halves = _halves(latest)
    steps: list[int] = []
    for half, other in zip(halves, reversed(halves), strict=True):
        start = _fit(other).places
        steps += [min(abs(timing.position - place) for place in start) for timing in half]
    times = [1000 * timing.t for half in halves for timing in half]
    slope = theil_sen(steps, times)
    if slope is None:
        return None
    fit = _fit(latest)
    known = fit.places if fit.explains else ()
    return Counting(*slope, known, fit.slope if known else 0.0, len(latest))


def counting_over(
    groups: Iterable[tuple[float, Sequence[TimedAnswer]]],
) -> tuple[tuple[float, Counting], ...]:
    """The history of the slope.

    Args:
        groups: (when, answers under one clef), such as rounds or days, oldest first.

    Returns:
        (when, what was known then), for the groups from which on something was.
    """
    seen: list[TimedAnswer] = []
    found = []
    for when, timings in groups:
        seen = [*seen, *timings][-LATEST:]
        slope = counting(seen)
        if slope is not None:
            found.append((when, slope))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Fit:
    """The best landmarks, ms per step from them, and whether they are better than none."""

    places: tuple[int, ...]
    slope: float
    explains: bool


def _fit(timings: Sequence[TimedAnswer]) -> _Fit:
    places = sorted({timing.position for timing in timings})
    times = [np.array([1000 * t.t for t in timings if t.position == place]) for place in places]
    counts = np.array([len(group) for group in times], dtype=float)
    medians = np.array([np.median(group) for group in times])
    # Times spread in proportion: the spread is taken relative to the median, over all places.
    off = np.concatenate([np.abs(g / m - 1) for g, m in zip(times, medians, strict=True)])
    alone = counts.sum() - len(places)  # a place with one answer shows no spread
    spread = 1.4826 * float(np.median(np.sort(off)[-int(max(alone, 1)) :]))
    weights = counts / (1.2533 * max(spread, 0.05) * medians) ** 2
    fits = []
    for size in range(1, min(_MOST_LANDMARKS, len(places) - 1) + 1):
        sets = _sets(len(places), size)
        apart = np.abs(np.subtract.outer(places, places)).astype(float)
        slopes, misfits = _lines(apart[sets].min(axis=1), medians, weights)
        first = int(misfits.argmin())
        total = float(misfits[first]) + size * log(counts.sum())
        fits.append((total, tuple(places[index] for index in sets[first]), float(slopes[first])))
    total, best, slope = min(fits)
    flat = weights @ (medians - np.average(medians, weights=weights)) ** 2
    return _Fit(best, slope, total < flat)


def theil_sen(x: Sequence[float], y: Sequence[float]) -> tuple[float, float, float] | None:
    """Theil and Sen's slope of y on x with the ends of its 95 % interval.

    None when all x are equal. Ties in x and y narrow the interval as in Sen (1968), equation
    2.6 (from memory).
    """
    xs, ys = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    run, rise = np.subtract.outer(xs, xs), np.subtract.outer(ys, ys)
    up = run > 0
    slopes = np.sort(rise[up] / run[up])
    if not len(slopes):
        return None
    n, pairs = len(xs), len(slopes)
    variance = (_tied(n) - _ties(xs) - _ties(ys)) / 18
    half = _Z * sqrt(max(variance, 0.0))
    low = max(round((pairs - half) / 2) - 1, 0)
    high = min(round((pairs + half) / 2), pairs - 1)
    return float(np.median(slopes)), float(slopes[low]), float(slopes[high])


def _halves(timings: Sequence[TimedAnswer]) -> tuple[list[TimedAnswer], list[TimedAnswer]]:
    """Every other answer of each place, so that both halves know every place."""
    halves: tuple[list[TimedAnswer], list[TimedAnswer]] = ([], [])
    turns: dict[int, int] = {}
    for timing in timings:
        # Places seen once fall to both halves in turn.
        turn = turns.setdefault(timing.position, len(turns))
        halves[turn % 2].append(timing)
        turns[timing.position] = turn + 1
    return halves


@lru_cache(maxsize=256)
def _sets(places: int, size: int) -> NDArray[np.intp]:
    """All sets of so many of the places, by index."""
    return np.array(list(combinations(range(places), size)), dtype=np.intp)


def _lines(steps: _Floats, medians: _Floats, weights: _Floats) -> tuple[_Floats, _Floats]:
    """The slope b >= 0 of the best line and its chi^2, for each row of steps."""
    share = weights / weights.sum()
    y = medians - share @ medians
    x = steps - (steps @ share)[:, None]
    xx, xy = (x * x) @ weights, (x * y) @ weights
    slopes: _Floats = np.where(xx > 0, np.maximum(xy, 0) / np.where(xx > 0, xx, 1), 0)
    misfits: _Floats = (y * y) @ weights - slopes * (2 * xy - slopes * xx)
    return slopes, misfits


def _tied(count: float) -> float:
    return count * (count - 1) * (2 * count + 5)


def _ties(values: _Floats) -> float:
    _, counts = np.unique(values, return_counts=True)
    return float(sum(_tied(int(count)) for count in counts))
