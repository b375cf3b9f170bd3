# SPDX-License-Identifier: MIT
"""The computer keyboard as one and a half piano octaves, by the place of its keys."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

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
_WHITE = (0, 2, 4, 5, 7, 9, 11, 12, 14)  # offsets of the row A to L


@dataclass(frozen=True, slots=True)
class ComputerKeyboard:
    """Eighteen keys from a C up to the F of the octave above.

    Args:
        octave: of the lowest key, 0 to 7; 4 begins at middle C.
        letters: what is printed on its keys, from the lowest; a US keyboard's unless said.
    """

    octave: int = 4
    letters: tuple[str, ...] = tuple(letter for _, letter in _KEYS)

    def __post_init__(self) -> None:
        if not LOWEST_OCTAVE <= self.octave <= HIGHEST_OCTAVE:
            raise ValueError(
                f"octave {self.octave} is not within {LOWEST_OCTAVE} to {HIGHEST_OCTAVE}"
            )

    def shifted(self, octaves: int) -> ComputerKeyboard:
        """Moved by whole octaves, as far as the piano reaches."""
        octave = max(LOWEST_OCTAVE, min(HIGHEST_OCTAVE, self.octave + octaves))
        return replace(self, octave=octave)

    def lettered(self, letters: Mapping[int, str]) -> ComputerKeyboard:
        """With the letters of a layout, by scancode."""
        return replace(self, letters=tuple(letters.get(*place) for place in _KEYS))

    def key_for(self, scancode: int) -> int | None:
        """The MIDI key at an SDL scancode; None for other places and beyond the 88 keys."""
        offset = _OFFSETS.get(scancode)
        if offset is None:
            return None
        key = self._lowest + offset
        return key if LOWEST_KEY <= key <= HIGHEST_KEY else None

    def label_for(self, key: int) -> str | None:
        """What is printed on the key's place; None when it has none now."""
        offset = key - self._lowest
        if not 0 <= offset < len(_KEYS) or not LOWEST_KEY <= key <= HIGHEST_KEY:
            return None
        return self.letters[offset]

    @property
    def white_row(self) -> str:
        """The letters of the row with the white keys."""
        return " ".join(self.letters[offset] for offset in _WHITE)

    @property
    def _lowest(self) -> int:
        return 12 * (self.octave + 1)
