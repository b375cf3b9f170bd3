# SPDX-License-Identifier: MIT
"""A thread that looks for messages where nothing calls when they arrive."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable


class Poller:
    """Stateful: calls functions again and again, all on one thread of its own.

    Args:
        pause_s: seconds between two rounds of calls.
    """

    def __init__(self, pause_s: float) -> None:
        self._pause_s = pause_s
        self.lock = threading.RLock()
        """Held while the functions are called."""
        self._calls: list[Callable[[], None]] = []
        self._wanted = threading.Event()
        self._closed = False
        self._thread = threading.Thread(target=self._run, name="MIDI poller", daemon=True)
        self._thread.start()

    def add(self, call: Callable[[], None]) -> None:
        """Begin to call a function."""
        with self.lock:
            self._calls.append(call)
            self._wanted.set()

    def remove(self, call: Callable[[], None]) -> None:
        """Cease to call it; it is not running when this returns."""
        with self.lock:
            self._calls.remove(call)
            if not self._calls:
                self._wanted.clear()

    def close(self) -> None:
        """End the thread."""
        self._closed = True
        self._wanted.set()
        self._thread.join()

    def _run(self) -> None:
        while self._wanted.wait() and not self._closed:
            with self.lock:
                for call in self._calls:
                    call()
            time.sleep(self._pause_s)
