# SPDX-License-Identifier: MIT
"""What the Python packages for MIDI leave out of the C libraries that they bring along."""

from __future__ import annotations

import ctypes
import sys
from contextlib import suppress

_NO_START_SERVER = 1  # JackNoStartServer in jack/types.h


def own_jack() -> ctypes.CDLL | None:
    """This computer's own library of JACK, in place of the one that a package brings along: that
    one reaches no server of another version, nor PipeWire. To be called before the package's
    import; None where there is none."""
    if sys.platform.startswith("linux"):
        with suppress(OSError):
            return ctypes.CDLL("libjack.so.0", ctypes.RTLD_GLOBAL)
    return None


def device_path(index: int) -> str:
    """What Windows calls the device behind a MIDI input, and no other one; empty where it does not
    say. (mmddk.h: DRV_QUERYDEVICEINTERFACESIZE and DRV_QUERYDEVICEINTERFACE)"""
    if sys.platform == "win32":
        with suppress(OSError):
            ask = ctypes.windll.winmm.midiInMessage
            ask.argtypes = [ctypes.c_size_t, ctypes.c_uint, ctypes.c_void_p, ctypes.c_size_t]
            size = ctypes.c_ulong()
            if ask(index, 0x80D, ctypes.byref(size), 0) == 0:
                path = ctypes.create_unicode_buffer(size.value // 2 + 1)
                if ask(index, 0x80C, path, size.value) == 0:
                    return path.value
    return ""


class JackWatch:
    """Stateful: a client of the JACK server that knows whether the server stops, and what is
    connected.

    The list of ports lies in shared memory and outlives the server, and RtMidi does not ask to be
    told. JACK tells it on a thread of its own, on which no Python may run: what it calls there is
    time() of the C library, which writes the time to where it is told to.

    Args:
        library: of JACK.
        name: of the client.

    Raises:
        OSError: there is no server, or no such library.
    """

    def __init__(self, library: ctypes.CDLL, name: str) -> None:
        self._library = library
        self._stopped_at = ctypes.c_long(0)
        pointer = ctypes.c_void_p
        try:
            library.jack_client_open.restype = library.jack_port_by_name.restype = pointer
            library.jack_client_open.argtypes = [ctypes.c_char_p, ctypes.c_int, pointer]
            library.jack_port_by_name.argtypes = [pointer, ctypes.c_char_p]
            library.jack_port_connected_to.argtypes = [pointer, ctypes.c_char_p]
            library.jack_on_shutdown.argtypes = [pointer, pointer, pointer]
            library.jack_activate.argtypes = library.jack_client_close.argtypes = [pointer]
            client = library.jack_client_open(name.encode(), _NO_START_SERVER, None)
        except AttributeError as error:
            raise OSError(str(error)) from error
        if not client:
            raise OSError("no server")
        self._client = client
        tell = ctypes.cast(ctypes.CDLL(None).time, pointer)
        library.jack_on_shutdown(client, tell, ctypes.byref(self._stopped_at))
        library.jack_activate(client)

    @property
    def server_stopped(self) -> bool:
        """Whether the server is gone; it does not come back for the clients that it had."""
        return self._stopped_at.value != 0

    def connected(self, port: str, source: str) -> bool:
        """Whether an input is there and connected to an output; both with their clients' names."""
        found = self._library.jack_port_by_name(self._client, port.encode())
        return bool(found and self._library.jack_port_connected_to(found, source.encode()))

    def close(self) -> None:
        """Leave the server."""
        self._library.jack_client_close(self._client)
