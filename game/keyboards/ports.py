# SPDX-License-Identifier: MIT
"""Presses from real keyboards, which may come and go."""

from __future__ import annotations

import threading
import time
from collections import Counter
from itertools import count

from game.keyboards.backend import Backend, BackendError, Port, choose_backend
from game.keyboards.decode import Down, MidiDecoder
from game.keyboards.source import Connected, Disconnected, KeyDown, KeyUp, PressQueue

WATCH_S = 0.4
"""Seconds between two looks at the list of inputs."""
_NOT_KEYBOARDS = ("Stavewise", "Midi Through")


class MidiPorts:
    """Stateful: owns the open MIDI inputs and the one thread that watches the list of inputs.

    A keyboard that is pulled out and put back within `WATCH_S` may go unnoticed where the
    system gives it the same name; no known system is that quick.

    Args:
        queue: where the events of all keyboards go.
        backend: how MIDI is reached; None takes :func:`choose_backend`'s.
        chosen: label of the only keyboard to listen to; None listens to all.
    """

    def __init__(
        self, queue: PressQueue, backend: Backend | None = None, chosen: str | None = None
    ) -> None:
        self._queue = queue
        self._backend = backend
        self._chosen = chosen
        self._missing: BackendError | None = BackendError("not started")
        self._names: tuple[str, ...] = ()
        self._reached = ""
        self._present: dict[tuple[str, int], str] = {}
        self._open: dict[tuple[str, int], _Keyboard] = {}
        self._lock = threading.RLock()
        self._closed = threading.Event()
        self._watcher: threading.Thread | None = None

    def start(self) -> None:
        """Open what is there now, then keep watching."""
        self.look()
        self._watcher = threading.Thread(target=self._watch, name="MIDI watcher", daemon=True)
        self._watcher.start()

    def close(self) -> None:
        """Close everything; nothing is put in the queue after this."""
        self._closed.set()
        if self._watcher is not None:
            self._watcher.join()
        with self._lock:
            for keyboard in self._open.values():
                keyboard.port.close()
            self._open.clear()
            if self._backend is not None:
                self._backend.close()
                self._backend = None

    def names(self) -> tuple[str, ...]:
        """Labels of the keyboards that are there, listened to or not."""
        return self._names

    def choose(self, name: str | None) -> None:
        """Listen to one keyboard only, by its label, or to all (None); nothing is opened before
        :meth:`start`."""
        with self._lock:
            self._chosen = name
            if self._backend is not None or self._watcher is not None:
                self.look()

    @property
    def backend_name(self) -> str:
        """How MIDI is reached, such as ``rtmidi: JACK``, or ``none:`` and the reason; empty
        before the first look."""
        return self._reached

    def look(self) -> None:
        """Compare the list of inputs with the open ones, once; close and open what differs."""
        with self._lock:
            if self._closed.is_set():
                return
            refused = self._compare() if self._reach() else ()
            self._names = tuple(self._present.values())
            if self._backend is None:
                self._reached = f"none: {self._missing}"
            elif refused:
                names = ", ".join(refused)
                self._reached = f"{self._backend.name} ({names}: in use by another program?)"
            else:
                self._reached = self._backend.name

    def _compare(self) -> tuple[str, ...]:
        """The labels of inputs that could not be opened."""
        assert self._backend is not None
        try:
            names = self._backend.inputs()
        except BackendError as error:
            self._lose(error)
            return ()
        seen: Counter[str] = Counter()
        places: dict[tuple[str, int], int] = {}
        for index, name in enumerate(names):
            if not any(word in name for word in _NOT_KEYBOARDS):
                places[name, seen[name]] = index
                seen[name] += 1
        self._forget(seen)
        refused = []
        for place, index in places.items():
            if place not in self._present:
                self._present[place] = self._new_label(place[0])
            label = self._present[place]
            if place not in self._open and self._chosen in (None, label):
                try:
                    self._listen(place, index, label)
                except BackendError:
                    refused.append(label)
        return tuple(refused)

    def _reach(self) -> bool:
        """Whether there is a backend; looks for one unless that is of no use."""
        if self._backend is None and not (self._missing and self._missing.lasting):
            try:
                self._backend = choose_backend()
            except BackendError as error:
                self._missing = error
        return self._backend is not None

    def _lose(self, error: BackendError) -> None:
        """The MIDI system is gone: a new one is looked for at the next look."""
        self._forget(Counter())
        assert self._backend is not None
        self._backend.close()
        self._backend, self._missing = None, error

    def _forget(self, seen: Counter[str]) -> None:
        """Close what is gone or no longer chosen.

        Of several inputs of one name nobody can tell which one came or left, so all are
        closed and those that are there are opened again.
        """
        before = Counter(name for name, _ in self._present)
        for place, label in tuple(self._present.items()):
            gone = seen[place[0]] != before[place[0]]
            if (gone or self._chosen not in (None, label)) and place in self._open:
                self._open.pop(place).leave()
            if gone:
                del self._present[place]

    def _listen(self, place: tuple[str, int], index: int, label: str) -> None:
        assert self._backend is not None
        keyboard = _Keyboard(label, self._queue)
        keyboard.port = self._backend.open(index, keyboard.receive)
        self._open[place] = keyboard
        keyboard.join()

    def _new_label(self, name: str) -> str:
        """The keyboard's own name, numbered from the second of that name on."""
        assert self._backend is not None
        plain = self._backend.label(name)
        taken = set(self._present.values())
        numbered = (plain if number == 1 else f"{plain} ({number})" for number in count(1))
        return next(label for label in numbered if label not in taken)

    def _watch(self) -> None:
        while not self._closed.wait(WATCH_S):
            self.look()


class _Keyboard:
    """Stateful: an open input; turns its bytes into events on the MIDI thread."""

    port: Port

    def __init__(self, label: str, queue: PressQueue) -> None:
        self._label = label
        self._queue = queue
        self._decoder = MidiDecoder()
        self._held: set[int] = set()
        self._joined = False

    def join(self) -> None:
        """The keyboard is there; what it sent before is passed over."""
        self._joined = True
        self._queue.put(Connected(time.perf_counter(), self._label))

    def receive(self, data: bytes, t: float) -> None:
        """Bytes have arrived at time `t`."""
        for move in self._decoder.feed(data):
            if not self._joined:
                continue
            if isinstance(move, Down):
                self._held.add(move.key)
                self._queue.put(KeyDown(t, move.key, move.velocity, self._label))
            else:
                self._held.discard(move.key)
                self._queue.put(KeyUp(t, move.key, self._label))

    def leave(self) -> None:
        """The keyboard is gone: its keys come up and it is reported."""
        self.port.close()
        now = time.perf_counter()
        for key in sorted(self._held):
            self._queue.put(KeyUp(now, key, self._label))
        self._queue.put(Disconnected(now, self._label))
