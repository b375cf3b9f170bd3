# SPDX-License-Identifier: MIT
"""When a message arrived, though nobody looked at that moment."""

from __future__ import annotations


class ArrivalStamp:
    """Stateful: stamps the messages of one port.

    A message came after the look before, which did not find it, and before the look that did.
    Between the two the driver knows better: it has measured, on its own thread, the time since the
    message before. So a look that comes late, since the interpreter was busy, spoils no stamp, and
    a driver's clock that is wrong does so by no more than the time between two looks.
    """

    def __init__(self) -> None:
        self._last: float | None = None

    def __call__(self, looked: float, now: float, delta: float | None) -> float:
        """The time of arrival, in seconds on the clock of `now`.

        Args:
            looked: when the port was last found empty.
            now: when the message was found.
            delta: the driver's seconds since the message before; None when unknown.
        """
        if self._last is None or delta is None:
            self._last = now
        else:
            self._last = min(now, max(looked, self._last + delta))
        return self._last
