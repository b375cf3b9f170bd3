# SPDX-License-Identifier: MIT
"""What is heard in a heat: the seconds of the count-in, and the beat of phrases read in time."""

from __future__ import annotations

from collections.abc import Mapping
from math import floor
from typing import TYPE_CHECKING

from game.heats import Heat
from game.screens.school.seat_staff import SeatStaff

if TYPE_CHECKING:
    from game.ui.stage import Stage


class HeatClicks:
    """Stateful: what has sounded already."""

    def __init__(self, stage: Stage) -> None:
        self._stage = stage
        self._counted: int | None = None  # the last second of the count-in that sounded
        self._beats: dict[int, int] = {}

    def begin(self) -> None:
        """The count-in is over, or stands still, and begins again."""
        self._counted = None

    def count(self, left: int) -> None:
        """So many seconds of the count-in are left."""
        if left != self._counted:
            self._counted = left
            self._stage.sounds.click(first=left == 1)

    def beat(self, heat: Heat, staves: Mapping[int, SeatStaff], t: float) -> None:
        """The beat of phrases that are read in time: that of the first seat which has one."""
        for number, staff in staves.items():
            chair = heat.chair(number)
            beat = None if chair is None else staff.beat(chair.round, t)
            if beat is None:
                self._beats.pop(number, None)
                continue
            if floor(beat) != self._beats.get(number):
                self._beats[number] = floor(beat)
                heard = self._stage.settings.now.beat
                if heard == "always" or (heard == "count-in only" and beat < 0):
                    self._stage.sounds.click(first=floor(beat) % beats_in_bar(staff) == 0)
            return


def beats_in_bar(staff: SeatStaff) -> int:
    """Of the prompt that a seat has before it."""
    prompt = staff.prompt
    return round((prompt.bar_quarters or 4) / (prompt.beat_quarters or 1))
