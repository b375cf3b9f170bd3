# SPDX-License-Identifier: MIT
"""A connection to PostgreSQL that no silence holds up for ever.

A server that stands still answers nothing while its system still acknowledges what is sent: no
time-out of TCP's, and none of the server's own, ends that. Nor has every system TCP's time-out for
a pulled cable that Linux has (``tcp_user_timeout``).
"""

from __future__ import annotations

import socket
from collections.abc import Generator
from contextlib import suppress
from threading import Timer
from typing import Any, TypeVar

import psycopg

LONGEST_S = 12.0  # the server gives up a statement after ten
_Answer = TypeVar("_Answer")


class Connection(psycopg.Connection[Any]):
    """Stateful: as psycopg's, but a wait that takes too long ends as a lost connection."""

    def wait(self, gen: Generator[Any, Any, _Answer], *args: Any, **more: Any) -> _Answer:
        """Wait for the server.

        Raises:
            psycopg.OperationalError: the connection is lost, or was given up.
        """
        timer = Timer(LONGEST_S, self._give_up)
        timer.daemon = True
        timer.start()
        try:
            return super().wait(gen, *args, **more)
        finally:
            timer.cancel()

    def _give_up(self) -> None:
        with suppress(OSError, psycopg.Error):  # it is closed already
            line = socket.socket(fileno=self.pgconn.socket)
            try:
                line.shutdown(socket.SHUT_RDWR)  # which wakes whoever waits for it
            finally:
                line.detach()
