# SPDX-License-Identifier: MIT
"""A written pitch: a letter, its alteration and its octave, and the piano key that sounds it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache
from math import exp2

LETTERS = "CDEFGAB"
_SEMITONES = (0, 2, 4, 5, 7, 9, 11)
LOWEST_KEY, HIGHEST_KEY = 21, 108  # A0 and C8 on 88 keys
_RARE = ("E#", "B#", "Cb", "Fb")
_SPELLING = re.compile(r"([A-Ga-g])(#*|b*)(-?\d+)")
_SIGN_CHARACTERS = str.maketrans({"♯": "#", "♭": "b", "𝄪": "##", "𝄫": "bb"})


@dataclass(frozen=True, slots=True)
class Pitch:
    """A spelled pitch in scientific pitch notation.

    Args:
        letter: one of C D E F G A B.
        alter: semitones added by sharps (positive) or flats (negative), without limit.
        octave: the octave of the *letter*; it changes at C, whatever the alteration
            (B#3 sounds as C4, Cb4 sounds as B3).

    Attributes:
        step: diatonic step, letters counted up from C0 = 0, so C4 = 28. It ignores `alter`.
        key: MIDI key number that sounds the pitch (MIDI 1.0: C4, middle C, is 60). Not clipped:
            it may lie outside the piano (21 to 108) or outside MIDI (0 to 127).
    """

    letter: str
    alter: int
    octave: int
    step: int = field(init=False, repr=False, compare=False)
    key: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if len(self.letter) != 1 or self.letter not in LETTERS:
            raise ValueError(f"letter {self.letter!r} is not one of {' '.join(LETTERS)}")
        index = LETTERS.index(self.letter)
        key = 12 * (self.octave + 1) + _SEMITONES[index] + self.alter
        object.__setattr__(self, "step", self.octave * 7 + index)
        object.__setattr__(self, "key", key)

    @classmethod
    def parse(cls, text: str) -> Pitch:
        """Read a spelling such as ``F#4``, ``Bb3``, ``C##5`` or ``E♭2``.

        Raises:
            ValueError: the text is not a letter, sharps or flats, and an octave number.
        """
        match = _SPELLING.fullmatch(text.strip().translate(_SIGN_CHARACTERS))
        if match is None:
            raise ValueError(
                f"{text!r} is not a pitch: a letter A to G, then # or b signs, "
                "then an octave number, as in F#4"
            )
        letter, signs, octave = match.groups()
        alter = len(signs) if signs.startswith("#") else -len(signs)
        return cls(letter.upper(), alter, int(octave))

    @classmethod
    def at_step(cls, step: int, alter: int = 0) -> Pitch:
        """The pitch on a diatonic step (see :attr:`step`), altered by `alter` semitones."""
        return _at_step(step, alter)

    @property
    def sign(self) -> str:
        """The alteration in plain characters: ``""``, ``#``, ``b``, ``##``, ``bb`` …"""
        return "#" * self.alter if self.alter > 0 else "b" * -self.alter

    @property
    def rare(self) -> bool:
        """Whether it names a white key as black keys are named: E#, B#, Cb and Fb."""
        return self.letter + self.sign in _RARE

    @property
    def spelling(self) -> str:
        """Plain text that :meth:`parse` reads back, such as ``F#4``."""
        return f"{self.letter}{self.sign}{self.octave}"

    def __str__(self) -> str:
        return self.spelling


@lru_cache(maxsize=1024)  # a pitch is a value: one of each is enough
def _at_step(step: int, alter: int) -> Pitch:
    octave, index = divmod(step, 7)
    return Pitch(LETTERS[index], alter, octave)


def natural_semitone(letter: str) -> int:
    """Semitones from C up to the natural of `letter` (C = 0 … B = 11)."""
    return _SEMITONES[LETTERS.index(letter)]


def frequency(key: float, a4: float = 440.0) -> float:
    """Frequency in Hz of a MIDI key in equal temperament.

    Source: ISO 16:1975 (A4 = 440 Hz); ``f = a4 * 2 ** ((key - 69) / 12)``.
    """
    return a4 * exp2((key - 69) / 12)
