# SPDX-License-Identifier: MIT
"""From raw MIDI bytes to keys going down and up.

Source: MIDI 1.0 Detailed Specification, "Data Format": running status, real-time messages
inside others, note-on with velocity 0. A parser is needed here because mido's has no running
status and drops a message that a real-time byte interrupts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

_NOTE_OFF, _NOTE_ON = 0x8, 0x9
_ONE_DATA_BYTE = (0xC, 0xD)  # program change, channel pressure; the other kinds have two
_SYSTEM, _REAL_TIME = 0xF0, 0xF8


@dataclass(frozen=True, slots=True)
class Down:
    """A key went down: channel 0 to 15, key 0 to 127, velocity 1 to 127."""

    channel: int
    key: int
    velocity: int


@dataclass(frozen=True, slots=True)
class Up:
    """A key came up: channel 0 to 15, key 0 to 127."""

    channel: int
    key: int


def message_length(status: int) -> int:
    """Bytes of a whole channel or real-time message that begins with this status byte."""
    if status >= _REAL_TIME:
        return 1
    return 2 if status >> 4 in _ONE_DATA_BYTE else 3


class MidiDecoder:
    """Stateful: follows the byte stream of one port, wherever it is cut into pieces."""

    def __init__(self) -> None:
        self._status: int | None = None
        self._data: list[int] = []

    def feed(self, data: Iterable[int]) -> tuple[Down | Up, ...]:
        """The keys that moved, in order; every other message is passed over.

        Args:
            data: bytes, 0 to 255 each.
        """
        found: list[Down | Up] = []
        for byte in data:
            if byte >= _REAL_TIME:
                continue  # may stand anywhere and changes nothing
            if byte & 0x80:
                # System exclusive and common end running status; their data is then skipped.
                self._status = byte if byte < _SYSTEM else None
                self._data.clear()
            elif self._status is not None:
                self._data.append(byte)
                if len(self._data) == message_length(self._status) - 1:
                    found += _moved(self._status, self._data)
                    self._data.clear()
        return tuple(found)


def decode(message: Iterable[int]) -> tuple[Down | Up, ...]:
    """The keys that move in a stretch of bytes that begins with a status byte."""
    return MidiDecoder().feed(message)


def _moved(status: int, data: list[int]) -> Iterable[Down | Up]:
    kind, channel = status >> 4, status & 0x0F
    if kind == _NOTE_ON and data[1] > 0:
        yield Down(channel, data[0], data[1])
    elif kind in (_NOTE_ON, _NOTE_OFF):
        yield Up(channel, data[0])
