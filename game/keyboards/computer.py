# SPDX-License-Identifier: MIT
"""The computer keyboard as one and a half octaves of a piano, by the place of its keys."""

from __future__ import annotations

from dataclasses import dataclass, replace

from game.notation import HIGHEST_KEY, LOWEST_KEY

# USB HID usage numbers, which SDL uses as scancodes: the place of a key, whatever is printed on
# it (USB HID Usage Tables, Keyboard/Keypad page). In order of the semitones from C upwards.
_PLACES = (
    (4, "A"), (26, "W"), (22, "S"), (8, "E"), (7, "D"), (9, "F"), (23, "T"), (10, "G"),
    (28, "Y"), (11, "H"), (24, "U"), (13, "J"), (14, "K"), (18, "O"), (15, "L"), (19, "P"),
    (51, ";"), (52, "'"),
)  # fmt: skip
_SEMITONES = {scancode: semitone for semitone, (scancode, _) in enumerate(_PLACES)}


@dataclass(frozen=True, slots=True)
class ComputerKeyboard:
    """The row that begins with A plays the white keys from C up to F, the row above the black.

    Args:
        octave: scientific octave of the lowest C.
    """

    octave: int = 4

    @property
    def lowest(self) -> int:
        """MIDI key of the lowest C."""
        return 12 * (self.octave + 1)

    def key_for(self, scancode: int) -> int | None:
        """The MIDI key at a place of the keyboard; None where there is none."""
        semitone = _SEMITONES.get(scancode)
        return None if semitone is None else self.lowest + semitone

    def label_for(self, key: int) -> str | None:
        """What a US keyboard prints on the place that plays a MIDI key."""
        place = key - self.lowest
        return _PLACES[place][1] if 0 <= place < len(_PLACES) else None

    def shifted(self, octaves: int) -> ComputerKeyboard:
        """An octave higher or lower; unchanged where that would leave the piano."""
        moved = replace(self, octave=self.octave + octaves)
        top = moved.lowest + len(_PLACES) - 1
        return moved if moved.lowest >= LOWEST_KEY and top <= HIGHEST_KEY else self
