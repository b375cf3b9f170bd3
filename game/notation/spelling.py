# SPDX-License-Identifier: MIT
"""From a piano key back to a written pitch: its spellings, and the likeliest one."""

from __future__ import annotations

from game.notation.pitch import LETTERS, Pitch, natural_semitone
from game.notation.signature import C_MAJOR, SHARP_ORDER, KeySignature


def fifths_of(pitch: Pitch) -> int:
    """Place on the line of fifths: C = 0, G = 1, F = -1, F# = 6, Bb = -2."""
    return SHARP_ORDER.index(pitch.letter) - 1 + 7 * pitch.alter


def spellings(key: int, most: int = 2) -> tuple[Pitch, ...]:
    """Every spelling of a MIDI key with at most `most` sharps or flats, fewest signs first."""
    found = []
    for letter in LETTERS:
        for alter in range(-most, most + 1):
            octave, rest = divmod(key - natural_semitone(letter) - alter, 12)
            if rest == 0:
                found.append(Pitch(letter, alter, octave - 1))
    return tuple(sorted(found, key=lambda pitch: (abs(pitch.alter), pitch.letter)))


def likeliest(key: int, signature: KeySignature = C_MAJOR) -> Pitch:
    """The likeliest spelling of a MIDI key under a key signature.

    Of the spellings with at most one sharp or flat (D, not C double sharp, whatever the key), the
    one nearest to the middle of the scale on the line of fifths; in a tie the one with fewer
    signs, then the sharp, which is the leading note of the minor key (C# rather than Db under
    one flat). So a note of the scale is spelled as the scale spells it, and a chromatic one by
    its nearest relation to the key. The line of fifths as a measure of spelling: Temperley, *The
    Cognition of Basic Musical Structures* (2001), chapter 5 (from memory).
    """
    centre = signature.fifths + 2  # D in C major: the middle of F C G D A E B
    return min(
        spellings(key, 1),
        key=lambda pitch: (abs(fifths_of(pitch) - centre), abs(pitch.alter), -pitch.alter),
    )
