# SPDX-License-Identifier: MIT
"""Who may still join a heat, and which of them is being chosen."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from game.heats import Seat


class Latecomers:
    """Stateful: those of the class who were not here at the beginning.

    Args:
        absent: as seats, whose numbers change where they are taken.
    """

    def __init__(self, absent: tuple[Seat, ...]) -> None:
        self._absent = absent
        self._offered: list[Seat] = []
        self._place = 0

    @property
    def choosing(self) -> bool:
        """Whether one is being chosen."""
        return bool(self._offered)

    @property
    def title(self) -> str:
        """Who is chosen now."""
        return self._offered[self._place].title

    def choose(self, there: Iterable[Seat]) -> None:
        """Begin to choose among those who are not there; a seat with no name comes last."""
        there = tuple(there)
        members = {seat.member for seat in there if seat.member is not None}
        taken = {seat.number for seat in there}
        free = next(n for n in range(1, max(taken, default=0) + 2) if n not in taken)
        free = max(free, max(taken, default=0) + 1)  # no number twice, also of seats left out
        self._offered = [
            seat if seat.number not in taken else replace(seat, number=free)
            for seat in self._absent
            if seat.member not in members
        ]
        self._offered.append(Seat(free))
        self._place = 0

    def turn(self, by: int) -> None:
        """To another one."""
        self._place = (self._place + by) % max(1, len(self._offered))

    def take(self) -> Seat | None:
        """The one who is chosen; None where nobody is."""
        if not self._offered:
            return None
        seat = self._offered[self._place]
        self.drop()
        return seat

    def drop(self) -> None:
        """Choose nobody."""
        self._offered, self._place = [], 0
