# SPDX-License-Identifier: MIT
"""Interval names, against music21."""

from __future__ import annotations

from itertools import product

import pytest
from builders import PITCHES, music21_pitch
from hypothesis import given
from music21.interval import Interval as Music21Interval

from game.notation import LETTERS, Interval, Pitch

TIMES = {1: "", 2: "doubly ", 3: "triply ", 4: "4 times "}


def music21_quality(abbreviation: str) -> str:
    """``AA`` -> ``doubly augmented``."""
    whole = {"P": "perfect", "M": "major", "m": "minor"}
    if abbreviation in whole:
        return whole[abbreviation]
    word = "augmented" if abbreviation[0] == "A" else "diminished"
    return TIMES[len(abbreviation)] + word


def test_every_interval_within_two_octaves_is_music21s():
    low_pitches = [Pitch(letter, alter, 4) for letter, alter in product(LETTERS, (-1, 0, 1))]
    for low in low_pitches:
        for letter, alter, octave in product(LETTERS, (-1, 0, 1), (4, 5)):
            high = Pitch(letter, alter, octave)
            if (high.step, high.key) < (low.step, low.key):
                continue
            theirs = Music21Interval(music21_pitch(low), music21_pitch(high)).diatonic
            ours = Interval.between(low, high)
            assert ours.number == theirs.generic.undirected
            assert ours.semitones == high.key - low.key
            assert ours.quality == music21_quality(theirs.specifierAbbreviation), (low, high)


@pytest.mark.parametrize(
    ("low", "high", "name"),
    [
        ("C4", "C4", "perfect unison"),
        ("C4", "C#4", "augmented unison"),
        ("E4", "F4", "minor second"),
        ("F4", "B4", "augmented fourth"),
        ("B3", "F4", "diminished fifth"),
        ("C4", "C5", "perfect octave"),
        ("C4", "E5", "major 10th"),
        ("C4", "B6", "major 21st"),
        ("C4", "C7", "perfect 22nd"),
        ("C4", "D7", "major 23rd"),
        ("C4", "E7", "major 24th"),
        ("C4", "F5", "perfect 11th"),
        ("C4", "G5", "perfect 12th"),
        ("C4", "A5", "major 13th"),
        ("C##4", "Dbb4", "triply diminished second"),
    ],
)
def test_names(low, high, name):
    assert str(Interval.between(Pitch.parse(low), Pitch.parse(high))) == name


@given(PITCHES, PITCHES)
def test_an_interval_is_the_same_from_either_end(one, other):
    interval = Interval.between(one, other)
    assert interval == Interval.between(other, one)
    assert interval.number >= 1
    assert abs(interval.semitones) == abs(one.key - other.key)
