# SPDX-License-Identifier: MIT
"""From a piano key back to its spellings, and the one that a key signature makes likeliest."""

from __future__ import annotations

from itertools import product

import pytest
from builders import key, pitches
from hypothesis import given
from hypothesis import strategies as st
from music21.key import KeySignature as Music21Signature
from music21.pitch import Pitch as Music21Pitch
from music21.scale import HarmonicMinorScale

from game.notation import (
    ALL_SIGNATURES,
    LETTERS,
    KeySignature,
    Pitch,
    fifths_of,
    likeliest,
    spellings,
)

KEYS = st.integers(0, 127)
SIGNATURES = st.sampled_from(ALL_SIGNATURES)
signatures = pytest.mark.parametrize("signature", ALL_SIGNATURES, ids=lambda s: str(s.fifths))


def ours(pitch: Music21Pitch) -> Pitch:
    return Pitch.parse(pitch.nameWithOctave.replace("-", "b"))


@given(KEYS, st.integers(0, 14))
def test_spellings_are_all_there_are(number, most):
    every = {
        pitch
        for letter, alter, octave in product(LETTERS, range(-most, most + 1), range(-4, 13))
        if (pitch := Pitch(letter, alter, octave)).key == number
    }
    found = spellings(number, most)
    assert set(found) == every
    assert len(found) == len(every)
    assert [abs(p.alter) for p in found] == sorted(abs(p.alter) for p in found)


def test_the_spellings_of_middle_c_and_of_the_key_that_has_only_two():
    assert {p.spelling for p in spellings(60)} == {"C4", "B#3", "Dbb4"}
    assert {p.spelling for p in spellings(68)} == {"G#4", "Ab4"}


@given(KEYS, SIGNATURES)
def test_the_likeliest_spelling_sounds_the_key(number, signature):
    assert likeliest(number, signature).key == number


@signatures
def test_the_notes_of_a_scale_are_spelled_as_music21_spells_the_scale(signature):
    for mode in ("major", "minor"):
        for pitch in Music21Signature(signature.fifths).asKey(mode).getPitches("C2", "C7"):
            assert likeliest(int(pitch.ps), signature) == ours(pitch)


@pytest.mark.parametrize("fifths", [-7, -6, -2, -1, 0, 1, 2])
def test_the_leading_note_of_the_minor_key_is_spelled_as_music21_spells_it(fifths):
    # Harmonic minor. The other signatures' leading notes cost a sign more than the plain
    # spelling (B# for C), or are naturals; the plain spelling is preferred there by design.
    tonic = Music21Signature(fifths).asKey("minor").tonic
    leading = HarmonicMinorScale(tonic).getPitches()[6]
    assert likeliest(int(leading.ps), KeySignature(fifths)) == ours(leading)


@pytest.mark.parametrize(
    ("fifths", "expected"),
    [
        pytest.param(0, "C#4 Eb4 F#4 G#4 Bb4", id="no signature"),
        pytest.param(1, "C#4 D#4 F#4 G#4 Bb4", id="one sharp"),
        pytest.param(-1, "C#4 Eb4 F#4 Ab4 Bb4", id="one flat"),
        pytest.param(-4, "Db4 Eb4 Gb4 Ab4 Bb4", id="four flats"),
        pytest.param(5, "C#4 D#4 F#4 G#4 A#4", id="five sharps"),
    ],
)
def test_the_black_keys_by_signature(fifths, expected):
    # The neighbours of the scale on the line of fifths (Temperley 2001, from memory).
    wanted = expected.split()
    assert [likeliest(key(s), KeySignature(fifths)).spelling for s in wanted] == wanted


def test_the_plainer_of_two_equally_near_spellings_is_taken():
    # Under three sharps E# and F are equally far from the scale's middle.
    assert likeliest(key("F4"), KeySignature(3)).spelling == "F4"


@signatures
def test_a_white_key_is_never_called_by_a_double_sign(signature):
    # D in C sharp major is D, which is drawn with a natural, and not C double sharp.
    assert all(abs(likeliest(number, signature).alter) <= 1 for number in range(128))
    assert likeliest(key("D4"), KeySignature(7)).spelling == "D4"


def test_the_line_of_fifths():
    line = pitches("Fb4 Cb4 Gb4 Db4 Ab4 Eb4 Bb4 F4 C4 G4 D4 A4 E4 B4 F#4 C#4 G#4 D#4 A#4 E#4 B#4")
    assert [fifths_of(pitch) for pitch in line] == list(range(-8, 13))
