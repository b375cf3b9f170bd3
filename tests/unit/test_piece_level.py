# SPDX-License-Identifier: MIT
"""Levels made of a piece: they can be read back, and they ask for what the piece prints."""

from __future__ import annotations

import pytest
from piece_reading import made, piece

from game.levels import deal, parse_level
from game.levels.difficulty import difficulty
from game.notation import Pitch
from game.pieces import Piece, PieceError, left_out, piece_level


def level(read: Piece, kind: str, hand: str | None = None, bars: int = 8):
    return parse_level(piece_level(read, kind, hand, bars), "made.toml")


def written(of_level) -> list[tuple[str, ...]]:
    return [one.slots for one in of_level.show.written]


def test_the_whole_piece_comes_by_the_bar_in_printed_order():
    found = level(piece("octave-lines.musicxml"), "bars")
    assert [one.name for one in found.show.written] == ["bar 1", "bar 2"]
    assert written(found) == [("C5 / C2", "F6", "G6 / C3", "C5"), ("C7",)]
    prompts = deal(found, 1, found.round.prompts)
    assert [prompt.name for prompt in prompts] == ["bar 1", "bar 2"]
    assert [sorted(slot.keys) for slot in prompts[0].slots] == [[36, 72], [89], [48, 91], [72]]


def test_a_held_note_is_not_asked_for():
    read = piece("piano.krn")
    assert written(level(read, "bars"))[1] == ("F#4 / G3", "/ B3", "/ D4", "E4", "F#4")


def test_one_hand_alone():
    read = piece("octave-lines.musicxml")
    assert written(level(read, "bars", "right")) == [("C5", "F6", "G6", "C5"), ("C7",)]
    with pytest.raises(PieceError, match="one bar is left"):  # the left hand rests in bar 2
        piece_level(read, "bars", "left")


def test_a_clef_of_its_own_stays_and_other_clefs_become_treble_or_bass():
    assert written(level(piece("clef-change.musicxml"), "bars"))[0] == (
        "E4 / C3", "/ D3", "F4 / C4@treble", "/ D4@treble",
    )  # fmt: skip
    low = made("C3 D3 E3", "F3 E3 D3", clef="alto")
    assert written(level(low, "bars"))[0] == ("C3@bass", "D3@bass", "E3@bass")
    high = made("C5 D5 E5", "F5 E5 D5", clef="alto")
    assert written(level(high, "bars"))[0] == ("C5", "D5", "E5")


def test_chords_that_a_hand_cannot_strike_are_left_out_with_the_reason():
    read = piece("wide-chords.musicxml")
    assert left_out(read) == (
        "bar 1: a chord wider than a tenth on one staff, which must be broken, at beat 3",
        "bar 2: 6 keys at once on one staff, more than a hand has fingers, at beat 1",
    )
    text = piece_level(read, "bars")
    for reason in left_out(read):
        assert f"# left out, {reason}" in text
    assert written(parse_level(text, "made.toml")) == [("C4 E5 / C3",), ("G4",), ("E4",)]


def test_two_hands_on_one_key_ask_for_it_once():
    assert written(level(piece("wide-chords.musicxml"), "bars"))[2] == ("E4",)


def test_a_bar_in_doubt_is_left_out_with_the_reason():
    read = piece("disagreement.musicxml")
    found = level(read, "bars")
    assert [one.name for one in found.show.written] == ["bar 1", "bar 3"]
    assert left_out(read) == ("bar 2: F4 is natural as printed and sharp as encoded",)


def test_a_bar_of_more_than_sixteen_slots_is_cut_on_a_beat():
    long = made("C4 D4 " * 9, "C4 D4")
    names = [(one.name, len(one.slots)) for one in level(long, "bars").show.written]
    assert names == [("bar 1, part 1", 8), ("bar 1, part 2", 10), ("bar 2", 2)]
    longer = made("C4 D4 " * 40, "C4 D4")
    found = level(longer, "bars").show.written
    assert all(len(one.slots) <= 16 for one in found)
    assert sum(len(one.slots) for one in found) == 82


def test_signs_follow_from_the_sounding_signature():
    read = piece("clarinet.musicxml")
    again = made("C4 E4 Eb4 B4", "C4 E4")
    assert written(level(again, "bars"))[0] == ("C4", "E4", "Eb4", "B4")
    with pytest.raises(PieceError, match="only one bar"):
        piece_level(read, "bars")


def test_the_hardest_bars_are_no_easier_than_any_that_was_left():
    read = made(
        "C4 D4", "F#4 G#4", "C4 E4 G4", "Cb6 Eb6 Ab6", "C4 D4", "D#5 A#5", "E4 F4", "B#3 E#4"
    )
    everything = deal(level(read, "bars"), 1, 8)
    chosen = level(read, "hardest", bars=3)
    assert len(chosen.show.written) == 3
    names = {one.name for one in chosen.show.written}
    inside = [difficulty(prompt) for prompt in everything if prompt.name in names]
    outside = [difficulty(prompt) for prompt in everything if prompt.name not in names]
    assert min(inside) >= max(outside)


def test_bars_that_read_the_same_count_once_among_the_hardest():
    found = level(made("Cb6 Eb6", "C4", "Cb6 Eb6", "D4"), "hardest", bars=2)
    names = [one.name for one in found.show.written]
    assert names[0] == "bar 1"
    assert "bar 3" not in names


def test_the_notes_of_a_piece_make_an_ordinary_level():
    read = piece("double-sharps.musicxml")
    show = level(read, "notes").show
    assert show.texture == "one note"
    assert show.signatures == (4,)
    assert [str(Pitch.at_step(step)) for step in show.upper] == ["E4", "F4", "G4", "B4", "C5"]
    assert show.lower is None
    assert set(show.signs) == {"##", "#", "bb", "b", "n"}
    assert show.rare_spellings


def test_the_notes_of_a_part_in_the_bass_clef_are_of_the_bass():
    show = level(piece("double-bass.musicxml"), "notes").show
    assert show.upper is None
    assert [str(Pitch.at_step(step)) for step in show.lower] == ["E1", "G1"]


def test_nothing_to_read_is_refused():
    with pytest.raises(PieceError, match="other hand"):
        piece_level(piece("double-bass.musicxml"), "notes", "right")


def test_any_title_makes_a_level_that_can_be_read():
    for title in ('"Für Elise"\n\\ 7', "夜の歌", "x" * 300, "", "Étude — n° 3"):
        read = made("C4 D4", "E4 F4")
        read = Piece(title, "", read.bars, read.slots)
        for kind in ("bars", "hardest", "notes"):
            for hand in (None, "right"):
                assert level(read, kind, hand).id.endswith(kind if hand is None else hand)


def test_a_piece_that_is_longer_than_a_level_is_cut_and_said_to_be_where():
    read = made(*["C4 D4", "E4 F4"] * 600)
    found = level(read, "bars")
    assert (len(found.show.written), found.round.prompts) == (500, 500)
    cut = "all after bar 500, to bar 1200: a level takes 500 bars, or parts of long bars"
    assert left_out(read) == (cut,)
    assert f"# left out, {cut}\n" in piece_level(read, "bars")
    for kind in ("hardest", "notes"):  # of the whole piece
        assert "# left out" not in piece_level(read, kind)
    assert left_out(made(*["C4 D4", "E4 F4"] * 250)) == ()
