# SPDX-License-Identifier: MIT
"""Figures of points in time that a few stray ones do not upset."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise
from statistics import median

Points = Sequence[tuple[float, float]]
"""(onset in seconds, deviation from it in seconds)."""

_MAD_TO_SD = 1.4826


def theil_sen(points: Points) -> float:
    """The median of the slopes between all pairs of points with different x.

    Up to 29 % of the points may be anywhere without upsetting it. Sen (1968), J. Am. Stat.
    Assoc. 63:1379-1389 (from memory).

    Raises:
        ValueError: no two points with different x.
    """
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(points, 2) if a[0] != b[0]]
    if not slopes:
        raise ValueError("a slope takes two points with different x")
    return median(slopes)


def spread(values: Sequence[float]) -> float:
    """Standard deviation of values whose errors are normal but for some strays.

    1.4826 times the median absolute deviation from the median: Rousseeuw & Croux (1993), J. Am.
    Stat. Assoc. 88:1273-1283 (from memory).

    Raises:
        ValueError: no values.
    """
    if not values:
        raise ValueError("a spread takes values")
    middle = median(values)
    return _MAD_TO_SD * median(abs(value - middle) for value in values)


def by_onset(points: Points) -> list[tuple[float, float]]:
    """One point for each onset, with the median of its deviations, in order of time."""
    at: dict[float, list[float]] = {}
    for onset, deviation in sorted(points):
        at.setdefault(onset, []).append(deviation)
    return [(onset, median(deviations)) for onset, deviations in at.items()]


def steady_drift(points: Points) -> float:
    """The slope from one onset to the next, as the median of all; 0 below three onsets.

    Noisier than :func:`theil_sen`, but it looks past a stop, which it meets only once.
    """
    line = by_onset(points)
    if len(line) < 3:
        return 0.0
    return median((b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(line))
