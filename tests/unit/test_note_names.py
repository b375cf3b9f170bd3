# SPDX-License-Identifier: MIT
"""Note names of the schools, against music21 where it knows them."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
from builders import PITCHES, music21_pitch
from hypothesis import given
from hypothesis import strategies as st

from game.notation import LETTERS, NOTE_NAMES, Pitch

FOUR_OCTAVES = [Pitch(letter, alter, 4) for letter, alter in product(LETTERS, range(-2, 3))]


def test_german_names_are_music21s():
    for pitch in FOUR_OCTAVES:
        assert NOTE_NAMES["german"].name(pitch) == music21_pitch(pitch).german


@pytest.mark.parametrize(
    ("school", "language"), [("fixed-do", "italian"), ("fixed-do", "spanish"), ("french", "french")]
)
def test_syllables_of_the_naturals_are_music21s(school, language):
    for letter in LETTERS:
        theirs = getattr(music21_pitch(Pitch(letter, 0, 4)), language)
        assert NOTE_NAMES[school].name(Pitch(letter, 0, 4)) == theirs


# Common practice in Portuguese and in Japanese, from memory: music21 knows neither.
@pytest.mark.parametrize(
    ("school", "names"),
    [
        ("portuguese", "dó ré mi fá sol lá si"),
        ("japanese", "ハ ニ ホ ヘ ト イ ロ"),
        ("letters", "C D E F G A B"),
    ],
)
def test_names_of_the_naturals(school, names):
    assert [NOTE_NAMES[school].name(Pitch(letter, 0, 4)) for letter in LETTERS] == names.split()


@pytest.mark.parametrize(
    ("school", "spelling", "name"),
    [
        ("letters", "F#4", "F♯"),
        ("letters", "Bbb3", "B♭♭"),
        ("german", "Bb3", "B"),
        ("german", "B3", "H"),
        ("german", "Eb4", "Es"),
        ("french", "Eb4", "mi♭"),
        ("japanese", "F#4", "嬰ヘ"),
        ("japanese", "Bb3", "変ロ"),
        ("japanese", "C##4", "重嬰ハ"),
        ("japanese", "Dbb4", "重変ニ"),
    ],
)
def test_altered_names(school, spelling, name):
    assert NOTE_NAMES[school].name(Pitch.parse(spelling)) == name


def test_the_octave_is_said_on_request():
    assert NOTE_NAMES["letters"].name(Pitch.parse("F#4"), octave=True) == "F♯4"
    assert NOTE_NAMES["german"].name(Pitch.parse("B3"), octave=True) == "H3"


@pytest.mark.parametrize(("spelling", "name"), [("C4", "do3"), ("A4", "la3"), ("Cb4", "do♭3")])
def test_octaves_may_be_numbered_as_french_and_italian_schools_do(spelling, name):
    """Common practice there: middle C is do3, the A of 440 Hz la3."""
    names = replace(NOTE_NAMES["french"], middle_c=3)
    assert names.name(Pitch.parse(spelling), octave=True) == name
    assert names.name(Pitch.parse(spelling)) == name[:-1]


@pytest.mark.parametrize("school", NOTE_NAMES)
def test_no_two_notes_of_a_school_have_one_name(school):
    names = [NOTE_NAMES[school].name(pitch) for pitch in FOUR_OCTAVES]
    assert len(set(names)) == len(FOUR_OCTAVES)


@given(PITCHES, st.sampled_from(sorted(NOTE_NAMES)))
def test_any_number_of_signs_has_a_name(pitch, school):
    name = NOTE_NAMES[school].name(pitch)
    sharper = NOTE_NAMES[school].name(Pitch(pitch.letter, pitch.alter + 1, pitch.octave))
    assert name
    assert name != sharper
