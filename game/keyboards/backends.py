# SPDX-License-Identifier: MIT
"""Ways to reach MIDI on this computer: python-rtmidi, else portmidi inside pygame, else none."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any, Protocol

from game.quiet import quiet

Receive = Callable[[list[int]], None]
CHOICE = "STAVEWISE_MIDI"
"""Environment variable that chooses: ``rtmidi/UNIX_JACK`` (also with mido's own prefix,
``mido.backends.rtmidi/UNIX_JACK``), ``portmidi`` or ``none``."""

_CLIENT = "Stavewise"
_API_NAMES = {
    "LINUX_ALSA": "ALSA",
    "UNIX_JACK": "JACK",
    "MACOSX_CORE": "CoreMIDI",
    "WINDOWS_MM": "Windows MM",
}


class BackendError(Exception):
    """This way to reach MIDI does not work here."""


class Closable(Protocol):
    """An open port."""

    def close(self) -> None:
        """Stop listening."""


class Backend(Protocol):
    """A way to reach MIDI. `name` is for people."""

    name: str

    def inputs(self) -> list[str]:
        """Names of the input ports there are now, in the backend's order."""

    def open(self, place: int, name: str, receive: Receive) -> Closable:
        """Listen to the port at a place of that list.

        `receive` gets the bytes of each message as soon as they arrive, on a thread of the
        backend's.

        Raises:
            BackendError: the port is gone or taken.
        """


class NoMidi:
    """No MIDI; the reason is in the name."""

    def __init__(self, reason: str) -> None:
        self.name = f"none ({reason})"

    def inputs(self) -> list[str]:
        """None."""
        return []

    def open(self, place: int, name: str, receive: Receive) -> Closable:
        """Never."""
        raise BackendError(self.name)


class RtMidi:
    """Stateful: python-rtmidi with one client that lists; each port has a client of its own."""

    def __init__(self, api: str) -> None:
        try:
            import rtmidi
        except ImportError as error:
            raise BackendError(f"python-rtmidi is not installed: {error}") from None
        self._rtmidi: Any = rtmidi
        try:
            self._api = getattr(rtmidi, f"API_{api}")
        except AttributeError:
            raise BackendError(f"python-rtmidi knows no system {api!r}") from None
        if self._api not in rtmidi.get_compiled_api():
            raise BackendError(f"python-rtmidi was built without {_API_NAMES.get(api, api)}")
        self.name = f"rtmidi: {_API_NAMES.get(api, api)}"
        self._lister: Any = self._client()

    def _client(self) -> Any:
        os.environ.setdefault("JACK_NO_START_SERVER", "1")
        try:
            with quiet():
                client = self._rtmidi.MidiIn(self._api, _CLIENT)
                client.get_ports()
                return client
        except Exception as error:  # each of its systems has errors of its own
            raise BackendError(f"{self.name} does not answer: {error}") from None

    def inputs(self) -> list[str]:
        """See :class:`Backend`. A server that went away has no ports until it is back."""
        try:
            if self._lister is None:
                self._lister = self._client()
            return list(self._lister.get_ports(encoding="utf-8"))
        except Exception:  # as above
            self._lister = None
            return []

    def open(self, place: int, name: str, receive: Receive) -> Closable:
        """See :class:`Backend`."""
        client = self._client()
        try:
            # Clock, active sensing and sysex stay out: nothing here needs them.
            client.ignore_types(sysex=True, timing=True, active_sense=True)
            client.set_callback(lambda event, _data: receive(event[0]))
            client.open_port(place, "keys")
        except Exception as error:  # as above
            client.delete()
            raise BackendError(f"{name} cannot be opened: {error}") from None
        return _RtMidiPort(client)


class _RtMidiPort:
    def __init__(self, client: Any) -> None:
        self._client = client

    def close(self) -> None:
        self._client.cancel_callback()
        self._client.close_port()
        self._client.delete()


class PortMidi:
    """Stateful: mido's portmidi backend inside pygame, asked a thousand times a second.

    Portmidi has no callbacks, so a stamp may be late by a millisecond.
    """

    name = "portmidi (pygame)"

    def __init__(self) -> None:
        try:
            import mido

            self._mido: Any = mido.Backend("mido.backends.pygame", load=True)
            with quiet():
                self.inputs()
        except Exception as error:  # pygame.midi raises errors of many kinds
            raise BackendError(f"portmidi does not answer: {error}") from None
        self._open = 0

    def inputs(self) -> list[str]:
        """See :class:`Backend`. Portmidi looks for ports anew only while none is open."""
        from pygame import midi

        if midi.get_init() and not getattr(self, "_open", 0):
            midi.quit()
        midi.init()
        return list(self._mido.get_input_names())

    def open(self, place: int, name: str, receive: Receive) -> Closable:
        """See :class:`Backend`."""
        try:
            port = self._mido.open_input(name)
        except OSError as error:
            raise BackendError(f"{name} cannot be opened: {error}") from None
        self._open += 1
        return _Polled(port, receive, self._closed)

    def _closed(self) -> None:
        self._open -= 1


class _Polled:
    """Stateful: a thread that asks a port for messages."""

    def __init__(self, port: Any, receive: Receive, closed: Callable[[], None]) -> None:
        self._port, self._receive, self._closed = port, receive, closed
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True, name="portmidi")
        self._thread.start()

    def _run(self) -> None:
        while not self._stop.wait(0.001):
            for message in self._port.iter_pending():
                self._receive(message.bytes())

    def close(self) -> None:
        self._stop.set()
        self._thread.join(1)
        self._port.close()
        self._closed()


def find_backend(choice: str | None = None) -> Backend:
    """The best way to reach MIDI here; never fails, but may be :class:`NoMidi`.

    Args:
        choice: as for :data:`CHOICE`; None reads that variable.
    """
    choice = (os.environ.get(CHOICE, "") if choice is None else choice).strip()
    choice = choice.removeprefix("mido.backends.")
    if choice == "none":
        return NoMidi("turned off")
    attempts = [choice] if choice else [f"rtmidi/{api}" for api in _usual_apis()] + ["portmidi"]
    reasons = []
    for attempt in attempts:
        try:
            return _backend(attempt)
        except BackendError as error:
            reasons.append(str(error))
    return NoMidi("; ".join(reasons))


def _backend(choice: str) -> Backend:
    kind, _, api = choice.partition("/")
    if kind == "rtmidi":
        return RtMidi(api or _usual_apis()[0])
    if kind in ("portmidi", "pygame"):
        return PortMidi()
    raise BackendError(f"{CHOICE}={choice!r} is not rtmidi/SYSTEM, portmidi or none")


def _usual_apis() -> list[str]:
    if sys.platform == "darwin":
        return ["MACOSX_CORE"]
    if sys.platform == "win32":
        return ["WINDOWS_MM"]
    # Without its device ALSA cannot be opened, and says so at length.
    return ["LINUX_ALSA", "UNIX_JACK"] if Path("/dev/snd/seq").exists() else ["UNIX_JACK"]
