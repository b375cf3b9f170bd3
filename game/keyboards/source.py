# SPDX-License-Identifier: MIT
"""The queue that every source of presses sends through, and how a press is told to a round."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from game.midi.events import KeyboardEvent, KeyDown
from game.rounds import Press


def to_press(down: KeyDown, start: float) -> Press:
    """The press that a round judges; `start` is the zero of the round's clock."""
    return Press(down.t - start, down.key, down.velocity, down.keyboard)


class PressQueue:
    """Stateful and thread-safe: events from the MIDI thread to the loop, in order of arrival.

    Args:
        on_arrival: called after each event, on the thread that put it; it wakes the loop.
    """

    def __init__(self, on_arrival: Callable[[], None] | None = None) -> None:
        self._events: deque[KeyboardEvent] = deque()
        self.on_arrival = on_arrival

    def put(self, event: KeyboardEvent) -> None:
        """Add an event."""
        self._events.append(event)
        if self.on_arrival is not None:
            self.on_arrival()

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
