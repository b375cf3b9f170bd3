# SPDX-License-Identifier: MIT
"""Readers made up for the practice bench: they learn by reading, and forget.

They share nothing with game.reader: not its beta-binomial certainty, not its pooling, not the
stability and difficulty of FSRS. A sign is read in one of two ways (a race of memory against
working it out, after Logan 1988, Psychological Review 95:492-527): *recognised*, quickly, with
a probability that grows with its strength; else *counted* out from the nearest sign known by
heart, at so many seconds a step, with a chance to miscount at every step, or guessed in haste.
What strength is, is one of two models from the literature (both from memory; the figures ours):

- :class:`PowerMemory`, after Pavlik & Anderson (2005), Cognitive Science 29:559-586. Each
  reading leaves a trace that fades by a power of time (Wixted & Ebbesen 1991, Psychological
  Science 2:409-415); strength is the log of their sum, so times fall by a power of practice
  (Newell & Rosenbloom 1981). A trace fades the faster the stronger the sign was when it was
  laid, which is why spaced readings last and crowded ones do not. Time between sittings counts
  for less than time within.
- :class:`ExponentialMemory`, after Smith, Ghazizadeh & Shadmehr (2006), PLoS Biology 4:e179. A
  quick and a slow store, both learn from what is lacking and fade exponentially; times fall
  exponentially with practice (Heathcote, Brown & Mewhort 2000).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import erf, exp, log, sqrt
from random import Random
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from simulated_readers import lognormal

from game.notation import Clef
from game.reader import DAY_S, ReadingItem

FLUENT_S = 2.5
"""A fluent sign is recognised within so many seconds …"""
FLUENT_CHANCE = 0.75
"""… with at least this probability, a week after the last practice."""
WEEK_S = 7 * DAY_S

_BETWEEN = 0.025  # seconds between sittings count for so much (Pavlik & Anderson 2005)
_MONTH = 30
_SPREAD = 0.25  # of log times
_Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Setting:
    """A world to simulate readers in.

    Args:
        name: of the row in the table.
        law: "power" or "exponential".
        forgetting: how much faster than usual things fade.
        transfer: share of a reading that the nearest signs gain from it, 0 to 1.
        knows: the clef that readers come with, read daily for a month; None for newcomers.
    """

    name: str
    law: str
    forgetting: float = 1.0
    transfer: float = 0.0
    knows: Clef | None = None


class Memory(Protocol):
    """Stateful. How strong the signs are."""

    def read(self, sign: int, at: float) -> None:
        """Learn from reading a sign."""

    def rest(self, seconds: float) -> None:
        """Time between two sittings passes."""

    def recognised(self, sign: int, at: float) -> tuple[float, float]:
        """Probability that it is recognised, and the seconds that this takes beyond the least."""

    def all_recognised(self, at: float, rested: float) -> tuple[_Floats, _Floats]:
        """The same of every sign, after so many more seconds without practice."""


def _normal(rng: Random) -> float:
    return log(lognormal(rng, 1.0, 1.0))


class PowerMemory:
    """Stateful. Traces that fade by a power of time."""

    _DECAY, _FRESH, _THRESHOLD, _NOISE = 0.177, 0.217, -0.7, 0.35
    _UNPRACTISED = 1e-9

    def __init__(self, near: _Floats, ease: _Floats, forgetting: float, rng: Random) -> None:
        self._near = near  # share of a reading of the column that the row gains
        self._neighbours = [np.flatnonzero(row) for row in near]
        self._ease = 0.7 + ease + 0.4 * _normal(rng)
        self._decay = self._DECAY * forgetting * exp(0.2 * _normal(rng))
        self._clock = 0.0  # seconds, those between sittings shortened
        self._last = 0.0
        # Of each sign: when its traces were laid, and by which powers they fade.
        self._traces = np.zeros((2, len(ease), 64))
        self._count = [0] * len(ease)
        self._slow = 2.0 * exp(0.2 * _normal(rng))

    def _tick(self, at: float) -> None:
        self._clock += at - self._last
        self._last = at

    def rest(self, seconds: float) -> None:
        self._clock += _BETWEEN * seconds
        self._last += seconds

    def _sum(self, sign: int, clock: float) -> float:
        laid, powers = self._traces[:, sign, : self._count[sign]]
        return float((np.maximum(clock - laid, 1.0) ** -powers).sum())

    def _strength(self, sign: int, clock: float) -> float:
        total = sum(
            self._near[sign, other] * self._sum(other, clock) for other in self._neighbours[sign]
        )
        return log(max(total, self._UNPRACTISED)) + float(self._ease[sign])

    def read(self, sign: int, at: float) -> None:
        self._tick(at)
        power = self._decay + self._FRESH * exp(self._strength(sign, self._clock))
        count = self._count[sign]
        if count == self._traces.shape[2]:
            self._traces = np.concatenate([self._traces, np.zeros_like(self._traces)], axis=2)
        self._traces[:, sign, count] = self._clock, min(power, 3.0)
        self._count[sign] = count + 1

    def recognised(self, sign: int, at: float) -> tuple[float, float]:
        self._tick(at)
        return self._read_as(self._strength(sign, self._clock))

    def _read_as(self, strength: float) -> tuple[float, float]:
        z = (strength - self._THRESHOLD) / self._NOISE
        return 1 / (1 + exp(-max(-30.0, z))), self._slow * 0.5 * exp(-min(3.0, max(-1.0, strength)))

    def all_recognised(self, at: float, rested: float) -> tuple[_Floats, _Floats]:
        clock = self._clock + at - self._last + _BETWEEN * rested
        sums = np.array([self._sum(sign, clock) for sign in range(len(self._ease))])
        strengths = np.log(np.maximum(self._near @ sums, self._UNPRACTISED)) + self._ease
        chances, times = zip(*map(self._read_as, strengths.tolist()), strict=True)
        return np.array(chances), np.array(times)


class ExponentialMemory:
    """Stateful. A quick store and a slow one."""

    _QUICK_S, _SLOW_S = 1200.0, 40 * DAY_S
    _QUICK, _SLOW = 0.25, 0.12

    def __init__(self, near: _Floats, ease: _Floats, forgetting: float, rng: Random) -> None:
        self._near = near
        self._rate = np.minimum(0.6, self._SLOW * np.exp(ease + 0.3 * _normal(rng)))
        fades = exp(0.2 * _normal(rng))
        self._quick_s = self._QUICK_S
        self._slow_s = self._SLOW_S / (forgetting * fades)
        self._quick, self._slow = np.zeros(len(ease)), np.zeros(len(ease))
        self._last = 0.0
        self._time = 2.5 * exp(0.2 * _normal(rng))

    def _tick(self, at: float) -> None:
        gone = at - self._last
        self._quick *= exp(-gone / self._quick_s)
        self._slow *= exp(-gone / self._slow_s)
        self._last = at

    def rest(self, seconds: float) -> None:
        self._tick(self._last + seconds)

    def read(self, sign: int, at: float) -> None:
        self._tick(at)
        lacking = np.maximum(0.0, 1 - self._quick - self._slow)
        gains = self._near[:, sign] * lacking
        self._quick += self._QUICK * gains
        self._slow += self._rate * gains

    def recognised(self, sign: int, at: float) -> tuple[float, float]:
        self._tick(at)
        chance, time = self._read_as(self._quick + self._slow)
        return float(chance[sign]), float(time[sign])

    def _read_as(self, strength: _Floats) -> tuple[_Floats, _Floats]:
        return 1 / (1 + np.exp(-(strength - 0.4) / 0.13)), self._time * (1 - strength)

    def all_recognised(self, at: float, rested: float) -> tuple[_Floats, _Floats]:
        self._tick(at)
        quick = self._quick * exp(-rested / self._quick_s)
        return self._read_as(quick + self._slow * exp(-rested / self._slow_s))


class LearningReader:
    """Stateful: it learns. A reader of these signs, who begins knowing middle C alone.

    Readers differ in how fast they learn and forget, in their least time, in how surely and
    quickly they count; and for each of them some signs are harder than others, those beyond
    the staff on the whole.

    Args:
        signs: that can be met.
        setting: the world.
        seed: another seed is another reader.
    """

    def __init__(self, signs: Sequence[ReadingItem], setting: Setting, seed: int) -> None:
        rng = self._rng = Random(seed)
        self._signs = list(signs)
        self._place = {sign: n for n, sign in enumerate(signs)}
        self._least_s = 0.6 * exp(0.15 * _normal(rng))
        self._step_s = 0.35 * exp(0.3 * _normal(rng))
        self._sure_step = 1 - 0.08 * exp(0.4 * _normal(rng))
        self._haste = 0.2 + 0.4 * rng.random()
        self._slips = 0.02 + 0.04 * rng.random()
        outside = [max(0, -1 - sign.position, sign.position - 9) for sign in signs]
        ease = np.array([0.6 * _normal(rng) - 0.06 * beyond for beyond in outside])
        near = np.array([[self._nearness(a, b, setting.transfer) for b in signs] for a in signs])
        kind = PowerMemory if setting.law == "power" else ExponentialMemory
        self._memory: Memory = kind(near, ease, setting.forgetting, rng)
        self._away = np.array(
            [
                [abs(a.position - b.position) if a.clef is b.clef else 14.0 for b in signs]
                for a in signs
            ]
        )
        places = {Clef.TREBLE: -2, Clef.BASS: 10}
        self._middle_c = np.array([sign.position == places[sign.clef] for sign in signs])
        self._steps = self._steps_from(self._middle_c)
        self.now = 0.0
        for day in range(_MONTH if setting.knows else 0):
            self.rest_until(day * DAY_S)
            for n, sign in enumerate(signs):
                if sign.clef is setting.knows:
                    self.now += 2.0
                    self._memory.read(n, self.now)
        self.rest_until(_MONTH * DAY_S)
        self.know()

    @staticmethod
    def _nearness(a: ReadingItem, b: ReadingItem, transfer: float) -> float:
        if a == b:
            return 1.0
        if a.clef is not b.clef:
            return 0.0
        away = abs(a.position - b.position)
        return transfer * float(0.5 ** (away - 1)) if away <= 2 else 0.0

    def _steps_from(self, known: NDArray[np.bool_]) -> _Floats:
        """Steps from each sign to the nearest one known, of the same clef."""
        steps: _Floats = np.where(known, self._away, 14.0).min(axis=1)
        return steps

    def read(self, sign: ReadingItem) -> tuple[bool, float]:
        """Read a sign and learn from it: whether it was right, and the seconds it took."""
        n, rng = self._place[sign], self._rng
        chance, beyond = self._memory.recognised(n, self.now)
        if rng.random() < chance:
            median, sure = self._least_s + beyond, 1.0
        else:
            haste = rng.random() < self._haste
            median = self._least_s + (0.5 if haste else 1.0 + self._step_s * self._steps[n])
            sure = 0.3 if haste else self._sure_step ** self._steps[n]
        right = rng.random() < sure - self._slips
        t = lognormal(rng, median, _SPREAD)
        self.now += t + (0.2 if right else 0.6 + t)  # the right key is looked for, as long again
        self._memory.read(n, self.now)
        return right, t

    def rest_until(self, at: float) -> None:
        """Do something else."""
        self._memory.rest(at - self.now)
        self.now = at

    def know(self) -> None:
        """Notice what is known by heart by now: that is where counting begins."""
        chances, _ = self._memory.all_recognised(self.now, 0.0)
        self._steps = self._steps_from((chances > 0.8) | self._middle_c)

    def fluent(self) -> NDArray[np.bool_]:
        """Which signs would be recognised in time a week from now without practice."""
        chances, beyond = self._memory.all_recognised(self.now, WEEK_S)
        medians = self._least_s + beyond
        in_time = np.array(
            [0.5 + 0.5 * erf(log(FLUENT_S / m) / _SPREAD / sqrt(2)) for m in medians]
        )
        return np.asarray(chances * in_time >= FLUENT_CHANCE)
