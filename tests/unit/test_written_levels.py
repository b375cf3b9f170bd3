# SPDX-License-Identifier: MIT
"""Levels that are written out note by note."""

from __future__ import annotations

import pytest
from builders import level, level_text, read

from game.engraving import Typesetter
from game.levels import (
    LOWER,
    UPPER,
    Compass,
    EmptyPool,
    LevelFaults,
    deal,
    left_out,
    parse_level,
)
from game.notation import Clef
from game.rounds import Terms
from game.rounds.played import events_of

BARS = """texture = "written"
in_order = {order}
[[show.written]]
name = "bar 1"
signature = 2
slots = ["F#4 A4 / D3", "F4", "F#5 / C#3"]
[[show.written]]
name = "bar 2"
slots = ["/ C3 E3", "G4"]
[[show.written]]
slots = ["B5"]
"""
PIECE = BARS.format(order="true")


def spelled(prompt) -> list[list[str]]:
    return [[note.pitch.spelling for note in slot.notes] for slot in prompt.slots]


def test_prompts_come_as_they_are_written_and_begin_again():
    dealt = deal(level(PIECE), 9, 4)
    assert [prompt.name for prompt in dealt] == ["bar 1", "bar 2", "", "bar 1"]
    assert spelled(dealt[0]) == [["F#4", "A4", "D3"], ["F4"], ["F#5", "C#3"]]
    assert [note.staff for note in dealt[0].slots[0].notes] == [UPPER, UPPER, LOWER]
    assert len({note.id for prompt in dealt for note in prompt.notes}) == 16


def test_the_signs_that_are_needed_are_printed():
    (bar,) = deal(level(PIECE), 1, 1)
    # Under two sharps F# needs none; F is cancelled; the F# of another octave needs none still.
    assert [note.sign for note in bar.notes] == [None, None, None, "n", None, None]
    assert all(eye.read(seen) == note.pitch.alter for note, seen, eye in read(bar))


def test_drawn_evenly_they_come_equally_often():
    dealt = deal(level(BARS.format(order="false")), 3, 30)
    assert sorted(sum(spelled(p) == spelled(q) for q in dealt) for p in dealt) == [10] * 30


def test_another_clef_is_read_and_engraved():
    text = 'texture = "written"\n[[show.written]]\nslots = ["G4", "F3@bass / C4@treble"]\n'
    text += '[[show.written]]\nslots = ["A4"]'
    dealt = deal(level(text), 1, 2)
    changed = next(prompt for prompt in dealt if len(prompt.slots) == 2)
    assert [note.clef for note in changed.notes] == [Clef.TREBLE, Clef.BASS, Clef.TREBLE]
    drawing = Typesetter().engrave(changed)
    y = {note.pitch.spelling: drawing.notes[note.id].y for note in changed.notes}
    assert y["F3"] == pytest.approx(1.0, abs=0.05)  # the F clef's own line, the second from above


@pytest.mark.parametrize(
    ("slot", "mend"),
    [
        ("", "no note"),
        ("/", "no note"),
        ("H4", "not a pitch"),
        ("C4 / E3 / G3", "more than one slash"),
        ("C4 C4", "one key twice"),
        ("C4 / B#3", "one key twice"),
        ("C###4", "double sign"),
        ("C9", "outside the piano"),
        ("C4@violin", "treble, bass, alto"),
        ("C4 E3@bass", "two clefs"),
    ],
)
def test_a_fault_in_a_slot_is_named_with_its_place(slot, mend):
    text = level_text(f'texture = "written"\n[[show.written]]\nslots = ["C4", "{slot}"]')
    with pytest.raises(LevelFaults) as refusal:
        parse_level(text, "mine.toml")
    (fault,) = refusal.value.faults
    assert fault.key == "show.written, entry 1, slots, entry 2"
    assert mend in fault.allowed


def test_texture_and_music_go_together():
    with pytest.raises(LevelFaults, match="go together"):
        level('texture = "written"')
    with pytest.raises(LevelFaults, match="go together"):
        level('treble = "C4 to G4"\n[[show.written]]\nslots = ["C4"]')


def test_a_small_keyboard_leaves_prompts_out_and_says_how_many():
    which, small = level(PIECE), Compass.of_size(25)  # C3 to C5
    assert left_out(which, small) == (2, 3)  # of three
    with pytest.raises(EmptyPool, match="only one"):
        deal(which, 1, 5, small)


def test_a_record_of_it_is_scored_again_from_its_own_text():
    terms = Terms("tested", level_text(PIECE), 4, 3)
    start = terms.begin()
    events = events_of(start, ())
    assert terms.replay(events) == terms.replay(events)
    assert [spelled(prompt) for prompt in start.prompts] == [
        spelled(prompt) for prompt in deal(level(PIECE), 4, 3)
    ]
