# SPDX-License-Identifier: MIT
"""MIDI through the PortMidi inside pygame, for Pythons that have no python-rtmidi."""

from __future__ import annotations

import os
import threading
import time
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from game.keyboards.backend import BackendError, Receive
from game.keyboards.clib import hush
from game.keyboards.decode import message_length

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
import pygame.midi
from pygame import pypm  # type: ignore[attr-defined]

_POLL_S = 0.001
_AT_ONCE = 64
_STATUS, _SYSTEM, _REAL_TIME = 0x80, 0xF0, 0xF8
_MIDI_ERRORS = Exception  # pygame's wrapper of PortMidi raises the bare class in places


class PortmidiBackend:
    """Stateful: a thread asks the open ports about once a millisecond.

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
        self._lock = threading.RLock()  # PortMidi may be used by one thread at a time
        self._streams: dict[int, tuple[Any, Receive]] = {}
        self._lost: set[int] = set()
        self._devices: list[int] = []
        self._closed = threading.Event()
        hush(pypm.__file__)
        self._restart()
        self._thread = threading.Thread(target=self._poll, name="portmidi", daemon=True)
        self._thread.start()

    def inputs(self) -> list[str]:
        """Names of the inputs now there."""
        with self._lock:
            if not self._streams:
                self._restart()
            names = []
            self._devices = []
            for device in range(self._midi.get_count()):
                _, name, is_input, _, _ = self._midi.get_device_info(device)
                if is_input and device not in self._lost:
                    names.append(name.decode("utf-8", "replace"))
                    self._devices.append(device)
            return names

    def label(self, name: str) -> str:
        """The name as it is."""
        return name

    def open(self, index: int, receive: Receive) -> _PortmidiPort:
        """Listen to one of the inputs."""
        with self._lock:
            device = self._devices[index]
            try:
                self._streams[device] = (self._midi.Input(device), receive)
            except _MIDI_ERRORS as error:
                raise BackendError(str(error)) from error
            return _PortmidiPort(self, device)

    def drop(self, device: int) -> None:
        """Let go of a device, which may be gone."""
        with self._lock:
            stream, _ = self._streams.pop(device)
            with suppress(_MIDI_ERRORS):
                stream.close()

    def close(self) -> None:
        """Leave the MIDI system."""
        self._closed.set()
        self._thread.join()
        self._midi.quit()

    def _restart(self) -> None:
        """Have PortMidi list the devices anew."""
        self._lost.clear()
        try:
            self._midi.quit()
            self._midi.init()
        except _MIDI_ERRORS as error:
            raise BackendError(f"portmidi cannot be started ({error})") from error

    def _poll(self) -> None:
        while not self._closed.wait(_POLL_S):
            with self._lock:
                for device, (stream, receive) in self._streams.items():
                    if device not in self._lost:
                        self._read(device, stream, receive)

    def _read(self, device: int, stream: Any, receive: Receive) -> None:
        try:
            events = stream.read(_AT_ONCE) if stream.poll() else []
        except _MIDI_ERRORS:
            self._lost.add(device)
            return
        now = time.perf_counter()
        for event, _ in events:
            receive(whole(event), now)


@dataclass(frozen=True)
class _PortmidiPort:
    backend: PortmidiBackend
    device: int

    def close(self) -> None:
        """Stop listening."""
        self.backend.drop(self.device)


def whole(event: list[int]) -> bytes:
    """The bytes of a PortMidi event, which is always filled up to four."""
    first = event[0]
    if first >= _REAL_TIME or _STATUS <= first < _SYSTEM:
        return bytes(event[: message_length(first)])
    return bytes(event)  # a piece of a long message: our decoder passes over what follows it
