# SPDX-License-Identifier: MIT
"""MIDI through python-rtmidi: ALSA or JACK on Linux, the system's own elsewhere."""

from __future__ import annotations

import re
import time
from contextlib import suppress
from typing import Any

import rtmidi
from rtmidi import _rtmidi

from game.keyboards.backend import BackendError, Receive
from game.keyboards.clib import JackWatch, hush
from game.keyboards.poller import Poller
from game.keyboards.stamp import ArrivalStamp

_CLIENT = "Stavewise"
_CALLBACK_S = 0.005  # longer than any callback of ours takes
_JACK_POLL_S = 0.002  # stamps do not suffer: JACK's own time between messages is used
_QUEUE = 32_768  # messages that rtmidi keeps till they are polled: 1,000 presses a second for 16 s
_JACK_CONNECT_S = 0.05  # two periods of 1024 frames, rounded up
_APIS = {
    "LINUX_ALSA": "ALSA",
    "MACOSX_CORE": "Core MIDI",
    "WINDOWS_MM": "Windows",
    "UNIX_JACK": "JACK",
}
"""Name in mido's manner -> our name, in order of preference; only some are compiled in."""


def own_name(name: str) -> str:
    """A port's own name, without its client's where that is said twice, or is only what this
    library calls a program that has given none (``RtMidiOut Client:Piano``)."""
    client, _, port = name.partition(":")
    unnamed = client.startswith("RtMidi")
    return port if port and client and (unnamed or port.startswith(client)) else name


class RtmidiBackend:
    """Stateful: one long-lived client that lists the inputs, and one client per open port.

    Args:
        api: one of mido's API names; None takes the first that works.

    Raises:
        BackendError: none works.
    """

    def __init__(self, api: str | None = None) -> None:
        hush(_rtmidi.__file__)
        compiled = set(rtmidi.get_compiled_api())
        here = {
            name: getattr(rtmidi, f"API_{name}")
            for name in _APIS
            if getattr(rtmidi, f"API_{name}", None) in compiled
        }
        if api is not None and api not in here:
            allowed = ", ".join(here)
            raise BackendError(f"rtmidi has no {api} here; it has {allowed}", lasting=True)
        for name in here if api is None else (api,):
            with suppress(rtmidi.RtMidiError):
                self._api: int = here[name]
                self._lister: Any = rtmidi.MidiIn(self._api, name=f"{_CLIENT} list")
                self.name = f"rtmidi: {_APIS[name]}"
                break
        else:
            tried = " or ".join(_APIS[name] for name in here if api in (None, name))
            raise BackendError(f"no connection to {tried}")
        self._watch: JackWatch | None = None
        self._poller: Poller | None = None
        if self._api == rtmidi.API_UNIX_JACK:
            self._watch = JackWatch(_rtmidi.__file__, f"{_CLIENT} watch")
            self._poller = Poller(_JACK_POLL_S)

    def inputs(self) -> list[str]:
        """Names of the inputs now there."""
        if self._watch is not None and self._watch.server_stopped:
            raise BackendError("the JACK server has stopped")
        try:
            names: list[str] = self._lister.get_ports()
        except (rtmidi.RtMidiError, UnicodeError) as error:
            raise BackendError(f"{self.name} has stopped") from error
        return names

    def label(self, name: str) -> str:
        """The name without port numbers, and without a client name that says nothing."""
        if self._api == getattr(rtmidi, "API_LINUX_ALSA", None):
            name = re.sub(r" \d+:\d+$", "", name)
        elif self._api == getattr(rtmidi, "API_WINDOWS_MM", None):
            name = re.sub(r" \d+$", "", name)
        return own_name(name)

    def open(self, index: int, receive: Receive) -> _RtmidiPort:
        """Listen to one of the inputs."""
        try:
            return _RtmidiPort(self._api, index, receive, self._poller)
        except (rtmidi.RtMidiError, UnicodeError) as error:
            raise BackendError(str(error)) from error

    def close(self) -> None:
        """Leave the MIDI system."""
        if self._watch is not None:
            self._watch.close()
        if self._poller is not None:
            self._poller.close()
        with suppress(rtmidi.RtMidiError):
            self._lister.delete()


class _RtmidiPort:
    """Stateful: one open input.

    rtmidi calls back on the driver's own thread, but not for JACK: that thread must not wait
    for the interpreter, since the server goes on without it and its messages are lost. There
    rtmidi keeps the messages in a queue of its own, with their times, and a poller takes them.
    """

    def __init__(self, api: int, index: int, receive: Receive, poller: Poller | None) -> None:
        self._client: Any = rtmidi.MidiIn(api, name=_CLIENT, queue_size_limit=_QUEUE)
        self._stamp = ArrivalStamp()
        self._receive = receive
        self._poller = poller
        try:
            # Nothing is filtered: the time before a filtered message would be lost.
            self._client.ignore_types(sysex=False, timing=False, active_sense=False)
            if poller is None:
                self._client.set_callback(self._arrived)
            self._client.open_port(index, name="in")
        except Exception:
            self._client.delete()
            raise
        if poller is not None:
            time.sleep(_JACK_CONNECT_S)  # only then does the server pass messages on
            poller.add(self._poll)

    def close(self) -> None:
        """Stop listening."""
        if self._poller is not None:
            self._poller.remove(self._poll)
        else:
            self._client.cancel_callback()
            # A callback under way needs the interpreter, which closing does not let go of.
            time.sleep(_CALLBACK_S)
        with suppress(rtmidi.RtMidiError):
            self._client.close_port()
            self._client.delete()

    def _poll(self) -> None:
        while message := self._client.get_message():
            self._arrived(message, None)

    def _arrived(self, message: tuple[list[int], float], _: object) -> None:
        now = time.perf_counter()
        data, delta = message
        # A long message may have come in pieces, whose times the driver does not keep.
        self._receive(bytes(data), self._stamp(now, delta if len(data) <= 3 else None))
