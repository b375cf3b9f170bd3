# SPDX-License-Identifier: MIT
"""What keyboards tell the game, and the queue through which they tell it."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KeyDown:
    """A key went down at `t`, seconds of time.perf_counter(), stamped where it arrived."""

    t: float
    key: int
    velocity: int
    keyboard: str


@dataclass(frozen=True, slots=True)
class KeyUp:
    """A key came up."""

    t: float
    key: int
    keyboard: str


@dataclass(frozen=True, slots=True)
class Connected:
    """A keyboard is there and listened to."""

    t: float
    keyboard: str


@dataclass(frozen=True, slots=True)
class Disconnected:
    """A keyboard is gone."""

    t: float
    keyboard: str


Happening = KeyDown | KeyUp | Connected | Disconnected


class PressQueue:
    """Stateful: what has arrived and was not yet taken; any thread may put.

    Args:
        on_arrival: called after each put, on the thread that put: wakes the game's loop.
    """

    def __init__(self, on_arrival: Callable[[], None] | None = None) -> None:
        self._waiting: deque[Happening] = deque()
        self._on_arrival = on_arrival

    def put(self, happening: Happening) -> None:
        """Add to the end."""
        self._waiting.append(happening)
        if self._on_arrival is not None:
            self._on_arrival()

    def drain(self) -> list[Happening]:
        """Take all that is there, in order of arrival."""
        taken = []
        while self._waiting:
            taken.append(self._waiting.popleft())
        return taken
