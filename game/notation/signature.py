# SPDX-License-Identifier: MIT
"""Key signatures: which letters are altered, in what order, and where the signs stand."""

from __future__ import annotations

from dataclasses import dataclass

from game.notation.clef import Clef
from game.notation.pitch import LETTERS, Pitch

SHARP_ORDER = "FCGDAEB"
FLAT_ORDER = SHARP_ORDER[::-1]
# Treble-staff octaves of the signs, in order of entry. Common practice in engraving:
# the sharps fall and rise between G5 and A4, the flats between E5 and F4.
_SHARP_OCTAVES = (5, 5, 5, 5, 4, 5, 4)
_FLAT_OCTAVES = (4, 5, 4, 5, 4, 5, 4)
# fifths -> letter -> alteration: asked for at every note that is dealt or judged.
_ALTERS = {
    fifths: {
        letter: int(letter in SHARP_ORDER[: max(0, fifths)])
        - int(letter in FLAT_ORDER[: max(0, -fifths)])
        for letter in LETTERS
    }
    for fifths in range(-7, 8)
}


@dataclass(frozen=True, slots=True)
class KeySignature:
    """A key signature.

    Args:
        fifths: -7 (seven flats) to 7 (seven sharps); 0 has no sign.
    """

    fifths: int = 0

    def __post_init__(self) -> None:
        if not -7 <= self.fifths <= 7:
            raise ValueError(f"a key signature has -7 to 7 signs, not {self.fifths}")

    @property
    def letters(self) -> str:
        """The altered letters in the order in which they enter."""
        order = SHARP_ORDER if self.fifths > 0 else FLAT_ORDER
        return order[: abs(self.fifths)]

    def alter(self, letter: str) -> int:
        """Semitones that the signature adds to this letter, in every octave: -1, 0 or 1."""
        return _ALTERS[self.fifths][letter]

    def pitch_at(self, step: int) -> Pitch:
        """The pitch that an unsigned note on this diatonic step has under the signature."""
        return Pitch.at_step(step, _ALTERS[self.fifths][LETTERS[step % 7]])

    def places(self, clef: Clef) -> tuple[int, ...]:
        """Staff positions (0 = bottom line, 1 = the space above …) of the signs, in order."""
        octaves = _SHARP_OCTAVES if self.fifths > 0 else _FLAT_OCTAVES
        # Under another clef they keep that shape, up to a line and a space higher or lower.
        down = (Clef.TREBLE.bottom_line.step - clef.bottom_line.step + 3) // 7
        return tuple(
            clef.position(Pitch(letter, 0, octave - down))
            for letter, octave in zip(self.letters, octaves, strict=False)
        )

    @property
    def major(self) -> str:
        """Tonic of the major key, such as ``Bb``."""
        return _tonic(self.fifths)

    @property
    def minor(self) -> str:
        """Tonic of the minor key, such as ``F#``."""
        return _tonic(self.fifths + 3)


C_MAJOR = KeySignature(0)
ALL_SIGNATURES = tuple(KeySignature(fifths) for fifths in range(-7, 8))


def _tonic(fifths: int) -> str:
    """Name on the line of fifths, C = 0."""
    sharps, place = divmod(fifths + 1, 7)
    return SHARP_ORDER[place] + ("#" * sharps if sharps > 0 else "b" * -sharps)
