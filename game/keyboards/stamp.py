# SPDX-License-Identifier: MIT
"""When a message arrived, though Python may have been busy at that moment."""

from __future__ import annotations

_DRIFT = 1e-4
_LONGEST_HOLD_S = 0.05


class ArrivalStamp:
    """Stateful: stamps the messages of one port.

    The driver measures the time between two messages on its own thread; ours may first have
    to wait until the interpreter is free, or until it polls. A message came at the latest now, and
    at the latest that much after the one before it, so the earlier of the two is taken. It
    is never later than now. The driver's clock may run slow by 0.01 % before a stamp comes
    early; a difference above 50 ms is not a wait but a driver that cannot be trusted.
    """

    def __init__(self) -> None:
        self._last: float | None = None

    def __call__(self, now: float, delta: float | None) -> float:
        """The time of arrival, in seconds on the clock of `now`.

        Args:
            now: when the callback ran.
            delta: the driver's seconds since the message before; None when unknown.
        """
        t = now
        if self._last is not None and delta is not None:
            counted = self._last + delta * (1 + _DRIFT)
            if now - counted < _LONGEST_HOLD_S:
                t = min(now, counted)
        self._last = t
        return t
