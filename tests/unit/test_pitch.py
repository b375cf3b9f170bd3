# SPDX-License-Identifier: MIT
"""A spelled pitch, the key that sounds it and its frequency, against the published tables."""

from __future__ import annotations

from itertools import product

import pytest
from builders import PITCHES, key, music21_pitch
from hypothesis import given
from hypothesis import strategies as st
from music21.pitch import Pitch as Music21Pitch

from game.notation import HIGHEST_KEY, LETTERS, LOWEST_KEY, Pitch, frequency


# MIDI 1.0: note number 60 is middle C. Scientific pitch notation: middle C is C4, the octave
# changes at C (Acoustical Society of America, ANSI S1.1).
@pytest.mark.parametrize(
    ("spelling", "number"),
    [("C-1", 0), ("A0", 21), ("C4", 60), ("B3", 59), ("A4", 69), ("C8", 108), ("G9", 127)],
)
def test_midi_numbers_of_known_keys(spelling, number):
    assert Pitch.parse(spelling).key == number


def test_the_piano_has_88_keys_from_a0_to_c8():
    assert (key("A0"), key("C8")) == (LOWEST_KEY, HIGHEST_KEY)
    assert HIGHEST_KEY - LOWEST_KEY + 1 == 88


@pytest.mark.parametrize(
    ("one", "other"),
    [("B#3", "C4"), ("Cb4", "B3"), ("E#4", "F4"), ("Fb4", "E4"), ("B##3", "C#4"), ("Cbb4", "A#3")],
)
def test_the_octave_number_belongs_to_the_letter(one, other):
    assert key(one) == key(other)


def test_every_spelling_sounds_the_key_that_music21_gives():
    for letter, alter, octave in product(LETTERS, range(-2, 3), range(-1, 10)):
        pitch = Pitch(letter, alter, octave)
        assert pitch.key == music21_pitch(pitch).ps, pitch


def test_every_step_is_music21s_diatonic_note_number():
    # music21 counts C0 as 1; ours begins at 0.
    for letter, octave in product(LETTERS, range(-1, 10)):
        pitch = Pitch(letter, 0, octave)
        assert pitch.step == music21_pitch(pitch).diatonicNoteNum - 1


# ISO 16:1975 sets A4 = 440 Hz; the others are the equal-temperament table published with it
# in many places (for instance the keys of the 88-key piano), to three decimals.
@pytest.mark.parametrize(
    ("spelling", "hertz"),
    [("A0", 27.5), ("C4", 261.626), ("E4", 329.628), ("A4", 440), ("C8", 4186.009)],
)
def test_frequencies_of_equal_temperament(spelling, hertz):
    assert frequency(key(spelling)) == pytest.approx(hertz, abs=0.0005)


def test_every_frequency_of_the_piano_is_music21s():
    for number in range(LOWEST_KEY, HIGHEST_KEY + 1):
        assert frequency(number) == pytest.approx(Music21Pitch(midi=number).frequency)


@given(st.integers(0, 115), st.floats(400, 480))
def test_an_octave_doubles_the_frequency_at_any_concert_pitch(number, a4):
    assert frequency(number + 12, a4) == pytest.approx(2 * frequency(number, a4))
    assert frequency(69, a4) == pytest.approx(a4)


@given(PITCHES)
def test_a_spelling_is_read_back(pitch):
    assert Pitch.parse(pitch.spelling) == pitch
    assert Pitch.parse(f" {pitch.spelling.lower()} ") == pitch


@given(PITCHES)
def test_a_step_leads_back_to_its_pitch(pitch):
    assert Pitch.at_step(pitch.step, pitch.alter) == pitch


@given(PITCHES, st.integers(-4, 4))
def test_alterations_count_semitones_and_octaves_twelve(pitch, octaves):
    natural = Pitch(pitch.letter, 0, pitch.octave)
    assert pitch.key == natural.key + pitch.alter
    moved = Pitch(pitch.letter, pitch.alter, pitch.octave + octaves)
    assert moved.key == pitch.key + 12 * octaves
    assert moved.step == pitch.step + 7 * octaves


@pytest.mark.parametrize(
    ("printed", "plain"),
    [
        ("F♯4", "F#4"),
        ("E♭2", "Eb2"),
        ("C𝄪5", "C##5"),
        ("B𝄫3", "Bbb3"),
        ("b4", "B4"),
        ("bb4", "Bb4"),
    ],
)
def test_printed_signs_and_small_letters_are_read(printed, plain):
    assert Pitch.parse(printed).spelling == plain


@pytest.mark.parametrize("text", ["", "H4", "C", "4", "C#b4", "C4.5", "C4 D4", "#C4", "Cx4"])
def test_what_is_no_pitch_is_refused_with_an_example(text):
    with pytest.raises(ValueError, match="F#4") as refusal:
        Pitch.parse(text)
    assert repr(text) in str(refusal.value)


@pytest.mark.parametrize("letter", ["H", "c", "", "CD"])
def test_a_letter_outside_the_seven_is_refused(letter):
    with pytest.raises(ValueError, match="C D E F G A B"):
        Pitch(letter, 0, 4)
