# SPDX-License-Identifier: MIT
"""The computer keyboard as one and a half piano octaves, by the place of its keys."""

from __future__ import annotations

from dataclasses import dataclass

from game.notation import HIGHEST_KEY, LOWEST_KEY

LOWEST_OCTAVE, HIGHEST_OCTAVE = 0, 7  # so that A0 and C8 can be reached

# SDL scancodes from C to the F of the octave above. They name places, not letters: those of
# the USB HID Usage Tables, page 0x07. White keys on the home row, black keys above it.
# fmt: off
_KEYS = (
    (4, "A"), (26, "W"), (22, "S"), (8, "E"), (7, "D"), (9, "F"), (23, "T"), (10, "G"),
    (28, "Y"), (11, "H"), (24, "U"), (13, "J"), (14, "K"), (18, "O"), (15, "L"), (19, "P"),
    (51, ";"), (52, "'"),
)
# fmt: on
_OFFSETS = {scancode: offset for offset, (scancode, _) in enumerate(_KEYS)}


@dataclass(frozen=True, slots=True)
class ComputerKeyboard:
    """Eighteen keys from a C up to the F of the octave above.

    Args:
        octave: of the lowest key, 0 to 7; 4 begins at middle C.
    """

    octave: int = 4

    def __post_init__(self) -> None:
        if not LOWEST_OCTAVE <= self.octave <= HIGHEST_OCTAVE:
            raise ValueError(
                f"octave {self.octave} is not within {LOWEST_OCTAVE} to {HIGHEST_OCTAVE}"
            )

    def shifted(self, octaves: int) -> ComputerKeyboard:
        """Moved by whole octaves, as far as the piano reaches."""
        return ComputerKeyboard(max(LOWEST_OCTAVE, min(HIGHEST_OCTAVE, self.octave + octaves)))

    def key_for(self, scancode: int) -> int | None:
        """The MIDI key at an SDL scancode; None for other places and beyond the 88 keys."""
        offset = _OFFSETS.get(scancode)
        if offset is None:
            return None
        key = self._lowest + offset
        return key if LOWEST_KEY <= key <= HIGHEST_KEY else None

    def label_for(self, key: int) -> str | None:
        """What is printed on the key's place on a US keyboard; None when it has none now."""
        offset = key - self._lowest
        if not 0 <= offset < len(_KEYS) or not LOWEST_KEY <= key <= HIGHEST_KEY:
            return None
        return _KEYS[offset][1]

    @property
    def _lowest(self) -> int:
        return 12 * (self.octave + 1)
