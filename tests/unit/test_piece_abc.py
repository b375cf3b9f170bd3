# SPDX-License-Identifier: MIT
"""ABC: what is expected follows by hand from The abc music standard 2.1 (2011), whose section is
named; music21, which reads it, is no witness here."""

from __future__ import annotations

from fractions import Fraction

import pytest
from piece_reading import lines, notices

from game.pieces import Piece, PieceError, load_piece


@pytest.fixture
def tune(tmp_path):
    def read(body: str, header: str = "M:4/4\nL:1/4\nK:C") -> Piece:
        path = tmp_path / "tune.abc"
        path.write_text(f"X:1\n{header}\n{body}\n", encoding="utf-8")
        return load_piece(path)

    return read


def test_chords_have_the_length_inside_times_that_outside(tune):
    """4.17."""
    assert lines(tune("[CE]2 [CEG]/ [C/E/]2 z/|[C2E2]2|")) == [
        "1 1: C4 E4", "1 3: C4 E4 G4", "1 7/2: C4 E4", "2 1: C4 E4",
    ]  # fmt: skip


def test_ties_hold_a_note_a_chord_or_one_note_of_a_chord(tune):
    """4.11."""
    found = tune("C4-|C2 [CE]2-|[CE]2 [C-E]2|[CG]2 z2|")
    assert lines(found) == [
        "1 1: C4", "2 1: ~C4", "2 3: C4 E4", "3 1: ~C4 ~E4", "3 3: C4 E4", "4 1: ~C4 G4",
    ]  # fmt: skip
    assert notices(found) == []


def test_a_tie_carries_an_accidental_over_the_barline(tune):
    """4.11 and common practice: for the tied note alone."""
    assert lines(tune("^F4-|F2 F2|")) == ["1 1: (#)F#4", "2 1: ~F#4", "2 3: F4"]


def test_an_accidental_holds_to_the_barline_in_every_octave_also_in_and_after_chords(tune):
    """4.2 and 11.3: ``propagate-accidentals`` is ``pitch`` where nothing is said."""
    assert lines(tune("^F f [FA] F|F [_BD] B b|")) == [
        "1 1: (#)F#4", "1 2: F#5", "1 3: F#4 A4", "1 4: F#4",
        "2 1: F4", "2 2: D4 (b)Bb4", "2 3: Bb4", "2 4: Bb5",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("how", "second", "third"),
    [("octave", "F5", "F#4"), ("not", "F5", "F4"), ("pitch", "F#5", "F#4")],
)
def test_how_far_an_accidental_holds_can_be_said(tune, how, second, third):
    """11.3."""
    found = tune("^F f F z|", f"%%propagate-accidentals {how}\nL:1/4\nK:C")
    assert lines(found) == ["1 1: (#)F#4", f"1 2: {second}", f"1 3: {third}"]


def test_tuplets(tune):
    """4.13: of 2 in the time of 3, of 5 by the metre, ``p:q:r``; grace notes take no time."""
    found = tune("(3CDE (3:2:2F2G|", "M:4/4\nL:1/4\nK:C")
    assert lines(found) == ["1 1: C4", "1 5/3: D4", "1 7/3: E4", "1 3: F4", "1 13/3: G4"]
    assert lines(tune("(2CD (3{g}EFG z|", "M:6/8\nL:1/8\nK:C")) == [
        "1 1: C4", "1 7/4: D4", "1 5/2: ,G5", "1 5/2: E4", "1 17/6: F4", "1 19/6: G4",
    ]  # fmt: skip
    five = tune("(5CDEFG z3|", "M:6/8\nL:1/8\nK:C")
    assert five.slots[-1].beat == 1 + Fraction(4 * 3, 5) / 2  # 5 eighths in the time of 3


def test_broken_rhythm_also_around_grace_notes_and_in_a_row(tune):
    """4.4."""
    assert lines(tune("C>D E<<F|A > {c}B c>d>e|", "M:none\nL:1/4\nK:C")) == [
        "1 1: C4", "1 5/2: D4", "1 3: E4", "1 13/4: F4",
        "2 1: A4", "2 5/2: ,C5", "2 5/2: B4", "2 3: C5", "2 9/2: D5", "2 21/4: E5",
    ]  # fmt: skip


def test_fields_inside_a_line_change_key_metre_and_unit(tune):
    """3.2 and 4.6: also inside a bar."""
    found = tune("F4|[K:G]F4|[M:2/4][L:1/8]F4|[K:Am]F2[K:D]F2|F4|")
    assert lines(found) == [
        "1 1: F4", "2 1: F#4", "3 1: F#4", "4 1: F4", "4 2: F#4", "5 1: F#4",
    ]  # fmt: skip
    assert [bar.metre for bar in found.bars] == [(4, 4), (4, 4), (2, 4), (2, 4), (2, 4)]
    assert [slot.signature.fifths for slot in found.slots] == [0, 1, 1, 0, 2, 2]


@pytest.mark.parametrize(
    ("key", "fifths"),
    [
        ("C", 0), ("none", 0), ("", 0), ("HP", 0), ("Hp", 2), ("F#", 6), ("Cb", -7), ("Bb", -2),
        ("Am", 0), ("F#m", 3), ("E min", 1), ("D dor", 0), ("Dmix", 1), ("Aphrygian", -1),
        ("F LYD", 0), ("G major clef=bass", 1), ("Eb bass", -3),
    ],
)  # fmt: skip
def test_keys_and_modes(tune, key, fifths):
    """3.1.14; the signatures of the modes: common practice."""
    found = tune("z4|C4|", f"M:4/4\nL:1/4\nK:{key}")
    assert found.slots[0].signature.fifths == fifths


def test_voices_with_clefs_of_their_own_stand_on_two_staves(tune):
    """7: fields inside a line change the voice too."""
    found = tune(
        "[V:1] c4|[V:2] C,4|\nV:1\nB4|\nV:2\n[K:clef=treble]c4|",
        "M:4/4\nL:1/4\nV:1\nV:2 clef=bass\nK:C",
    )
    assert lines(found) == ["1 1: C5 / C3", "2 1: B4 / C5"]
    assert [note.clef for slot in found.slots for note in slot.notes] == [
        "treble", "bass", "treble", "treble",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("clef", "sounds", "named"),
    [
        ("clef=treble-8", "C3", "treble 8vb"),
        ("treble+8", "C5", "treble 8va"),
        ("clef=bass-8", "C3", "bass 8vb"),
        ("clef=bass octave=-1", "C3", "bass"),
        ("clef=alto", "C4", "alto"),
        ("clef=tenor", "C4", "tenor"),
    ],
)
def test_a_clef_with_an_8_and_an_octave_shift_what_sounds(tune, clef, sounds, named):
    """4.6: "the player will transpose the notes one octave higher or lower"."""
    found = tune("C4|D4|", f"M:4/4\nL:1/4\nK:C {clef}")
    note = found.slots[0].notes[0]
    assert (str(note.pitch), note.clef) == (sounds, named)


def test_transposition_sounds_and_is_not_printed(tune):
    """4.6."""
    found = tune("C4|", "L:1/4\nK:D transpose=-2")
    assert lines(found)[0].endswith("B3") and found.slots[0].signature.fifths == 0


def test_rests_seen_or_not_and_of_whole_bars(tune):
    """4.5."""
    assert lines(tune("C x D z|Z2|E4|")) == ["1 1: C4", "1 3: D4", "4 1: E4"]
    assert lines(tune("Z2|E3|", "M:3/4\nL:1/4\nK:C")) == ["3 1: E4"]


def test_repeats_endings_and_bars_of_all_kinds_are_barlines(tune):
    """4.8 and 4.9."""
    found = tune("|:C4::D4|1 E4:|2 F4||G4|[1 A4:|[2 B4|]")
    assert [line.split()[-1] for line in lines(found)] == ["C4", "D4", "E4", "F4", "G4", "A4", "B4"]
    assert [bar.label for bar in found.bars] == list("1234567")


def test_the_halves_of_a_bar_that_a_repeat_divides_have_one_number(tune):
    found = tune("C|DEFG|ABc:|d|efga|")
    assert [bar.label for bar in found.bars] == ["0", "1", "2", "2", "3"]
    assert lines(found)[0] == "0 4: C4"


def test_a_full_bar_ends_with_its_line_and_an_open_one_goes_on(tune):
    found = tune("C2^F2\nF4|^G2\nG2|G4|")
    assert lines(found) == [
        "1 1: C4", "1 3: (#)F#4", "2 1: F4", "3 1: (#)G#4", "3 3: G#4", "4 1: G4",
    ]  # fmt: skip


def test_what_is_no_note_is_passed_over(tune):
    """4.14 to 4.20, 5.1: symbols, annotations, chord names, slurs, words, comments, spacing."""
    found = tune(
        '"Am"(C.D) ~E !trill!F|% not music C\n`A`"^slow"B y2 vc uTd|\\\nw: la la\n+fermata+ e4 |'
    )
    assert [line.split()[-1] for line in lines(found)] == [
        "C4", "D4", "E4", "F4", "A4", "B4", "C5", "D5", "E5",
    ]  # fmt: skip


def test_an_unsaid_unit_follows_from_the_metre(tune):
    """3.1.7."""
    assert [str(slot.beat) for slot in tune("CDz4|", "M:3/4\nK:C").slots] == ["1", "3/2"]
    assert [str(slot.beat) for slot in tune("CDz6|", "M:2/4\nK:C").slots] == ["1", "5/4"]


@pytest.mark.parametrize(
    ("body", "what"),
    [
        ("C D E F&G A B c|", "line 5: voices overlaid"),
        ("[C2D4] C2|", "line 5: a chord of unequal lengths"),
        ("CD(3EF|G|", "line 5: a tuplet that goes on over a barline"),
        (">C D|", "line 5: broken rhythm"),
        ("CDEF|\nm:~n2 = n", "line 6: a macro"),
        ("CDEF|[K:C exp ^f]|", "line 5: a key"),
        ("[K:D locrian]CDEF|", "line 5: a key"),
        ("CDEF|;G|", "line 5: a ';'"),
    ],
)
def test_what_is_not_read_is_refused_with_its_line(tune, body, what):
    with pytest.raises(PieceError) as refusal:
        tune(body)
    assert f"tune.abc, {what}" in str(refusal.value)
    assert "\n" not in str(refusal.value)
