# SPDX-License-Identifier: MIT
"""MIDI through the PortMidi inside pygame, for Pythons that have no python-rtmidi."""

from __future__ import annotations

import os
import threading
import time
from typing import Any

from game.keyboards.backend import BackendError, Receive
from game.keyboards.decode import message_length

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
import pygame.midi  # noqa: E402

_POLL_S = 0.001
_AT_ONCE = 64
_REAL_TIME, _SYSTEM, _STATUS = 0xF8, 0xF0, 0x80


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
        self._ports: list[_PortmidiPort] = []
        self._ids: list[int] = []
        self._closed = threading.Event()
        try:
            midi.init()
        except Exception as error:  # pygame raises several kinds, by version
            raise BackendError(f"portmidi cannot be started ({error})") from error
        self._thread = threading.Thread(target=self._poll, name="portmidi", daemon=True)
        self._thread.start()

    def inputs(self) -> list[str]:
        """Names of the inputs now there."""
        with self._lock:
            if not any(port.alive for port in self._ports):
                for port in self._ports:
                    port.drop()
                self._ports.clear()
                self._midi.quit()
                self._midi.init()
            lost = {port.device for port in self._ports if not port.alive}
            names = []
            self._ids = []
            for device in range(self._midi.get_count()):
                _, name, is_input, _, _ = self._midi.get_device_info(device)
                if is_input and device not in lost:
                    names.append(name.decode("utf-8", "replace"))
                    self._ids.append(device)
            return names

    def label(self, name: str) -> str:
        """The name as it is."""
        return name

    def open(self, index: int, receive: Receive) -> _PortmidiPort:
        """Listen to one of the inputs."""
        with self._lock:
            try:
                device = self._ids[index]
                port = _PortmidiPort(self._midi.Input(device), device, receive, self._lock)
            except Exception as error:  # pygame raises several kinds, by version
                raise BackendError(str(error)) from error
            self._ports.append(port)
            return port

    def close(self) -> None:
        """Leave the MIDI system."""
        self._closed.set()
        self._thread.join()
        with self._lock:
            self._midi.quit()

    def _poll(self) -> None:
        while not self._closed.wait(_POLL_S):
            with self._lock:
                for port in self._ports:
                    port.poll()


class _PortmidiPort:
    """Stateful: one open input."""

    def __init__(self, stream: Any, device: int, receive: Receive, lock: threading.RLock) -> None:
        self.device = device
        self.alive = True
        self._stream = stream
        self._receive = receive
        self._lock = lock

    def poll(self) -> None:
        """Pass on what has come."""
        if not self.alive:
            return
        try:
            events = self._stream.read(_AT_ONCE) if self._stream.poll() else []
        except Exception:  # pygame raises several kinds, by version; the device is gone
            self.alive = False
            return
        now = time.perf_counter()
        for event, _ in events:
            self._receive(whole(event), now)

    def close(self) -> None:
        """Stop listening."""
        with self._lock:
            self.alive = False
            self.drop()

    def drop(self) -> None:
        """Let go of the device, which may be gone."""
        stream, self._stream = self._stream, None
        if stream is not None:
            try:
                stream.close()
            except Exception:
                return


def whole(event: list[int]) -> bytes:
    """The bytes of a PortMidi event, which is always filled up to four."""
    first = event[0]
    if first >= _REAL_TIME or _STATUS <= first < _SYSTEM:
        return bytes(event[: message_length(first)])
    return bytes(event)  # a piece of a long message: our decoder passes over what follows it
