# SPDX-License-Identifier: MIT
"""Placement: in thirty prompts at most, the level of the ladder to begin at.

A level asks for sureness and for speed, so a reader has two abilities, each a place on the
ladder: s, up to where answers are right often enough, and q, up to where they are quick enough.
The level to begin at is the first that is beyond one of them, min(s, q). With a level's distance
d = ability - level (counted from 0), an answer is

- right with probability   0.03 + 0.93 / (1 + exp(-(d + 2)));
- when right, quicker or slower than the level's median_s by the factor exp(-0.2 (d - 0.5)),
  0.45 at the least, since a hand takes its time however well the eye reads; lognormal with a
  spread of 0.45.

So at the last level within reach (d = 1) nine in ten are right and just quick enough, and at the
first beyond it (d = 0) they are not. Both abilities are learnt by Bayes' rule on the rungs of the
ladder; the next prompt is of the level that is likeliest to be the one, where an answer tells
most. That is a Bayesian staircase after Watson & Pelli (1983), Perception & Psychophysics
33:113-120 (from memory); the figures are ours.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log
from typing import Any

import numpy as np
from numpy.typing import NDArray

from game.levels.ladder import Ladder, Rung

MOST_PROMPTS = 30
LEAST_PROMPTS = 12
SURE = 0.99
"""Placement ends when the level is this probably within one of the one it names."""

_GUESS, _RANGE, _EDGE = 0.03, 0.93, 2.0
_SPEED, _SPREAD, _FASTEST = 0.2, 0.45, log(0.45)
_FIRST, _STRIDE = 1, 5
"""The first prompt is of this rung at most, and each later one of so many more: it begins gently
for somebody who reads nothing yet."""
_LOW_START = 1.5  # the top of the ladder is at first exp(-1.5) times as likely as its foot
_Floats = NDArray[np.float64]


def suited(ladder: Ladder) -> tuple[Rung, ...]:
    """The rungs that placement goes over: those whose notes are read one prompt at a time."""
    return tuple(
        rung
        for rung in ladder.rungs
        if rung.level.time is None and rung.level.show.texture not in ("signature", "written")
    )


@dataclass(frozen=True)
class Placement:
    """What is known of a reader's level.

    Args:
        sure: log probability, but for a constant, of each rung being the first that is not
            read surely enough; one more for none at all.
        quick: likewise, quickly enough.
        prompts: how many were answered.
    """

    sure: tuple[float, ...]
    quick: tuple[float, ...]
    prompts: int = 0

    @classmethod
    def begin(cls, rungs: int) -> Placement:
        """Before the first prompt, over so many rungs (1 or more); newcomers are likelier."""
        if rungs < 1:
            raise ValueError("placement needs a level at least")
        prior = tuple(-_LOW_START * place / rungs for place in range(rungs + 1))
        return cls(prior, prior)

    @property
    def rung(self) -> int:
        """Index of the rung to begin at: the median of what is known; the top at most."""
        return min(int(np.searchsorted(np.cumsum(self._level()), 0.5)), len(self.sure) - 2)

    @property
    def next(self) -> int:
        """Index of the rung to ask about next."""
        return min(self.rung, _FIRST + _STRIDE * self.prompts)

    @property
    def done(self) -> bool:
        """Whether the level is known well enough, or thirty prompts were answered."""
        if self.prompts < LEAST_PROMPTS:
            return False
        near = self._level()[max(0, self.rung - 1) : self.rung + 2].sum()
        return self.prompts >= MOST_PROMPTS or bool(near >= SURE)

    def after(
        self, rung: int, median_s: float, answers: Sequence[tuple[bool, float | None]]
    ) -> Placement:
        """What is known after a prompt.

        Args:
            rung: index of the level that it was of.
            median_s: what that level asks for.
            answers: of each slot, whether the first answer was right, and its seconds; the
                answers of one prompt hang together and count for the root of their number.
        """
        away = np.arange(len(self.sure)) - rung
        chance = _GUESS + _RANGE / (1 + np.exp(-(away + _EDGE)))
        sure, quick = np.array(self.sure), np.array(self.quick)
        weight = len(answers) ** -0.5 if answers else 0.0
        for right, t in answers:
            sure += weight * np.log(chance if right else 1 - chance)
            if right and t is not None:
                pace = log(max(t, 0.01) / median_s)
                z = (pace - np.maximum(-_SPEED * (away - 0.5), _FASTEST)) / _SPREAD
                far = np.abs(z)  # one long look aside is no proof: beyond 2 only the distance tells
                quick -= weight * np.where(far < 2, 0.5 * far * far, 2 * far - 2)
        return Placement(_kept(sure), _kept(quick), self.prompts + 1)

    def _level(self) -> _Floats:
        """Probability of each rung being the level: of min(sure, quick)."""
        beyond = [np.cumsum(_chances(ability)[::-1])[::-1] for ability in (self.sure, self.quick)]
        both = beyond[0] * beyond[1]
        level: _Floats = both - np.append(both[1:], 0.0)
        return level

    def to_json(self) -> dict[str, Any]:
        """Plain values for a file."""
        return {"sure": list(self.sure), "quick": list(self.quick), "prompts": self.prompts}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Placement:
        """What :meth:`to_json` gave.

        Raises:
            ValueError: something is missing or does not fit.
        """
        try:
            sure, quick = (tuple(float(v) for v in data[name]) for name in ("sure", "quick"))
            found = cls(sure, quick, int(data["prompts"]))
        except (KeyError, TypeError) as error:
            raise ValueError(f"kept placement is damaged: {error}") from None
        if len(sure) != len(quick) or len(sure) < 2:
            raise ValueError("kept placement is damaged: its two abilities differ in length")
        return found


def _chances(logs: Sequence[float]) -> _Floats:
    values = np.exp(np.array(logs) - max(logs))
    chances: _Floats = values / values.sum()
    return chances


def _kept(logs: _Floats) -> tuple[float, ...]:
    return tuple(float(value) for value in logs - logs.max())
