# SPDX-License-Identifier: MIT
"""The time: read here, and given to whoever needs it."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, date, datetime


class Clock:
    """Stateful: the clock of the game.

    Args:
        seconds: what stamps presses, seconds from anywhere.
    """

    def __init__(self, seconds: Callable[[], float] = time.perf_counter) -> None:
        self.seconds = seconds

    def now(self) -> float:
        """Seconds on the clock that stamps presses."""
        return self.seconds()

    @property
    def utc(self) -> datetime:
        """The date and the time of day, in UTC."""
        return datetime.now(UTC)

    @property
    def today(self) -> str:
        """The date here, as ISO 8601 has it."""
        return date.today().isoformat()
