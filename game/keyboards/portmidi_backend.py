# SPDX-License-Identifier: MIT
"""MIDI through the PortMidi inside pygame, for Pythons that have no python-rtmidi."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from game.keyboards.backend import BackendError, Port, Receive
from game.keyboards.clib import hush
from game.keyboards.decode import message_length
from game.keyboards.poller import Poller

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
import pygame.midi
from pygame import pypm  # type: ignore[attr-defined]

_POLL_S = 0.001
_AT_ONCE = 64
_STATUS, _SYSTEM, _REAL_TIME = 0x80, 0xF0, 0xF8
_MIDI_ERRORS = Exception  # pygame's wrapper of PortMidi raises the bare class in places


class PortmidiBackend:
    """Stateful: PortMidi, whose open inputs are polled.

    PortMidi lists devices only when it starts, so a new keyboard is noticed only while none
    is open, and a lost one only where PortMidi reports an error.

    Args:
        midi: stands in for :mod:`pygame.midi` in tests.

    Raises:
        BackendError: PortMidi cannot be started.
    """

    name = "portmidi"

    def __init__(self, midi: Any = pygame.midi) -> None:
        self._midi = midi
        self._open: dict[int, _PortmidiPort] = {}
        self._devices: list[int] = []
        hush(pypm.__file__)
        self._restart()
        self._poller = Poller(_POLL_S)

    def inputs(self) -> list[str]:
        """Names of the inputs now there."""
        with self._poller.lock:  # PortMidi may be used by one thread at a time
            if not self._open:
                self._restart()
            names = []
            self._devices = []
            for device in range(self._midi.get_count()):
                _, name, is_input, _, _ = self._midi.get_device_info(device)
                lost = device in self._open and self._open[device].lost
                if is_input and not lost:
                    names.append(name.decode("utf-8", "replace"))
                    self._devices.append(device)
            return names

    def label(self, name: str) -> str:
        """The name as it is."""
        return name

    def open(self, index: int, receive: Receive) -> Port:
        """Listen to one of the inputs."""
        device = self._devices[index]
        with self._poller.lock:
            try:
                stream = self._midi.Input(device)
            except _MIDI_ERRORS as error:
                raise BackendError(str(error)) from error
            port = _PortmidiPort(stream, receive, self._poller, lambda: self._open.pop(device))
            self._open[device] = port
            return port

    def close(self) -> None:
        """Leave the MIDI system."""
        self._poller.close()
        self._midi.quit()

    def _restart(self) -> None:
        """Have PortMidi list the devices anew."""
        try:
            self._midi.quit()
            self._midi.init()
        except _MIDI_ERRORS as error:
            raise BackendError(f"portmidi cannot be started ({error})") from error


class _PortmidiPort:
    """Stateful: one open input."""

    def __init__(
        self, stream: Any, receive: Receive, poller: Poller, on_close: Callable[[], object]
    ) -> None:
        self.lost = False
        self._stream = stream
        self._receive = receive
        self._poller = poller
        self._on_close = on_close
        poller.add(self._poll)

    def close(self) -> None:
        """Stop listening."""
        with self._poller.lock:
            self._poller.remove(self._poll)
            self._on_close()
            with suppress(_MIDI_ERRORS):
                self._stream.close()

    def _poll(self) -> None:
        if self.lost:
            return
        try:
            events = self._stream.read(_AT_ONCE) if self._stream.poll() else []
        except _MIDI_ERRORS:
            self.lost = True
            return
        now = time.perf_counter()
        for event, _ in events:
            self._receive(whole(event), now)


def whole(event: list[int]) -> bytes:
    """The bytes of a PortMidi event, which is always filled up to four."""
    first = event[0]
    if first >= _REAL_TIME or _STATUS <= first < _SYSTEM:
        return bytes(event[: message_length(first)])
    return bytes(event)  # a piece of a long message: our decoder passes over what follows it
