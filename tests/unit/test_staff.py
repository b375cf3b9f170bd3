# SPDX-License-Identifier: MIT
"""Where a pitch stands on the staff, and how many ledger lines it needs."""

from __future__ import annotations

import pytest
from builders import PITCHES, music21_pitch
from hypothesis import given
from hypothesis import strategies as st
from music21 import clef as music21_clefs

from game.notation import LETTERS, TOP_LINE, Clef, Pitch, ledger_lines


@pytest.mark.parametrize("clef", Clef)
def test_positions_count_from_music21s_lowest_line(clef):
    lowest = getattr(music21_clefs, f"{clef.value.capitalize()}Clef")().lowestLine
    for octave in range(-1, 10):
        for letter in LETTERS:
            pitch = Pitch(letter, 0, octave)
            above = music21_pitch(pitch).diatonicNoteNum - lowest
            assert clef.position(pitch) == above


@pytest.mark.parametrize(
    ("clef", "lines"),
    [
        (Clef.TREBLE, "E4 G4 B4 D5 F5"),
        (Clef.BASS, "G2 B2 D3 F3 A3"),
        (Clef.ALTO, "F3 A3 C4 E4 G4"),
    ],
)
def test_the_five_lines(clef, lines):
    positions = [clef.position(Pitch.parse(line)) for line in lines.split()]
    assert positions == [0, 2, 4, 6, TOP_LINE]


@given(PITCHES, st.sampled_from(Clef))
def test_a_position_leads_back_to_its_step_whatever_the_sign(pitch, clef):
    assert clef.step_at(clef.position(pitch)) == pitch.step


# Common practice: a note in the space next to the staff needs no line of its own.
@pytest.mark.parametrize(
    ("clef", "spelling", "lines"),
    [
        (Clef.TREBLE, "C4", -1),
        (Clef.BASS, "C4", 1),
        (Clef.TREBLE, "D4", 0),
        (Clef.TREBLE, "G5", 0),
        (Clef.TREBLE, "A5", 1),
        (Clef.TREBLE, "B5", 1),
        (Clef.TREBLE, "C6", 2),
        (Clef.TREBLE, "A3", -2),
        (Clef.BASS, "B3", 0),
        (Clef.BASS, "F2", 0),
        (Clef.BASS, "E2", -1),
        (Clef.BASS, "C2", -2),
        (Clef.TREBLE, "C8", 9),
    ],
)
def test_ledger_lines(clef, spelling, lines):
    assert ledger_lines(clef.position(Pitch.parse(spelling))) == lines


@given(st.integers(-60, 60))
def test_a_ledger_line_lies_on_every_line_position_out_to_the_note(position):
    out = range(10, position + 1) if position > 0 else range(position, -1)
    lines = [place for place in out if place % 2 == 0]
    assert abs(ledger_lines(position)) == len(lines)
    assert ledger_lines(position) * position >= 0
