# SPDX-License-Identifier: MIT
"""How MIDI is reached on this machine: the common face, and the choice."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Protocol

Receive = Callable[[bytes, float], None]
"""Called on a MIDI thread with raw bytes and their time on time.perf_counter()'s clock."""


class BackendError(Exception):
    """MIDI, or one port of it, cannot be reached; the message is a plain reason.

    Args:
        lasting: whether it is no use to try again.
    """

    def __init__(self, reason: str, *, lasting: bool = False) -> None:
        super().__init__(reason)
        self.lasting = lasting


class Port(Protocol):
    """An open input."""

    def close(self) -> None:
        """Stop listening; nothing is received once this has returned."""


class Backend(Protocol):
    """A way to reach MIDI inputs."""

    name: str

    def inputs(self) -> list[str]:
        """Names of the inputs now there, as the system gives them; names may repeat.

        Raises:
            BackendError: the MIDI system is gone.
        """

    def label(self, name: str) -> str:
        """The name without the numbers by which the system tells ports apart."""

    def open(self, index: int, receive: Receive) -> Port:
        """Listen to one of :meth:`inputs`.

        Raises:
            BackendError: it cannot be opened.
        """

    def close(self) -> None:
        """Leave the MIDI system. Its ports are closed before."""


def choose_backend(wish: str | None = None) -> Backend:
    """The backend to use.

    Args:
        wish: ``none``, ``mido.backends.pygame``, ``mido.backends.rtmidi`` or
            ``mido.backends.rtmidi/API`` with an API such as ``UNIX_JACK``, as mido names
            them; None takes what the environment variable STAVEWISE_MIDI says, else the
            best there is.

    Raises:
        BackendError: there is none.
    """
    if wish is None:
        wish = os.environ.get("STAVEWISE_MIDI", "")
    module, _, api = wish.partition("/")
    if module == "none":
        raise BackendError("switched off by STAVEWISE_MIDI", lasting=True)
    if module in ("", "mido.backends.rtmidi"):
        try:
            from game.keyboards.rtmidi_backend import RtmidiBackend
        except ImportError:
            if module:
                raise BackendError("python-rtmidi is not installed", lasting=True) from None
        else:
            return RtmidiBackend(api or None)
    elif module != "mido.backends.pygame":
        raise BackendError(
            f"STAVEWISE_MIDI is {wish!r}; it can be none, mido.backends.pygame, "
            "mido.backends.rtmidi or mido.backends.rtmidi/UNIX_JACK",
            lasting=True,
        )
    try:
        from game.keyboards.portmidi_backend import PortmidiBackend
    except ImportError as error:
        raise BackendError(f"neither rtmidi nor portmidi is here ({error})", lasting=True) from None
    return PortmidiBackend()
