# SPDX-License-Identifier: MIT
"""One game at a time opens a file."""

from __future__ import annotations

import os
import sqlite3
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

if sys.platform != "win32":
    import fcntl

_LONGEST_S = 5.0
_STEP_S = 0.01


@contextmanager
def own_turn(folder: Path) -> Iterator[None]:
    """Hold the folder while a store in it is opened, so that no other game does the same.

    A file must not be renamed while another game is just opening it. The lock is on the
    folder itself: it leaves no file behind, and ends with the process. Where a folder cannot
    be locked (Windows, some network drives) or another game does not go on, this one goes
    ahead; Windows itself lets nobody rename an open file.
    """
    if sys.platform == "win32":
        yield
    else:
        handle = os.open(folder, os.O_RDONLY)
        try:
            give_up = time.monotonic() + _LONGEST_S
            while time.monotonic() < give_up:
                try:
                    fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                    break
                except BlockingIOError:
                    time.sleep(_STEP_S)
                except OSError:
                    break
            yield
        finally:
            os.close(handle)


def write_ahead(connection: sqlite3.Connection, patience_s: float) -> bool:
    """Turn WAL on: readers and the writer no longer wait for each other.

    SQLite does not wait for its turn to change the mode, so we do.

    Returns:
        Whether it is on: SQLite leaves a file as it is where the disk has no shared memory.

    Raises:
        sqlite3.OperationalError: it cannot be turned on.
    """
    give_up = time.monotonic() + patience_s
    while True:
        try:
            (mode,) = connection.execute("PRAGMA journal_mode=WAL").fetchone()
            return bool(mode == "wal")
        except sqlite3.OperationalError:
            if time.monotonic() > give_up:
                raise
            time.sleep(_STEP_S)
