# SPDX-License-Identifier: MIT
"""How MIDI is reached on this machine: the common face, and the choice."""

from __future__ import annotations

import os
from typing import NamedTuple, Protocol


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


class Port(Protocol):
    """An open input."""

    def poll(self) -> tuple[bytes, float | None] | None:
        """The next message that has arrived, with the driver's seconds since the one before (None
        where it does not know); None when there is no more."""

    @property
    def works(self) -> bool:
        """Whether it is still connected, as far as can be told."""

    def close(self) -> None:
        """Stop listening."""


class Backend(Protocol):
    """A way to reach MIDI inputs."""

    name: str

    def inputs(self) -> list[Input]:
        """The inputs now there.

        Raises:
            BackendError: the MIDI system is gone.
        """

    def open(self, index: int) -> Port:
        """Listen to one of :meth:`inputs`.

        Raises:
            BackendError: it cannot be opened.
        """

    def close(self) -> None:
        """Leave the MIDI system. Its ports are closed before."""


def choose_backend(wish: str | None = None) -> Backend:
    """The backend to use.

    Args:
        wish: ``none``, ``mido.backends.rtmidi`` or ``mido.backends.rtmidi/API`` with an API such
            as ``UNIX_JACK``, as mido names them; None takes what the environment variable
            STAVEWISE_MIDI says, else the best there is.

    Raises:
        BackendError: there is none.
    """
    if wish is None:
        wish = os.environ.get("STAVEWISE_MIDI", "")
    module, _, api = wish.partition("/")
    if module == "none":
        raise BackendError("switched off by STAVEWISE_MIDI", lasting=True)
    if module not in ("", "mido.backends.rtmidi"):
        raise BackendError(
            f"STAVEWISE_MIDI is {wish!r}; it can be none, mido.backends.rtmidi or "
            "mido.backends.rtmidi/UNIX_JACK",
            lasting=True,
        )
    try:
        from game.midi.rtmidi_backend import RtmidiBackend

        return RtmidiBackend(api or None)
    except ImportError as error:
        raise BackendError(
            f"its library cannot be loaded ({error}); install Stavewise again", lasting=True
        ) from None
