# SPDX-License-Identifier: MIT
"""A small plot as a value: points over time with their intervals, and where everything goes.

Whoever paints it (as SVG here, on a canvas in the game) asks :func:`placed` for the places, so
both show the same picture.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape
from math import floor, log10
from textwrap import wrap

from game.words.dates import day_words

Spot = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Point:
    """A value at a place along the axis; `low` and `high` are the ends of its interval."""

    x: float
    y: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Plot:
    """One line of points.

    Args:
        title: what is plotted, in words.
        up: what the upright axis counts, in words.
        points: from left to right; there may be none.
        labels: (x, words) along the level axis.
        empty: what is said where there are no points.
        line: a level to compare with, drawn in dashes; `up` says what it is.
        band: what the interval is, in words.
    """

    title: str
    up: str
    points: tuple[Point, ...]
    labels: tuple[tuple[float, str], ...] = ()
    empty: str = ""
    line: float | None = None
    band: str = ""


@dataclass(frozen=True)
class PlotLayout:
    """Where the parts of a plot go; y grows downwards.

    Args:
        rules: (y, words) of the level lines of the grid.
        labels: (x, words) under the axis.
        band: polygon of the interval.
        path: the line through the points.
        dots: the points.
        line: y of the level to compare with.
    """

    rules: tuple[tuple[float, str], ...]
    labels: tuple[tuple[float, str], ...]
    band: tuple[Spot, ...]
    path: tuple[Spot, ...]
    dots: tuple[Spot, ...]
    line: float | None


def placed(plot: Plot, left: float, top: float, width: float, height: float) -> PlotLayout:
    """The parts of a plot in a frame; axis labels stand outside it."""
    low, high = _span(plot)
    steps = ticks(low, high)
    low, high = min(low, steps[0]), max(high, steps[-1])
    first = min((point.x for point in plot.points), default=0.0)
    last = max((point.x for point in plot.points), default=1.0)
    inset = width * 0.04

    def x(value: float) -> float:
        if last == first:
            return left + width / 2
        return left + inset + (width - 2 * inset) * (value - first) / (last - first)

    def y(value: float) -> float:
        return top + height * (high - min(max(value, low), high)) / (high - low)

    spots = tuple((x(point.x), y(point.y)) for point in plot.points)
    lows = [(x(p.x), y(p.y if p.low is None else p.low)) for p in plot.points]
    highs = [(x(p.x), y(p.y if p.high is None else p.high)) for p in plot.points]
    if len(spots) == 1:  # an interval needs some width to be seen
        lows = [(lows[0][0] + side * inset, lows[0][1]) for side in (-1, 1)]
        highs = [(highs[0][0] + side * inset, highs[0][1]) for side in (-1, 1)]
    return PlotLayout(
        tuple((y(value), f"{value:g}".replace("-", "−")) for value in steps),
        tuple((x(value), words) for value, words in plot.labels if first <= value <= last),
        (*highs, *reversed(lows)) if any(p.low is not None for p in plot.points) else (),
        spots if len(spots) > 1 else (),
        spots if len(spots) <= 40 else spots[-1:],
        None if plot.line is None else y(plot.line),
    )


def _span(plot: Plot) -> tuple[float, float]:
    """From the lowest to the highest that is shown: 0, every point, the level, and of wide
    intervals as much as leaves the points to be seen."""
    values = [0.0, *(point.y for point in plot.points)]
    if plot.line is not None:
        values.append(plot.line)
    low, high = min(values), max(values)
    room = (high - low) or 1.0
    lows = [p.low for p in plot.points if p.low is not None]
    highs = [p.high for p in plot.points if p.high is not None]
    low = max(min([low, *lows]), low - room / 2)
    high = min(max([high, *highs]), high + room / 2)
    return low, high if high > low else low + 1.0


def ticks(low: float, high: float, most: int = 5) -> list[float]:
    """Round values at even distances, at most so many (and 2 at least), that span low to high."""
    rough = (high - low) / (most - 1)
    unit = 10.0 ** floor(log10(rough))
    for step in (unit, 2 * unit, 5 * unit, 10 * unit, 20 * unit):
        first, last = floor(low / step + 1e-9), -floor(-high / step + 1e-9)
        if last - first < most:
            break
    return [step * n for n in range(first, last + 1)]


def day_labels(days: Sequence[int], most: int = 4) -> tuple[tuple[float, str], ...]:
    """Labels of an axis of days (ordinals): the first, the last, and some between."""
    if not days:
        return ()
    first, last = days[0], days[-1]
    count = min(most, last - first + 1)
    chosen = [first + round((last - first) * n / max(1, count - 1)) for n in range(count)]
    long = last - first > 300
    dates = [date.fromordinal(day) for day in dict.fromkeys(chosen)]
    return tuple(
        (float(day.toordinal()), day_words(day, "" if long else day.isoformat())) for day in dates
    )


# As SVG

_WIDTH, _HEIGHT = 360.0, 230.0
_LEFT, _TOP, _RIGHT, _BOTTOM = 44.0, 44.0, 10.0, 30.0


def plot_svg(plot: Plot) -> str:
    """A plot as an SVG element that takes its letters from the page around it."""
    body = "".join(_elements(plot))
    return (
        f'<svg class="plot" viewBox="0 0 {_WIDTH:g} {_HEIGHT:g}" role="img" '
        f'aria-label="{escape(plot.title)}">{body}</svg>'
    )


def _elements(plot: Plot) -> Iterator[str]:
    yield _text(0, 16, plot.title, "plot-title")  # fonts with tall capitals fit too
    yield _text(0, 32, plot.up, "quiet")
    if not plot.points:
        for number, words in enumerate(wrap(plot.empty, 52, break_on_hyphens=False)):
            yield _text(_LEFT, _TOP + 40 + 16 * number, words, "quiet")
        return
    width, height = _WIDTH - _LEFT - _RIGHT, _HEIGHT - _TOP - _BOTTOM
    parts = placed(plot, _LEFT, _TOP, width, height)
    for y, words in parts.rules:
        yield f'<path class="grid" d="M{_LEFT:g} {y:.1f}h{width:g}"/>'
        yield _text(_LEFT - 6, y + 4, words, "quiet", "end")
    if parts.band:
        yield f'<path class="band" d="M{_joined(parts.band)}Z"/>'
    if parts.line is not None:
        yield f'<path class="level" d="M{_LEFT:g} {parts.line:.1f}h{width:g}"/>'
    if parts.path:
        yield f'<path class="line" d="M{_joined(parts.path)}"/>'
    for x, y in parts.dots:
        yield f'<circle class="dot" cx="{x:.1f}" cy="{y:.1f}" r="3"/>'
    for x, words in parts.labels:
        half = len(words) * 3.2
        middle = min(max(x, half), _WIDTH - half)
        yield _text(middle, _HEIGHT - 10, words, "quiet", "middle")


def _joined(spots: Sequence[Spot]) -> str:
    return "L".join(f"{x:.1f} {y:.1f}" for x, y in spots)


def _text(x: float, y: float, words: str, kind: str, anchor: str = "start") -> str:
    return (
        f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">'
        f"{escape(words)}</text>"
    )
