# SPDX-License-Identifier: MIT
"""From MIDI bytes to keys going down and up. Pure but for the decoder's own memory."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

_NOTE_OFF, _NOTE_ON = 0x8, 0x9
_DATA_BYTES = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}
_FIRST_REAL_TIME, _FIRST_SYSTEM = 0xF8, 0xF0


@dataclass(frozen=True, slots=True)
class Stroke:
    """A key moved.

    Args:
        key: MIDI key number, 0 to 127.
        velocity: 1 to 127 when it went down, 0 when it came up.
    """

    key: int
    velocity: int


class Decoder:
    """Stateful: the byte stream of one port, with the status that is running.

    Follows the MIDI 1.0 Detailed Specification: running status; real-time bytes (clock, active
    sensing) anywhere, even inside a message; system exclusive passed over; a note-on with
    velocity 0 is a note-off; any channel. Other messages are passed over.
    """

    def __init__(self) -> None:
        self._status = 0
        self._data: list[int] = []

    def feed(self, data: Iterable[int]) -> tuple[Stroke, ...]:
        """The key strokes that these bytes (0 to 255) complete."""
        strokes = []
        for byte in data:
            if byte >= _FIRST_REAL_TIME:
                continue
            if byte >= 0x80:
                # System messages end the running status; their data then belongs to no message.
                self._status = byte if byte < _FIRST_SYSTEM else 0
                self._data.clear()
                continue
            kind = self._status >> 4
            if kind not in _DATA_BYTES:
                continue
            self._data.append(byte)
            if len(self._data) == _DATA_BYTES[kind]:
                if kind == _NOTE_ON:
                    strokes.append(Stroke(*self._data))
                elif kind == _NOTE_OFF:
                    strokes.append(Stroke(self._data[0], 0))
                self._data.clear()
        return tuple(strokes)
