# SPDX-License-Identifier: MIT
"""Presses from real keyboards, which may come and go."""

from __future__ import annotations

import re
import time
from collections import Counter
from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from itertools import count

from game.midi.backend import Backend, BackendError, Input, Port
from game.midi.events import KeyboardEvent, Keyboards, KeyDown, KeyUp

_NO_KEYBOARDS = re.compile(
    r"stavewise|through|loop ?(be|back|midi)|virmidi|\biac\b|network|\bsession \d|rtp ?midi"
    r"|announce|\btimer\b",
    re.IGNORECASE,
)
"""Our own ports, and those by which programs reach each other or another computer."""

_NOTES = re.compile(rb"[\x80-\x9f][\x00-\x7f]{2}")
"""Note off and note on of any channel. RtMidi gives whole messages, whose first byte alone is above
0x7F; or notes after a system exclusive message that never ended."""

Place = tuple[str, int]
"""Identity of an input, and which of several with that identity."""


class MidiPorts:
    """Stateful: owns the open MIDI inputs. One thread calls it.

    A keyboard that is pulled out and put back between two looks may go unnoticed where the
    system gives it the same name; no known system is that quick.

    Args:
        put: takes the events of all keyboards.
        backend: how MIDI is reached; None takes the one that there is.
        chosen: label of the only keyboard to listen to; None listens to all.
        closing: entered while an input is closed, which some drivers never get done with.
    """

    def __init__(
        self,
        put: Callable[[KeyboardEvent], None],
        backend: Backend | None = None,
        chosen: str | None = None,
        closing: Callable[[], AbstractContextManager[None]] = nullcontext,
    ) -> None:
        self._put = put
        self._backend = backend
        self._chosen = chosen
        self._closing = closing
        self._missing: BackendError | None = None
        self._labels: dict[Place, str] = {}
        self._open: dict[Place, _Keyboard] = {}
        self._told = Keyboards()

    @property
    def lasting(self) -> bool:
        """Whether MIDI cannot be reached, and it is no use to look again."""
        return self._missing is not None and self._missing.lasting

    @property
    def listens(self) -> bool:
        """Whether any input is open."""
        return bool(self._open)

    def choose(self, label: str | None) -> None:
        """Listen to one keyboard only, by its label, or to all (None), from the next look on."""
        self._chosen = label

    def look(self) -> None:
        """Compare the list of inputs with the open ones; close and open what differs."""
        if self._backend is None and not self.lasting:
            try:
                self._backend, self._missing = Backend(), None
            except BackendError as error:
                self._missing = error
        before = tuple(self._open.values())
        refused, passed_over = self._compare()
        after = tuple(self._open.values())
        now = Keyboards(
            time.perf_counter(),
            heard=tuple(keyboard.label for keyboard in after),
            gone=tuple(keyboard.label for keyboard in before if keyboard not in after),
            came=tuple(keyboard.label for keyboard in after if keyboard not in before),
            there=tuple(self._labels.values()),
            reached=f"none: {self._missing}" if self._backend is None else self._backend.name,
            refused=refused,
            passed_over=passed_over,
            identities=tuple(identity for identity, _ in self._labels),
        )
        if now != replace(self._told, t=now.t):
            self._told = now.settled
            self._put(now)

    def poll(self) -> None:
        """Hand on what has been played since the last time."""
        for keyboard in self._open.values():
            keyboard.poll(self._put)

    def close(self) -> None:
        """Close everything."""
        self._close(tuple(self._open))
        if self._backend is not None:
            with self._closing():
                self._backend.close()
            self._backend = None

    def _compare(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Labels of those that cannot be opened, and names of what is no keyboard."""
        inputs = []
        if self._backend is not None:
            try:
                inputs = self._backend.inputs()
            except BackendError as error:  # a new one is looked for at the next look
                self.close()
                self._labels.clear()
                self._missing = error
        found: dict[Place, tuple[int, Input]] = {}
        seen: Counter[str] = Counter()
        passed = []
        for index, one in enumerate(inputs):
            if _NO_KEYBOARDS.search(one.name):
                passed.append(one.name)
            else:
                found[one.identity, seen[one.identity]] = index, one
                seen[one.identity] += 1
        self._forget(seen)
        refused = []
        for place, (index, one) in found.items():
            if place not in self._labels:
                self._labels[place] = self._new_label(one.name)
            label = self._labels[place]
            if place not in self._open and self._chosen in (None, label):
                assert self._backend is not None
                try:
                    self._open[place] = _Keyboard(label, self._backend.open(index, one))
                except BackendError:
                    refused.append(label)
        return tuple(refused), tuple(passed)

    def _forget(self, seen: Counter[str]) -> None:
        """Close what is gone, works no more, or is no longer chosen.

        Of several inputs of one identity nobody can tell which one came or left, so all are
        closed, and those that are there are opened again.
        """
        before = Counter(identity for identity, _ in self._labels)
        leave = {place for place in self._labels if seen[place[0]] != before[place[0]]}
        shut = [
            place
            for place, keyboard in self._open.items()
            if place in leave
            or self._chosen not in (None, keyboard.label)
            or not keyboard.port.works
        ]
        self._close(shut)
        for place in leave:
            del self._labels[place]

    def _close(self, places: Iterable[Place]) -> None:
        for place in places:
            with self._closing():
                self._open.pop(place).port.close()

    def _new_label(self, name: str) -> str:
        """The keyboard's own name, numbered from the second of that name on."""
        taken = set(self._labels.values())
        numbered = (name if number == 1 else f"{name} ({number})" for number in count(1))
        return next(label for label in numbered if label not in taken)


class _Keyboard:
    """Stateful: an open input; turns its bytes into events.

    A message came after the look before, which did not find it, and before the look that did.
    Between the two the driver knows better: it has measured, on its own thread, the time since the
    message before. So a look that comes late, since the interpreter was busy, spoils no time, and a
    driver's clock that is wrong does so by no more than the time between two looks.
    """

    def __init__(self, label: str, port: Port) -> None:
        self.label = label
        self.port = port
        self._looked = time.perf_counter()
        self._last: float | None = None

    def poll(self, put: Callable[[KeyboardEvent], None]) -> None:
        """Hand on what has arrived."""
        while True:
            began = time.perf_counter()
            message = self.port.poll()
            if message is None:
                self._looked = began
                return
            data, delta = message
            t = time.perf_counter()
            # A long message may have come in pieces, whose times the driver does not keep.
            if self._last is not None and len(data) <= 3:
                t = min(t, max(self._looked, self._last + delta))
            self._last = t
            for status, key, velocity in _NOTES.findall(data):
                if status >= 0x90 and velocity > 0:
                    put(KeyDown(t, key, velocity, self.label))
                else:
                    put(KeyUp(t, key, self.label))
