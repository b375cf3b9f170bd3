# SPDX-License-Identifier: MIT
"""MIDI keyboards, listened to by a process of their own."""

from __future__ import annotations

import json
import pickle
import subprocess
import sys
import threading
import time
from contextlib import suppress

from game.keyboards.source import PressQueue
from game.midi.events import KeyboardEvent, Keyboards, KeyDown, KeyUp

_BEGIN = "import sys; sys.path[:] = {path!r}; from game.midi.listener import main; main()"
_CLOSE_S = 0.8  # a driver that takes longer is left to the system
_AGAIN_S = (
    0.2,
    1.0,
    5.0,
    30.0,
)  # from an end that nobody wished to the next one, if it said nothing


def label_now(kept: str) -> str:
    """A label that was kept, as that keyboard is called now: the UTF-8 of names was once read as
    Latin-1 on Windows and as Mac Roman on macOS."""
    for encoding in ("latin-1", "mac-roman"):
        with suppress(UnicodeError):
            return kept.encode(encoding).decode()
    return kept


class MidiKeyboards:
    """Stateful: a process that listens (:mod:`game.midi`), and the thread that takes what it says.

    Nothing here waits for MIDI: where it takes its time, so does the first :class:`Keyboards`.
    Where the process ends, as some drivers make it, another one takes its place.

    Args:
        queue: where the events of all keyboards go.
        chosen: label of the only keyboard to listen to; None listens to all.
    """

    def __init__(self, queue: PressQueue, chosen: str | None = None) -> None:
        self._queue = queue
        self._chosen = chosen
        self._process: subprocess.Popen[bytes] | None = None
        self._thread: threading.Thread | None = None
        self._closed = threading.Event()
        self._lock = threading.Lock()
        self._held: set[tuple[str, int]] = set()
        self._now = Keyboards()

    def start(self) -> None:
        """Begin to look for keyboards."""
        self._thread = threading.Thread(target=self._run, name="MIDI", daemon=True)
        self._thread.start()

    def choose(self, label: str | None) -> None:
        """Listen to one keyboard only, by its label, or to all (None)."""
        with self._lock:
            if label != self._chosen:
                self._chosen = label
                self._tell()

    def close(self) -> None:
        """End it, within two seconds; nothing is put in the queue after this."""
        self._closed.set()
        self._hang_up()
        if self._process is not None:
            try:
                self._process.wait(_CLOSE_S)
            except subprocess.TimeoutExpired:
                self._process.kill()
        if self._thread is not None:
            self._thread.join(0.3)

    def _run(self) -> None:
        tries = 0
        while not self._closed.is_set():
            try:
                with self._lock:
                    if self._closed.is_set():
                        return
                    self._process = self._begun()
                    self._tell()
            except OSError as error:
                self._put(Keyboards(time.perf_counter(), reached=f"none: {error}"))
                return
            self._listen(self._process)
            status = self._process.wait()
            self._hang_up()
            if self._closed.is_set() or status == 0:  # it is of no use to try again
                return
            tries = 0 if self._now.reached else tries + 1
            why = f"none: the MIDI driver broke off ({status}); it is tried again"
            self._put(Keyboards(time.perf_counter(), gone=self._now.heard, reached=why))
            self._now = Keyboards()
            self._closed.wait(_AGAIN_S[min(tries, len(_AGAIN_S) - 1)])

    def _begun(self) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [sys.executable, "-c", _BEGIN.format(path=sys.path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )

    def _tell(self) -> None:
        """Tell the process which keyboard is chosen."""
        if self._process is not None and self._process.stdin is not None:
            with suppress(OSError, ValueError):  # it has ended, and the next one is told
                self._process.stdin.write(json.dumps(self._chosen).encode() + b"\n")
                self._process.stdin.flush()

    def _hang_up(self) -> None:
        """Nothing more is told; a process that lives ends by that."""
        with self._lock, suppress(OSError):
            if self._process is not None and self._process.stdin is not None:
                self._process.stdin.close()

    def _listen(self, process: subprocess.Popen[bytes]) -> None:
        """Take what the process says until it ends."""
        assert process.stdout is not None
        with process.stdout, suppress(EOFError, OSError, pickle.UnpicklingError):
            while True:
                for event in pickle.load(process.stdout):
                    self._put(event)

    def _put(self, event: KeyboardEvent) -> None:
        """Hand an event over; the keys that a keyboard held come up before it is gone."""
        if self._closed.is_set():
            return
        if isinstance(event, KeyDown):
            self._held.add((event.keyboard, event.key))
        elif isinstance(event, KeyUp):
            self._held.discard((event.keyboard, event.key))
        else:
            self._now = event
            for label, key in sorted(held for held in self._held if held[0] in event.gone):
                self._held.discard((label, key))
                self._queue.put(KeyUp(event.t, key, label))
        self._queue.put(event)


def find_keyboards(patience_s: float = 60.0) -> Keyboards:
    """Which MIDI keyboards there are just now.

    Args:
        patience_s: a MIDI system that was left in disorder answers only after a while.
    """
    arrived = threading.Event()
    queue = PressQueue(on_arrival=arrived.set)
    midi = MidiKeyboards(queue)
    midi.start()
    arrived.wait(patience_s)
    midi.close()
    nothing = Keyboards(reached=f"none: no answer within {patience_s:.0f} seconds")
    return next((event for event in queue.drain() if isinstance(event, Keyboards)), nothing)
