# SPDX-License-Identifier: MIT
"""A robot reader: answers with a stated speed, spread and share of errors, from a seed."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp
from random import Random
from statistics import NormalDist

from game.levels import Note, Slot
from game.notation import HIGHEST_KEY, LOWEST_KEY, Pitch
from game.rounds import Press

_CHORD_SPREAD_S = 0.02
_CORRECTION = 0.6  # of the speed: looking again is quicker than looking
_NORMAL = NormalDist()


@dataclass
class RobotReader:
    """Stateful in its random numbers: the same seed reads the same way.

    Its times are log-normal, as human reaction times nearly are (Luce 1986, *Response Times*;
    from memory).

    Args:
        seed: of its random numbers.
        speed_s: median seconds from seeing to pressing.
        spread: standard deviation of the logarithm of its times.
        error_rate: share of slots whose first press is wrong, 0 to 1.
    """

    seed: int
    speed_s: float = 0.9
    spread: float = 0.25
    error_rate: float = 0.1
    _rng: Random = field(init=False, repr=False)

    def __post_init__(self) -> None:
        # Only Random.random() is used: Python promises its sequence for a seed, and no other's.
        self._rng = Random(self.seed)

    def answer(self, slot: Slot, t: float) -> tuple[Press, ...]:
        """The presses with which it answers a slot that it first sees at `t` seconds."""
        at = t + self._time(1.0)
        presses = []
        if self._rng.random() < self.error_rate:
            note = slot.notes[int(self._rng.random() * len(slot.notes))]
            wrong = self._misread(note)
            if wrong not in slot.keys:
                presses.append(Press(at, wrong, self._velocity(), "robot"))
                at += self._time(_CORRECTION)
        for key in sorted(slot.keys):
            presses.append(Press(at, key, self._velocity(), "robot"))
            at += _CHORD_SPREAD_S * self._rng.random()
        return tuple(presses)

    def _time(self, share: float) -> float:
        # Away from 0 and 1, where the normal quantile has no end.
        chance = 0.001 + 0.998 * self._rng.random()
        return share * self.speed_s * exp(self.spread * _NORMAL.inv_cdf(chance))

    def _velocity(self) -> int:
        return 50 + int(self._rng.random() * 40)

    def _misread(self, note: Note) -> int:
        """A step too high or low, an octave off, or the sign forgotten; on the piano."""
        pitch = note.pitch
        kinds = [
            Pitch.at_step(pitch.step + 1, pitch.alter).key,
            Pitch.at_step(pitch.step - 1, pitch.alter).key,
            pitch.key + 12,
            pitch.key - 12,
            Pitch.at_step(pitch.step).key,
        ]
        kinds = [key for key in kinds if key != pitch.key and LOWEST_KEY <= key <= HIGHEST_KEY]
        return kinds[int(self._rng.random() * len(kinds))]
