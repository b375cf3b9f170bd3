# SPDX-License-Identifier: MIT
"""What printed music means: one small file of tests/support/pieces for each oddity.

The expected lines follow from the files by hand, by the common practice of notation.
"""

from __future__ import annotations

import pytest
from piece_reading import PIECES, lines, notices, piece

from game.pieces import load_piece


def test_repeats_and_endings_are_printed_once_in_order():
    assert lines(piece("repeats.musicxml")) == ["1 1: C4", "2 1: D4", "3 1: E4", "4 1: F4"]


def test_grace_notes_come_before_the_beat_of_their_note_and_take_no_time():
    assert lines(piece("grace-notes.musicxml")) == [
        "1 1: ,B4", "1 1: ,C5", "1 1: D5", "1 3: ,(#)F#4", "1 3: G4", "2 1: E4", "2 5: ,D4",
    ]  # fmt: skip


def test_two_voices_of_one_staff_share_its_slots_and_its_signs():
    assert lines(piece("two-voices.musicxml")) == [
        "1 1: A4 C5", "1 2: (#)F#5", "1 3: E5", "1 4: F#5",
    ]  # fmt: skip


def test_a_clarinet_in_b_flat_sounds_a_tone_lower_under_the_signature_of_what_sounds():
    read = piece("clarinet.musicxml")
    assert lines(read) == ["1 1: C4", "1 2: E4", "1 3: (n)Eb4", "1 4: B4"]
    assert {slot.signature.fifths for slot in read.slots} == {0}  # D major is printed


def test_a_double_bass_sounds_an_octave_lower():
    assert lines(piece("double-bass.musicxml")) == ["1 1: / E1", "1 3: / G1"]


def test_a_clef_with_an_8_below_is_named_and_its_notes_sound_as_encoded():
    read = piece("guitar-clef.musicxml")
    assert lines(read) == ["1 1: E3", "1 3: (#)F#4"]
    assert {note.clef for slot in read.slots for note in slot.notes} == {"treble 8vb"}


def test_octave_lines_of_musicxml_sound_where_they_say():
    assert lines(piece("octave-lines.musicxml")) == [
        "1 1: C5 / C2", "1 2: F6", "1 3: G6 / C3", "1 4: C5", "2 1: C7",
    ]  # fmt: skip


def test_octave_lines_of_mei_move_written_octaves_by_ids_or_by_beats():
    assert lines(piece("octave-line.mei")) == [
        "1 1: C5", "1 2: D6", "1 3: E6", "1 4: F5", "2 1: C4", "2 3: D3",
    ]  # fmt: skip


def test_a_clef_changes_in_the_middle_of_a_bar():
    read = piece("clef-change.musicxml")
    assert lines(read) == [
        "1 1: E4 / C3", "1 2: / D3", "1 3: F4 / C4", "1 4: / D4", "2 1: E4 / E4", "2 3: / F3",
    ]  # fmt: skip
    lower = [note.clef for slot in read.slots for note in slot.notes if note.staff == 2]
    assert lower == ["bass", "bass", "treble", "treble", "treble", "bass"]


def test_an_upbeat_and_the_rest_of_a_divided_bar_stand_at_the_end_of_their_bar():
    assert lines(piece("pickup.musicxml")) == [
        "0 3: G4", "1 1: C5", "1 3: D5", "2 1: E5", "X1 3: G4", "3 1: C5",
    ]  # fmt: skip


def test_a_tie_carries_a_sign_over_the_barline_for_its_note_only():
    assert lines(piece("ties.musicxml"))[:5] == [
        "1 1: G4", "1 3: (#)F#4", "2 1: ~F#4", "2 2: F4", "2 3: F4",
    ]  # fmt: skip


def test_in_a_chord_only_the_tied_note_is_held():
    assert lines(piece("ties.musicxml"))[-2:] == ["4 1: C4 E4", "4 3: ~C4 E4"]


def test_a_tie_that_leads_nowhere_puts_its_bar_in_doubt():
    read = piece("ties.musicxml")
    assert notices(read) == ["3: a tie does not lead from one note to another"]
    assert [read.bars[bar].label for bar in read.doubtful] == ["3"]


@pytest.mark.parametrize("name", ["tuplets.musicxml", "no-types.musicxml"])
def test_tuplets_drawn_or_not_and_notes_of_no_printed_length_have_their_time(name):
    assert lines(piece(name)) == [
        "1 1: C4", "1 4/3: D4", "1 5/3: E4", "1 2: F4", "1 8/3: G4", "1 3: C5",
    ]  # fmt: skip


def test_a_note_of_the_left_hand_on_the_upper_staff_is_of_the_upper_staff():
    read = piece("cross-staff.musicxml")
    assert lines(read) == ["1 1: E5 / C3", "1 2: / E3", "1 3: G4", "1 4: (#)F#4"]
    assert {note.clef for note in read.slots[-1].notes} == {"treble"}


def test_double_signs_and_rare_spellings_sound_their_keys():
    read = piece("double-sharps.musicxml")
    assert lines(read) == [
        "1 1: (##)F##4", "1 2: G#4", "1 3: (#)F#4", "1 4: (#)B#4",
        "2 1: (bb)Bbb4", "2 2: (b)Cb5", "2 3: (#)E#4", "2 4: (n)F4",
    ]  # fmt: skip
    assert [note.key for slot in read.slots for note in slot.notes] == [
        67, 68, 66, 72, 69, 71, 65, 65,
    ]  # fmt: skip
    assert notices(read) == []


def test_a_new_signature_holds_from_its_bar_on():
    read = piece("key-change.musicxml")
    assert lines(read) == ["1 1: F#4", "1 3: C5", "2 1: F4", "2 3: Bb4"]
    assert [slot.signature.fifths for slot in read.slots] == [1, 1, -2, -2]


def test_mei_that_leaves_alterations_to_the_print_is_read_from_the_print():
    read = piece("signature-unsaid.mei")
    assert lines(read) == [
        "1 1: F#4", "1 2: C#5", "1 3: (n)C5", "1 4: C5", "2 1: C#5", "2 3: ~C#5",
    ]  # fmt: skip
    assert notices(read) == []


def test_tremolos_are_struck_as_printed():
    assert lines(piece("tremolos.mei")) == ["1 1: C5", "1 3: D5", "1 4: F5"]


def test_two_spines_of_humdrum_are_the_two_hands():
    assert lines(piece("piano.krn")) == [
        "0 3: D4", "1 1: F#4 / G3", "1 2: / B3", "1 3: ~F#4 / D4", "1 10/3: E4", "1 11/3: F#4",
        "2 1: (n)C4 / G3 C4",
    ]  # fmt: skip


def test_an_abc_tune_with_all_its_shorthand():
    assert lines(piece("tune.abc")) == [
        "0 3: D4",
        "1 1: (#)F#4", "1 2: G4", "1 3: F#4",  # the sign holds, and is the signature's anyway
        "2 1: F#5", "2 2: (b)Bb4", "2 3: Bb4",
        "3 1: A4", "3 5/3: B4", "3 7/3: C5", "3 3: D5",  # three quarters in the time of two
        "4 1: ~D5", "4 2: (#)C#5", "4 3: C#5", "4 15/4: D5",  # 3/4 and 1/4
        "5 1: C4 E4 G4",
        "6 1: F#4", "6 2: C#4", "6 3: ,G5", "6 3: A5",
        "7 1: (##)F##4", "7 2: (n)F4", "8 1: B4", "9 1: ~B4",
    ]  # fmt: skip


def test_two_voices_of_abc_in_a_brace_are_the_two_hands():
    assert lines(piece("voices.abc")) == ["1 1: C5 / F3", "1 2: Bb4 / D3 Bb3", "2 1: A4 / C3"]


def test_print_and_sound_that_differ_are_told_with_the_bar():
    read = piece("disagreement.musicxml")
    assert notices(read) == ["2: F4 is natural as printed and sharp as encoded"]
    assert lines(read)[2] == "2 1: F#4"  # what the file says outright


def test_voices_that_do_not_add_up_are_told_with_the_bar():
    assert notices(piece("uneven-voices.musicxml")) == [
        "1: its voices do not add up: 2.0 and 4.0 quarters"
    ]


def test_a_sign_for_a_repeated_bar_is_told_and_the_bars_after_it_are_right():
    read = piece("bar-repeat.mei")
    assert notices(read) == ["8: a sign stands for repeated notes that are not printed"]
    assert lines(read) == ["7 1: C4", "9 1: D4"]


@pytest.mark.parametrize(
    ("part", "expected", "clef"),
    [
        ("1", "1 1: C5", "treble"),
        ("Cello", "1 1: / C3", "bass"),
        ("vio", "1 1: C4", "alto"),
        ("1,2", "1 1: C5 / C3", "treble"),
        ("flute, viola", "1 1: C5 / C4", "treble"),
    ],
)
def test_a_part_is_chosen_by_number_by_name_or_two_together(part, expected, clef):
    read = piece("duo.musicxml", part)
    assert lines(read) == [expected]
    assert read.slots[0].notes[0].clef == clef


def test_a_file_that_never_prints_a_sign_leaves_them_to_its_reader(tmp_path):
    """Files that programs make often have no accidental at all. Each bar is still told."""
    text = (PIECES / "disagreement.musicxml").read_text(encoding="utf-8")
    first, last = text.index('    <measure number="2">'), text.index('    <measure number="3">')
    bars = "".join(text[first:last].replace('"2"', f'"{number}"') for number in range(2, 14))
    path = tmp_path / "made.musicxml"
    path.write_text(text[:first] + bars + "  </part>\n</score-partwise>\n", encoding="utf-8")
    read = load_piece(path)
    assert [read.bars[notice.bar].label for notice in read.notices] == [
        str(number) for number in range(2, 14)
    ]
    assert read.doubtful == frozenset()


def test_a_tie_of_another_part_is_no_matter_of_this_one(tmp_path):
    text = (PIECES / "duo.musicxml").read_text(encoding="utf-8")
    torn = text.replace("<type>", '<tie type="start"/><type>', 1).replace(
        "</note>", '<notations><tied type="start"/></notations></note>', 1
    )
    path = tmp_path / "duo.musicxml"
    path.write_text(torn, encoding="utf-8")
    assert notices(load_piece(path, "Flute")) == ["1: a tie does not lead from one note to another"]
    assert notices(load_piece(path, "Cello")) == []


def test_the_editors_reading_is_taken_and_a_bar_that_is_too_long_is_told():
    read = piece("alternatives.mei")
    assert lines(read) == [
        "1 1: C4", "1 4/3: D4", "1 5/3: E4", "1 2: F4", "2 1: C4", "2 2: E4", "3 1: C4", "3 3: D4",
    ]  # fmt: skip
    assert notices(read) == ["3: it has 3 quarters, and its metre 2"]
    assert read.doubtful == frozenset()
