# SPDX-License-Identifier: MIT
"""MIDI keyboards that come and go: every one is listened to, or the one that was chosen."""

from __future__ import annotations

import re
import threading
from collections import Counter
from collections.abc import Callable
from time import perf_counter

from game.keyboards.backends import Backend, BackendError, Closable, Receive, find_backend
from game.keyboards.decode import Decoder
from game.keyboards.source import Connected, Disconnected, KeyDown, KeyUp, PressQueue

LOOK_EVERY_S = 0.4
_NOT_KEYBOARDS = ("Midi Through", "Stavewise")
_ALSA_NUMBER = re.compile(r"\s+\d+:\d+$")


class MidiPorts:
    """Stateful: owns the open ports and the thread that watches them come and go.

    Args:
        queue: where presses, arrivals and departures are put.
        backend: how MIDI is reached; None finds the best way.
        chosen: label of the one keyboard to listen to; None for all.
        clock: seconds, for the stamps.
    """

    def __init__(
        self,
        queue: PressQueue,
        backend: Backend | None = None,
        chosen: str | None = None,
        clock: Callable[[], float] = perf_counter,
    ) -> None:
        self._queue = queue
        self._backend = find_backend() if backend is None else backend
        self._chosen = chosen
        self._clock = clock
        self._open: dict[str, Closable] = {}
        self._refused: set[str] = set()
        self._present: tuple[str, ...] = ()
        self._look = threading.Event()
        self._stop = False
        self._lock = threading.Lock()
        self._watcher = threading.Thread(target=self._watch, daemon=True, name="midi ports")

    @property
    def backend_name(self) -> str:
        """The way to MIDI in use, for people; ``none (reason)`` where there is none."""
        return self._backend.name

    def start(self) -> None:
        """Begin to watch."""
        self._watcher.start()

    def close(self) -> None:
        """Stop watching and close every port."""
        self._stop = True
        self._look.set()
        if self._watcher.is_alive():
            self._watcher.join(3)
        with self._lock:
            for port in self._open.values():
                port.close()
            self._open.clear()

    def names(self) -> tuple[str, ...]:
        """Labels of the keyboards that are there now, chosen or not."""
        if not self._watcher.is_alive():
            self._present = tuple(label for label, _, _ in self._found())
        return self._present

    def choose(self, label: str | None) -> None:
        """Listen to this keyboard only; None for all."""
        self._chosen = label
        self._look.set()

    def look(self) -> None:
        """Compare what is there with what is open, and open or close accordingly."""
        with self._lock:
            found = {label: (place, name) for label, place, name in self._found()}
            self._present = tuple(found)
            wanted = {label for label in found if self._chosen in (None, label)}
            for label in [label for label in self._open if label not in wanted]:
                self._open.pop(label).close()
                self._queue.put(Disconnected(self._clock(), label))
            self._refused &= wanted
            for label in sorted(wanted - self._open.keys() - self._refused):
                place, name = found[label]
                try:
                    self._open[label] = self._backend.open(place, name, self._receiver(label))
                except BackendError:
                    self._refused.add(label)  # taken by another program, until it comes anew
                else:
                    self._queue.put(Connected(self._clock(), label))

    def _watch(self) -> None:
        while not self._stop:
            self.look()
            self._look.wait(LOOK_EVERY_S)
            self._look.clear()

    def _found(self) -> list[tuple[str, int, str]]:
        """(label, place, port name); keyboards of one name are told apart by a number."""
        seen: Counter[str] = Counter()
        found = []
        for place, name in enumerate(self._backend.inputs()):
            if name.startswith(_NOT_KEYBOARDS):
                continue
            label = _ALSA_NUMBER.sub("", name)
            seen[label] += 1
            found.append((label if seen[label] == 1 else f"{label} ({seen[label]})", place, name))
        return found

    def _receiver(self, label: str) -> Receive:
        decoder = Decoder()

        def receive(message: list[int]) -> None:
            t = self._clock()
            for stroke in decoder.feed(message):
                if stroke.velocity:
                    self._queue.put(KeyDown(t, stroke.key, stroke.velocity, label))
                else:
                    self._queue.put(KeyUp(t, stroke.key, label))

        return receive
