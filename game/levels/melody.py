# SPDX-License-Identifier: MIT
"""How a melody moves: the rules of a phrase, and chance among all melodies that keep them.

The rules follow what books on voice leading say of a single line; Kostka & Payne, *Tonal
Harmony*, "Voice leading: the melodic line" (from memory), has them all but the weights:

- it begins on a note of the tonic chord and ends on the tonic, reached from the step above or
  below it or from the dominant;
- it moves mostly by step; a leap of a fourth or more is followed by a step back; a third by a
  step or another third onwards;
- no leap of a seventh or of an augmented or diminished interval;
- the leading note rises to the tonic, unless it passes down a scale;
- a note comes twice running at most.

A melody of a given length is drawn from all that keep the rules, with a chance in proportion to
the product of its moves' weights: exact sampling by weights computed backwards from the end.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import accumulate
from random import Random

from game.levels.bag import chosen

# Weight of a move by its size in steps. Chosen so that the shares of steps, thirds and leaps come
# near those of folk song (test_phrases.py); the rules add steps after each third and leap.
_WEIGHTS = {0: 0.8, 1: 1.0, 2: 1.8, 3: 2.2, 4: 1.5, 5: 0.7, 7: 0.5}
_ONWARDS = 3.0  # a step rather goes on than turns back
_FROM_DOMINANT = 0.3
_MAJOR, _MINOR = (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10)
_TONIC, _DOMINANT, _LEADING = 0, 4, 6
_LEAP = 3

_State = tuple[int, int]  # place in the hand, and the last move: -3 … 3, leaps alike


@lru_cache(maxsize=64)
class Lines:
    """Stateful, as a cache: all melodies in one hand position of one mode.

    Args:
        lowest: degree of the hand's lowest place, 0 = tonic … 6 = leading note.
        size: how many places it has.
        mode: ``major`` or ``minor``.
    """

    def __init__(self, lowest: int, size: int, mode: str) -> None:
        self._lowest, self._size, self._mode = lowest, size, mode
        self._moves: dict[tuple[_State, int], tuple[list[_State], list[float]]] = {}

    def draw(self, count: int, rng: Random) -> tuple[int, ...] | None:
        """A melody of `count` notes as places of the hand, 0 = lowest; None if there is none."""
        starts = [
            (place, 0) for place in range(self._size) if self._degree(place) in (_TONIC, 2, 4)
        ]
        weights = [self._weight(state, count - 1) for state in starts]
        if not any(weights):
            return None
        state = chosen(starts, list(accumulate(weights)), rng)
        line = [state[0]]
        for left in range(count - 1, 0, -1):
            state = chosen(*self._next(state, left), rng)
            line.append(state[0])
        return tuple(line)

    def _degree(self, place: int) -> int:
        return (self._lowest + place) % 7

    def _weight(self, state: _State, left: int) -> float:
        """The weight of all melodies that go on from a state with `left` more notes."""
        if left == 0:
            return float(self._degree(state[0]) == _TONIC)
        totals = self._next(state, left)[1]
        return totals[-1] if totals else 0.0

    def _next(self, state: _State, left: int) -> tuple[list[_State], list[float]]:
        """Where a melody can go, with running sums of the weights."""
        found = self._moves.get((state, left))
        if found is None:
            states, weights = [], []
            for move, weight in self._allowed(state, last=left == 1):
                then = (state[0] + move, max(-_LEAP, min(_LEAP, move)))
                weight *= self._weight(then, left - 1)
                if weight > 0:
                    states.append(then)
                    weights.append(weight)
            found = self._moves[state, left] = (states, list(accumulate(weights)))
        return found

    def _allowed(self, state: _State, *, last: bool) -> list[tuple[int, float]]:
        place, came = state
        degree = self._degree(place)
        allowed = []
        for move in range(-7, 8):
            to = place + move
            size = abs(move)
            if size not in _WEIGHTS or not 0 <= to < self._size:
                continue
            if self._broken(degree, came, move, last) or self._harsh(place, to):
                continue
            weight = _WEIGHTS[size]
            if size == 1 and came * move > 0:
                weight *= _ONWARDS
            if last and degree == _DOMINANT:
                weight *= _FROM_DOMINANT
            allowed.append((move, weight))
        return allowed

    def _broken(self, degree: int, came: int, move: int, last: bool) -> bool:
        """Whether a move from a degree, come to by the move before, breaks a rule."""
        size = abs(move)
        if last:
            reached = size == 1 or (degree == _DOMINANT and size in (3, 4))
            if not reached or self._degree_after(degree, move) != _TONIC:
                return True
        if abs(came) >= _LEAP and move != (-1 if came > 0 else 1):
            return True
        if abs(came) == 2 and size != 1 and move != came:
            return True
        if degree == _LEADING:
            if move != 1 and not came == move == -1:
                return True
            # Raised in minor, where it rises: from the sixth or by a leap it would be augmented
            # or diminished, and from itself another note of the same name.
            if move == 1 and self._mode == "minor" and came not in (-1, 2, -2):
                return True
        return came == 0 == move

    @staticmethod
    def _degree_after(degree: int, move: int) -> int:
        return (degree + move) % 7

    def _harsh(self, place: int, to: int) -> bool:
        """Whether a leap is augmented or diminished: a tritone, in either direction."""
        scale = _MAJOR if self._mode == "major" else _MINOR

        def semitones(at: int) -> int:
            octave, degree = divmod(self._lowest + at, 7)
            return 12 * octave + scale[degree]

        return abs(to - place) in (3, 4) and abs(semitones(to) - semitones(place)) == 6
