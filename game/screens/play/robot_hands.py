# SPDX-License-Identifier: MIT
"""The robot at the keyboard of a round: its presses wait until they are due."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from heapq import heappop, heappush
from math import inf

from game.keyboards import RobotReader
from game.rounds import Press, Round


class RobotHands:
    """Stateful: the presses that are due, and what they were made for.

    Args:
        robot: who reads; None where a person does, and nothing is ever due.
    """

    def __init__(self, robot: RobotReader | None) -> None:
        self._robot = robot
        self._due: list[tuple[float, int, Press]] = []
        self._made_for: tuple[int, int] | None = None  # index of the prompt, and of its slot

    @property
    def there(self) -> bool:
        """Whether a robot reads."""
        return self._robot is not None

    @property
    def next_at(self) -> float:
        """When the next press is due; infinite when none is."""
        return self._due[0][0] if self._due else inf

    def answer(self, state: Round, now: float) -> None:
        """Read the current slot, which can be read from now on; each slot is answered once."""
        at = state.prompt, state.slot
        if self._robot is not None and state.ended is None and self._made_for != at:
            slot = state.prompts[state.prompt].slots[state.slot]
            self._wait(at, self._robot.answer(slot, now))

    def perform(self, state: Round, now: float) -> None:
        """Play the current phrase to its beat, from its flip at `now` on."""
        at = state.prompt, 0
        if self._robot is not None and state.pulse is not None and self._made_for != at:
            phrase = state.prompts[state.prompt]
            self._wait(at, self._robot.perform(phrase, state.pulse, now))

    def _wait(self, at: tuple[int, int], presses: Iterable[Press]) -> None:
        self._made_for = at
        for order, press in enumerate(presses):
            heappush(self._due, (press.t, order, press))

    def due(self, now: float) -> Iterator[Press]:
        """What is to be played by now, in order."""
        while self._due and self._due[0][0] <= now:
            yield heappop(self._due)[2]

    def stop(self) -> None:
        """Play nothing more; what is shown next is read anew."""
        self._due.clear()
        self._made_for = None
