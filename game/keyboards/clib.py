# SPDX-License-Identifier: MIT
"""What the Python packages for MIDI leave out of the C libraries that they bring along."""

from __future__ import annotations

import ctypes
import sys
import threading
from contextlib import suppress

_NO_START_SERVER = 1  # JackNoStartServer in jack/types.h
_MESSAGE_HANDLERS = (
    "jack_set_error_function",
    "jack_set_info_function",
    "snd_lib_error_set_handler",
)


def hush(extension: str) -> None:
    """Keep ALSA and JACK from writing to stderr; the game says what is wrong.

    Args:
        extension: path of the extension module whose libraries are meant.
    """
    if not sys.platform.startswith("linux"):
        return
    # Any C function that takes a text and does nothing serves as a handler.
    nothing = ctypes.cast(ctypes.CDLL(None).strlen, ctypes.c_void_p)
    libraries = ctypes.CDLL(extension)
    for handler in _MESSAGE_HANDLERS:
        with suppress(AttributeError):
            getattr(libraries, handler)(nothing)


class JackWatch:
    """Stateful: a client of the JACK server that notices when the server stops.

    The list of ports lies in shared memory and outlives the server, and rtmidi does not ask
    to be told.

    Args:
        extension: path of the extension module whose JACK library is meant.
        name: of the client.
    """

    def __init__(self, extension: str, name: str) -> None:
        self._library = ctypes.CDLL(extension)
        self._stopped = threading.Event()
        self._told = ctypes.CFUNCTYPE(None, ctypes.c_void_p)(lambda _: self._stopped.set())
        self._client: ctypes.c_void_p | None = None
        with suppress(AttributeError):  # another JACK library; then nothing is noticed
            opened = self._library.jack_client_open
            opened.restype = ctypes.c_void_p
            client = opened(name.encode(), _NO_START_SERVER, None)
            if client:
                self._client = ctypes.c_void_p(client)
                self._library.jack_on_shutdown(self._client, self._told, None)
                self._library.jack_activate(self._client)

    @property
    def server_stopped(self) -> bool:
        """Whether the server is gone; it does not come back for the clients that it had."""
        return self._stopped.is_set()

    def close(self) -> None:
        """Leave the server."""
        if self._client is not None:
            self._library.jack_client_close(self._client)
            self._client = None
