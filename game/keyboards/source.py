# SPDX-License-Identifier: MIT
"""What every source of presses sends, and the queue that it goes through."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from game.rounds import Press


@dataclass(frozen=True, slots=True)
class KeyDown:
    """A key went down.

    Args:
        t: seconds on the clock of :func:`time.perf_counter`, taken on arrival.
        key: MIDI key number, 0 to 127.
        velocity: 1 to 127.
        keyboard: the label of the keyboard.
    """

    t: float
    key: int
    velocity: int
    keyboard: str


@dataclass(frozen=True, slots=True)
class KeyUp:
    """A key came up; arguments as for :class:`KeyDown`."""

    t: float
    key: int
    keyboard: str


@dataclass(frozen=True, slots=True)
class Connected:
    """A keyboard is now listened to."""

    t: float
    keyboard: str


@dataclass(frozen=True, slots=True)
class Disconnected:
    """A keyboard is gone. The keys that it held have come up before."""

    t: float
    keyboard: str


KeyboardEvent = KeyDown | KeyUp | Connected | Disconnected


def to_press(down: KeyDown, start: float) -> Press:
    """The press that a round judges; `start` is the zero of the round's clock."""
    return Press(down.t - start, down.key, down.velocity, down.keyboard)


class PressQueue:
    """Stateful and thread-safe: events from the MIDI threads to the loop, in order of arrival.

    Args:
        on_arrival: called after each event, on the thread that put it; it wakes the loop.
    """

    def __init__(self, on_arrival: Callable[[], None] | None = None) -> None:
        self._events: deque[KeyboardEvent] = deque()
        self._on_arrival = on_arrival

    def put(self, event: KeyboardEvent) -> None:
        """Add an event."""
        self._events.append(event)
        if self._on_arrival is not None:
            self._on_arrival()

    def drain(self, most: int | None = None) -> list[KeyboardEvent]:
        """Take out what has arrived, oldest first: all of it, or so many at most."""
        taken: list[KeyboardEvent] = []
        while self._events and (most is None or len(taken) < most):
            taken.append(self._events.popleft())
        return taken

    @property
    def empty(self) -> bool:
        """Whether nothing waits."""
        return not self._events
