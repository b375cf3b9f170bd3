# SPDX-License-Identifier: MIT
"""Even chance: a bag that is emptied before it is filled again."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from random import Random
from typing import Generic, TypeVar

_T = TypeVar("_T")


class Bag(Generic[_T]):
    """Stateful. Draws each item once per filling, never the same twice running if it can.

    Only Random.random() is used: Python promises its sequence for a seed, and no other's.
    """

    def __init__(self, items: Sequence[_T], rng: Random) -> None:
        self._items = items
        self._rng = rng
        self._left: list[_T] = []
        self._last: _T | None = None

    def draw(self) -> _T:
        """The next item."""
        if not self._left:
            self._left = self._shuffled()
            if len(self._left) > 1 and self._left[-1] == self._last:
                self._left.insert(0, self._left.pop())
        self._last = self._left.pop()
        return self._last

    def _shuffled(self) -> list[_T]:
        items = list(self._items)
        for top in range(len(items) - 1, 0, -1):
            other = int(self._rng.random() * (top + 1))
            items[top], items[other] = items[other], items[top]
        return items


def pick(items: Sequence[_T], rng: Random) -> _T:
    """One of them, each as likely as another."""
    return items[int(rng.random() * len(items))]


def chosen(items: Sequence[_T], totals: Sequence[float], rng: Random) -> _T:
    """One of them by weight; `totals` are running sums of the weights, the last above 0."""
    return items[min(bisect_right(totals, rng.random() * totals[-1]), len(items) - 1)]
