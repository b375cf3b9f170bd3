# SPDX-License-Identifier: MIT
"""What is asked before it is done: the same control chosen again says yes."""

from __future__ import annotations

from collections.abc import Callable, Hashable

HASTE_S = 0.5
"""A second choice so soon is the other half of a double click, and no answer."""
LAPSE_S = 5.0
"""A question that nobody has answered for so long is over."""


class AskedTwice:
    """Stateful: the question that is open, if one is: of what, and since when.

    Args:
        now: the clock, seconds.
    """

    def __init__(self, now: Callable[[], float]) -> None:
        self._now = now
        self._what: Hashable = None
        self._since = 0.0

    @property
    def open(self) -> Hashable:
        """What is asked about now; None where nothing is."""
        if self._what is not None and self._now() - self._since >= LAPSE_S:
            self._what = None
        return self._what

    def sure(self, what: Hashable) -> bool:
        """Something is chosen: whether that says yes, and does not ask first."""
        now = self._now()
        sure = self.open == what and now - self._since >= HASTE_S
        self._what, self._since = None if sure else what, now
        return sure

    def drop(self) -> None:
        """Nothing is asked any more."""
        self._what = None

    @property
    def left(self) -> float | None:
        """Seconds until the question lapses; None where there is none."""
        return None if self.open is None else max(0.0, self._since + LAPSE_S - self._now())
