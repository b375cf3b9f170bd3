# SPDX-License-Identifier: MIT
"""MIDI through RtMidi: ALSA or JACK on Linux, the system's own elsewhere.

python-rtmidi has wheels up to Python 3.12, supriya-midi, whose face is nearly the same, from 3.11
on. No Python runs on the driver's threads: RtMidi keeps the messages in a queue of its own, with
the times between them, until they are polled.
"""

from __future__ import annotations

import ctypes
import os
import re
import time
from contextlib import suppress
from itertools import count
from typing import Any, NamedTuple

from game.midi.clib import JackWatch, device_path, own_jack

_CLIENT = "Stavewise"
_QUEUE = 32_768  # messages that RtMidi keeps till they are polled: 1,000 presses a second for 16 s
_JACK_CONNECT_S = 0.05  # two periods of 1024 frames, rounded up
_APIS = {
    "LINUX_ALSA": "ALSA",
    "MACOSX_CORE": "Core MIDI",
    "WINDOWS_MM": "Windows",
    "UNIX_JACK": "JACK",
}
"""Name in mido's manner -> our name, in order of preference; only some are compiled in."""


class BackendError(Exception):
    """MIDI, or one port of it, cannot be reached; the message is a plain reason.

    Args:
        lasting: whether it is no use to try again.
    """

    def __init__(self, reason: str, *, lasting: bool = False) -> None:
        super().__init__(reason)
        self.lasting = lasting


class Input(NamedTuple):
    """A MIDI input that is there.

    Args:
        identity: what the system calls it; two that nobody can tell apart have the same.
        name: the device's own name.
    """

    identity: str
    name: str


class _Library(NamedTuple):
    """A Python package around RtMidi: its module, extension's path, APIs by name, and how names
    are asked for."""

    module: Any
    file: str
    apis: dict[str, Any]
    # RtMidi gives UTF-8 on every system; python-rtmidi thinks otherwise on some.
    names: dict[str, str]


def _load() -> _Library:
    """The package that is there.

    Raises:
        ImportError: there is none, or it cannot be loaded.
    """
    try:
        import rtmidi
        from rtmidi import _rtmidi
    except ModuleNotFoundError:
        import supriya_midi
        from supriya_midi import rtmidi_ext

        compiled = {api.name: api for api in rtmidi_ext.RtMidi.get_compiled_api()}
        return _Library(supriya_midi, rtmidi_ext.__file__, compiled, {})
    compiled = {name: getattr(rtmidi, f"API_{name}", None) for name in _APIS}
    known = set(rtmidi.get_compiled_api())
    apis = {name: api for name, api in compiled.items() if api in known}
    return _Library(rtmidi, _rtmidi.__file__, apis, {"encoding": "utf-8"})


def own_name(name: str) -> str:
    """A port's own name, without its client's where that is said twice, or is only what this
    library calls a program that has given none (``RtMidiOut Client:Piano``)."""
    client, _, port = name.partition(":")
    unnamed = client.startswith("RtMidi")
    return port if port and client and (unnamed or port.startswith(client)) else name


class Backend:
    """Stateful: one long-lived client that lists the inputs, and one client per open port.

    Args:
        wish: ``none``, ``mido.backends.rtmidi`` or ``mido.backends.rtmidi/API`` with an API such
            as ``UNIX_JACK``, as mido names them; None takes what the environment variable
            STAVEWISE_MIDI says, else the first API that works.

    Raises:
        BackendError: there is none.
    """

    def __init__(self, wish: str | None = None) -> None:
        wish = os.environ.get("STAVEWISE_MIDI", "") if wish is None else wish
        module, _, api = wish.partition("/")
        if module == "none":
            raise BackendError("switched off by STAVEWISE_MIDI", lasting=True)
        if module not in ("", "mido.backends.rtmidi"):
            raise BackendError(
                f"STAVEWISE_MIDI is {wish!r}; it can be none, mido.backends.rtmidi or "
                "mido.backends.rtmidi/UNIX_JACK",
                lasting=True,
            )
        jack = own_jack()
        try:
            self._library = _load()
        except ImportError as error:
            why = f"its library cannot be loaded ({error}); install Stavewise again"
            raise BackendError(why, lasting=True) from None
        self._errors = (self._library.module.RtMidiError, RuntimeError, UnicodeError)
        here = [name for name in _APIS if name in self._library.apis]
        if api and api not in here:
            allowed = ", ".join(here)
            why = f"STAVEWISE_MIDI asks for {api}, which is not here; there is {allowed}"
            raise BackendError(why, lasting=True)
        self._numbers = count(1)
        self._watch: JackWatch | None = None
        for self._api in (api,) if api else here:
            with suppress(*self._errors, OSError):
                if self._api == "UNIX_JACK":
                    library = jack or ctypes.CDLL(self._library.file)
                    self._watch = JackWatch(library, self._new_client())
                self._lister = self._client(self._new_client())
                self.name = f"rtmidi: {_APIS[self._api]}"
                break
        else:
            tried = " or ".join(_APIS[name] for name in here if api in ("", name))
            raise BackendError(f"no connection to {tried}")

    def inputs(self) -> list[Input]:
        """The inputs now there.

        Raises:
            BackendError: the MIDI system is gone.
        """
        if self._watch is not None and self._watch.server_stopped:
            raise BackendError("the JACK server has stopped")
        try:
            return self._listed()
        except self._errors:  # one may have gone while they were named
            try:
                self._lister.delete()
                self._lister = self._client(self._new_client())
                return self._listed()
            except self._errors as error:
                raise BackendError(f"{self.name} has stopped") from error

    def _listed(self) -> list[Input]:
        names: list[str] = self._lister.get_ports(**self._library.names)
        return [self._input(index, name or "") for index, name in enumerate(names)]

    def _input(self, index: int, name: str) -> Input:
        if self._api == "WINDOWS_MM":  # RtMidi adds the index, which shifts when others leave
            name = name.removesuffix(f" {index}")
            return Input(f"{name} {device_path(index)}", name)
        plain = re.sub(r" \d+:\d+$", "", name) if self._api == "LINUX_ALSA" else name
        return Input(name, own_name(plain))

    def open(self, index: int, wanted: Input) -> Port:
        """Listen to one of :meth:`inputs`, which was at this place.

        Raises:
            BackendError: it cannot be opened.
        """
        client = self._new_client()
        try:
            port = Port(self._client(client), index)
        except self._errors as error:
            raise BackendError(str(error)) from error
        if self.inputs()[index : index + 1] != [wanted]:
            port.close()
            raise BackendError("another one has its place now")
        if self._watch is not None:
            time.sleep(_JACK_CONNECT_S)  # only then does the server pass messages on
            port.watched = self._watch, f"{client}:in", wanted.identity
        return port

    def close(self) -> None:
        """Leave the MIDI system. Its ports are closed before."""
        with suppress(*self._errors):
            self._lister.delete()
        if self._watch is not None:
            self._watch.close()

    def _client(self, name: str) -> Any:
        return self._library.module.MidiIn(self._library.apis[self._api], name, _QUEUE)

    def _new_client(self) -> str:
        """A name that no other client of the system has."""
        return f"{_CLIENT}-{os.getpid()}-{next(self._numbers)}"


class Port:
    """Stateful: one open input of a client."""

    watched: tuple[JackWatch, str, str] | None = None
    """Who knows about it, its own name and its source's."""

    def __init__(self, client: Any, index: int) -> None:
        self._client = client
        try:
            # Nothing is filtered: the time before a filtered message would be lost.
            client.ignore_types(False, False, False)
            client.open_port(index, "in")
        except BaseException:
            client.delete()
            raise

    def poll(self) -> tuple[bytes, float] | None:
        """The next message that has arrived, with the driver's seconds since the one before; None
        when there is no more."""
        message = self._client.get_message()
        return None if message is None else (bytes(message[0]), message[1])

    @property
    def works(self) -> bool:
        """Whether it is connected. A busy JACK server does not always do what it was asked."""
        if self.watched is None:
            return True
        watch, port, source = self.watched
        return watch.connected(port, source)

    def close(self) -> None:
        """Stop listening."""
        with suppress(Exception):  # of the driver; it is gone either way
            self._client.close_port()
        self._client.delete()
