# SPDX-License-Identifier: MIT
"""What a reader knows: for every sign how surely and how fast it is read, and till when.

A state that an answer turns into the next one, at a cost that does not grow with what went
before. Older answers fade: by half in 16 further answers to the sign, by half in 30 days.

**Certainty** of a sign is beta-binomial: with r right and w wrong (faded),

    Beta(4 m + r, 4 (1 - m) + w),   m = (4 g + S k r') / (4 + S k (r' + w'))

where the sums S run over its neighbours, g is the reader's share of right answers over all
signs (begun as 3 of 4), and the nearness k of a neighbour is exp(-d/2) at a distance of d
steps, times 0.4 where the alteration comes from another source.

**Speed** is the time of right answers, lognormal: with n of them whose logs have the mean y,
the mean of the sign's log time is normal with

    precision n / s^2 + 1 / v,   mean (n y / s^2 + m / v) / precision,
    m = (2 g + S k n' y') / (2 + S k n'),   v = 0.3^2 + 0.6^2 * 2 / (2 + S k n')

where g is the mean over all signs and s^2 the spread within a sign, both begun with a few made-up
answers. So a sign with little data leans on its neighbours, and says so by a wide interval.
The shrinkage is partial pooling as in Gelman et al., *Bayesian Data Analysis*, 3rd edition
(2013), chapter 5 (from memory); its constants are ours.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import exp, isfinite, log, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from game.notation import Clef
from game.reader.retention import DAY_S, Memory, rating, reviewed
from game.reader.sign import ReadingItem, Source

VERSION = 1
HALF_LIFE_ANSWERS = 16
HALF_LIFE_DAYS = 30
INTERVAL = 0.9
"""Probability that a true value lies within its interval."""

_FADE = 0.5 ** (1 / HALF_LIFE_ANSWERS)
_FADE_ALL = 0.5 ** (1 / 400)  # of the figures over all signs
_REACH = 4  # steps
_KERNEL = tuple((d, exp(-abs(d) / 2)) for d in range(-_REACH, _REACH + 1))
_OTHER_SOURCE = 0.4
_OWN_WEIGHT = 4.0  # answers that the neighbours' certainty counts for
_TAU, _TAU_FAR = 0.3, 0.6
_Z = 1.6449  # of the normal distribution's middle 90 %
_LOGITS = np.linspace(-14.0, 14.0, 701)
_CLEFS, _SOURCES = ({kind: n for n, kind in enumerate(kinds)} for kinds in (Clef, Source))
_Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Answer:
    """A first answer to a sign.

    Args:
        sign: what was read.
        right: whether it was read rightly.
        t: seconds it took; None where they say nothing (a chord, music in time).
        at: when, in seconds since 1970.
    """

    sign: ReadingItem
    right: bool
    t: float | None
    at: float


@dataclass(frozen=True, slots=True)
class Known:
    """The faded answers to one sign, as of the latest.

    Args:
        right, wrong: how many.
        timed: how many right ones have a time.
        log_time: sum of their natural logs of seconds.
        at: of the latest answer, in seconds since 1970.
        memory: how well it is kept.
    """

    right: float
    wrong: float
    timed: float
    log_time: float
    at: float
    memory: Memory

    def fade(self, now: float) -> float:
        """What its counts are worth now, 0 to 1; 1 where the clock was set back."""
        return float(0.5 ** (max(0.0, now - self.at) / (HALF_LIFE_DAYS * DAY_S)))


@dataclass(frozen=True, slots=True)
class Range:
    """A value that is not known exactly: likeliest, and the ends of its :data:`INTERVAL`."""

    mean: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Estimate:
    """What is known of a sign at a moment.

    Args:
        certainty: probability that it is read rightly.
        time_s: median seconds of a right answer.
        answers: how many answers, faded, it rests on; 0 for neighbours alone.
        recall: probability that it is not forgotten; None when it was never answered.
        due: when to see it again, seconds since 1970; None when it was never answered.
        timed: whether a right answer to it was ever timed; else `time_s` is a guess from others.
    """

    certainty: Range
    time_s: Range
    answers: float
    recall: float | None
    due: float | None
    timed: bool


@dataclass(frozen=True, slots=True)
class Totals:
    """Faded figures over all signs; they begin with a few answers that nobody gave.

    Args:
        right, answers: how many.
        log_time, timed: sum of log times, and how many.
        spread, spread_of: sum of squares of log times around their signs' means; how many.
    """

    right: float = 3.0
    answers: float = 4.0
    log_time: float = 2 * log(2.0)
    timed: float = 2.0
    spread: float = 10 * 0.35**2
    spread_of: float = 10.0


@dataclass(frozen=True)
class Knowledge:
    """What a reader knows of all signs."""

    signs: Mapping[ReadingItem, Known] = field(default_factory=dict)
    totals: Totals = Totals()

    @property
    def usual_s(self) -> float:
        """This reader's usual seconds for a right answer; 2 s before there is one."""
        return exp(self.totals.log_time / self.totals.timed)

    def after(self, answer: Answer) -> Knowledge:
        """The knowledge with one more answer in it.

        A clock set back counts as no time passed; the new time is believed from there on.
        """
        if not (isfinite(answer.at) and (answer.t is None or 0 <= answer.t < float("inf"))):
            raise ValueError(f"times are seconds, not {answer.at} and {answer.t}")
        grade = rating(answer.right, answer.t, self.usual_s)
        old = self.signs.get(answer.sign)
        memory = reviewed(None if old is None else old.memory, grade, answer.at)
        if old is None:
            old = Known(0.0, 0.0, 0.0, 0.0, answer.at, memory)
        keep = _FADE * old.fade(answer.at)
        timed = answer.right and answer.t is not None
        time = log(max(answer.t or 0.0, 0.01)) if timed else 0.0
        new = Known(
            keep * old.right + answer.right,
            keep * old.wrong + (not answer.right),
            keep * old.timed + timed,
            keep * old.log_time + time,
            answer.at,
            memory,
        )
        return Knowledge({**self.signs, answer.sign: new}, self._totals(answer, old, time))

    def _totals(self, answer: Answer, old: Known, time: float) -> Totals:
        kept = self.totals
        right = _FADE_ALL * kept.right + answer.right
        totals = replace(kept, right=right, answers=_FADE_ALL * kept.answers + 1)
        if not answer.right or answer.t is None:
            return totals
        totals = replace(
            totals, log_time=_FADE_ALL * kept.log_time + time, timed=_FADE_ALL * kept.timed + 1
        )
        if old.timed < 0.5:
            return totals
        # n / (n + 1) makes up for the old mean's own error.
        square = (time - old.log_time / old.timed) ** 2 * old.timed / (old.timed + 1)
        return replace(
            totals,
            spread=_FADE_ALL * kept.spread + square,
            spread_of=_FADE_ALL * kept.spread_of + 1,
        )

    def certainty(self, sign: ReadingItem, now: float) -> float:
        """Mean probability of a right answer: the figure of :meth:`estimate`, quickly."""
        a, b = self._beta(sign, now)
        return a / (a + b)

    def time(self, sign: ReadingItem, now: float) -> Range:
        """Median seconds of a right answer, with its interval: part of :meth:`estimate`."""
        total, count = 2 * self.totals.log_time / self.totals.timed, 2.0
        for known, weight in self._neighbours(sign, now):
            total += weight * known.log_time
            count += weight * known.timed
        mean, variance = total / count, _TAU**2 + _TAU_FAR**2 * 2 / count
        if sign in self.signs:
            own = self.signs[sign]
            within = self.totals.spread / self.totals.spread_of
            fade = own.fade(now)
            precision = fade * own.timed / within + 1 / variance
            mean = (fade * own.log_time / within + mean / variance) / precision
            variance = 1 / precision
        half = _Z * sqrt(variance)
        return Range(exp(mean), exp(mean - half), exp(mean + half))

    def figures(self, signs: Sequence[ReadingItem], now: float) -> tuple[_Floats, _Floats]:
        """:meth:`certainty` and the mean of :meth:`time` of many signs, at once and faster."""
        if not signs:
            return np.zeros(0), np.zeros(0)
        low = min(sign.position for sign in (*signs, *self.signs)) - _REACH
        high = max(sign.position for sign in (*signs, *self.signs)) + _REACH
        counts = np.zeros((4, len(_CLEFS), len(_SOURCES), high - low + 1))
        for sign, known in self.signs.items():
            values = (known.right, known.right + known.wrong, known.timed, known.log_time)
            at = sign.position - low
            counts[:, _CLEFS[sign.clef], _SOURCES[sign.source], at] = np.multiply(
                values, known.fade(now)
            )
        near: _Floats = np.sum([w * np.roll(counts, d, axis=3) for d, w in _KERNEL], axis=0)
        others = near.sum(axis=2, keepdims=True)
        near = _OTHER_SOURCE * others + (1 - _OTHER_SOURCE) * near - counts
        clef = np.array([_CLEFS[sign.clef] for sign in signs])
        source = np.array([_SOURCES[sign.source] for sign in signs])
        position = np.array([sign.position - low for sign in signs])
        right, answers, timed, log_time = counts[:, clef, source, position]
        near_right, near_answers, near_timed, near_log = near[:, clef, source, position]
        totals = self.totals
        mean = (_OWN_WEIGHT * totals.right / totals.answers + near_right) / (
            _OWN_WEIGHT + near_answers
        )
        certainty = (_OWN_WEIGHT * mean + right) / (_OWN_WEIGHT + answers)
        count = 2.0 + near_timed
        log_mean = (2 * totals.log_time / totals.timed + near_log) / count
        variance = _TAU**2 + _TAU_FAR**2 * 2 / count
        within = totals.spread / totals.spread_of
        precision = timed / within + 1 / variance
        return certainty, np.exp((log_time / within + log_mean / variance) / precision)

    def estimate(self, sign: ReadingItem, now: float) -> Estimate:
        """What is known of a sign at `now`, seconds since 1970."""
        a, b = self._beta(sign, now)
        known = self.signs.get(sign)
        answers = 0.0 if known is None else (known.right + known.wrong) * known.fade(now)
        return Estimate(
            Range(a / (a + b), *beta_interval(a, b)),
            self.time(sign, now),
            answers,
            None if known is None else known.memory.recall(now),
            None if known is None else known.memory.due,
            known is not None and known.timed > 0,
        )

    def _beta(self, sign: ReadingItem, now: float) -> tuple[float, float]:
        right = _OWN_WEIGHT * self.totals.right / self.totals.answers
        answers = _OWN_WEIGHT
        for known, weight in self._neighbours(sign, now):
            right += weight * known.right
            answers += weight * (known.right + known.wrong)
        mean = right / answers
        a, b = _OWN_WEIGHT * mean, _OWN_WEIGHT * (1 - mean)
        if sign in self.signs:
            own = self.signs[sign]
            fade = own.fade(now)
            a, b = a + fade * own.right, b + fade * own.wrong
        return a, b

    @cached_property
    def _staves(self) -> dict[Clef, dict[Source, dict[int, Known]]]:
        """The signs again, by clef, source and position: neighbours are found faster there."""
        staves: dict[Clef, dict[Source, dict[int, Known]]] = {}
        for sign, known in self.signs.items():
            staves.setdefault(sign.clef, {}).setdefault(sign.source, {})[sign.position] = known
        return staves

    def _neighbours(self, sign: ReadingItem, now: float) -> Iterator[tuple[Known, float]]:
        """The other signs nearby that were answered, with their nearness times what they keep."""
        for source, staff in self._staves.get(sign.clef, {}).items():
            own = source is sign.source
            for away, near in _KERNEL:
                known = staff.get(sign.position + away)
                if known is not None and not (own and away == 0):
                    yield known, (near if own else _OTHER_SOURCE * near) * known.fade(now)

    def to_json(self) -> dict[str, Any]:
        """Plain values for a file; its size depends on how many signs there are alone."""
        return {
            "version": VERSION,
            "totals": [getattr(self.totals, name) for name in Totals.__slots__],
            "signs": {
                sign.name: [
                    *(getattr(known, name) for name in Known.__slots__[:-1]),
                    *(getattr(known.memory, name) for name in Memory.__slots__),
                ]
                for sign, known in self.signs.items()
            },
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Knowledge:
        """What :meth:`to_json` gave.

        Raises:
            ValueError: it is of another version, or damaged; the message says where.
        """
        if data.get("version") != VERSION:
            raise ValueError(
                f"kept knowledge of version {data.get('version')!r}; this game reads {VERSION}: "
                "work it out again from the records"
            )
        totals = Totals(*_numbers(data.get("totals"), len(Totals.__slots__), "totals"))
        signs = {}
        for name, values in dict(data.get("signs", {})).items():
            numbers = _numbers(values, 10, name)
            right, wrong, timed, log_time, at, stability, difficulty, due, last, lapsed = numbers
            kept = Memory(stability, difficulty, due, last, bool(lapsed))
            signs[ReadingItem.parse(name)] = Known(right, wrong, timed, log_time, at, kept)
        return cls(signs, totals)


def _numbers(values: object, count: int, name: str) -> list[float]:
    if isinstance(values, (list, tuple)) and len(values) == count:
        numbers = [float(v) for v in values if isinstance(v, (int, float)) and isfinite(v)]
        if len(numbers) == count:
            return numbers
    raise ValueError(f"kept knowledge: {name!r} should have {count} numbers")


def beta_interval(a: float, b: float) -> tuple[float, float]:
    """Ends of the middle :data:`INTERVAL` of Beta(a, b), by sums on a grid of log odds."""
    p = 1 / (1 + np.exp(-_LOGITS))
    weights = a * np.log(p) + b * np.log1p(-p)
    below = np.cumsum(np.exp(weights - weights.max()))
    tail = (1 - INTERVAL) / 2
    ends = np.interp((tail * below[-1], (1 - tail) * below[-1]), below, p)
    return float(ends[0]), float(ends[1])
