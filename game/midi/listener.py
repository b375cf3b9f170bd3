# SPDX-License-Identifier: MIT
"""What runs in the process that listens: events go out, pickled, on the standard output; wishes
come in on the standard input, one a line, until it ends."""

from __future__ import annotations

import faulthandler
import json
import os
import pickle
import signal
import sys
import threading
import time
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager

from game.midi.events import KeyboardEvent
from game.midi.ports import MidiPorts

WATCH_S = 0.4
"""Seconds between two looks at the list of inputs."""
_POLL_S = 0.002  # stamps do not suffer: the driver's own time between messages is used
_IDLE_S = 0.05
_CLOSE_S = 2.0  # a driver that takes longer is left to the system


def main() -> None:
    """Listen until the standard input ends, or MIDI cannot be reached at all."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the game's window decides
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # libraries that print disturb nobody
    happened: list[KeyboardEvent] = []
    wishes: deque[str | None] = deque(maxlen=1)
    ended = threading.Event()
    ports = MidiPorts(happened.append, chosen=json.loads(sys.stdin.readline()), closing=_soon)
    threading.Thread(target=_read, args=(wishes, ended), daemon=True).start()
    due = 0.0
    while not ended.is_set():
        if wishes:
            ports.choose(wishes.pop())
            due = 0.0
        if time.perf_counter() >= due:
            ports.look()
            due = time.perf_counter() + WATCH_S
        ports.poll()
        if happened:
            pickle.dump(happened, out)
            out.flush()
            happened.clear()
        if ports.lasting:
            return
        time.sleep(_POLL_S if ports.listens else _IDLE_S)
    ports.close()


@contextmanager
def _soon() -> Iterator[None]:
    """Or the process ends, and the game begins another one: a driver that hangs does not let go
    of the interpreter, which this needs none of."""
    faulthandler.dump_traceback_later(_CLOSE_S, exit=True)
    yield
    faulthandler.cancel_dump_traceback_later()


def _read(wishes: deque[str | None], ended: threading.Event) -> None:
    for line in sys.stdin:
        wishes.append(json.loads(line))
    ended.set()
