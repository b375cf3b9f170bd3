# SPDX-License-Identifier: MIT
"""What the pages say is plain: no raw reasons of a machine, no hyphen for a minus."""

from __future__ import annotations

import pygame
from builders import bar_of, key
from lines import words_of

from game.notation import NOTE_NAMES, Clef
from game.paper.progress_words import counting_words
from game.reader import Misread, WrongPress, explain
from game.reader.slope import Counting
from game.rounds import Terms
from game.screens.play.play import Play
from game.words.text import misread, thousandths


def test_a_machine_without_midi_is_told_in_one_sentence(player):
    player.keyboards_are(reached="none: switched off by STAVEWISE_MIDI")
    line = player.stage.piano.line
    assert "MIDI cannot be reached" in line
    assert "none" not in line and "STAVEWISE" not in line


def test_a_third_off_is_called_a_skipped_line_or_space():
    why = explain(bar_of("F4"), 0, WrongPress(key("A4"), 1.4), median_s=1.2)
    assert why.kind is Misread.THIRD
    said = misread(NOTE_NAMES["letters"], why, Clef.TREBLE)
    assert said == "You skipped a line or space: that was A4; this is F4."


def test_below_nothing_has_a_minus():
    assert thousandths(-0.006) == "−6 ms"
    assert counting_words(Counting(-6.2, -50.0, 38.0, (), 0.0, 90)).startswith(
        "−6 ms a step (−50 to 38)"
    )
    assert counting_words(Counting(-0.2, -37.0, 35.0, (), 0.0, 90)).startswith("0 ms a step")


def test_the_marks_of_an_endless_round_are_named(player):
    player.stage.rounds.greet(player.stage.store.add_reader("Anna"))
    rung = player.stage.levels.ladder.rungs[0]
    player.stage.rounds.begin(Terms.endless(rung.level, rung.text, 1, player.stage.piano.compass))
    player.look()
    assert "0 right, misses ···" in words_of(player)


def test_the_result_says_what_a_note_was_taken_for(player):
    player.stage.rounds.greet(player.stage.store.add_reader("Anna"))
    rung = player.stage.levels.ladder.find("treble-staff")
    player.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 4, 2, player.stage.piano.compass)
    )
    player.look()
    player.type(pygame.K_SPACE)
    player.wait(1.0)
    player.piano(player.right_keys()[0] + 12)  # an octave too high
    while isinstance(player.screen, Play):
        player.wait(1.0)
        player.answer()
    player.look()
    assert Misread.OCTAVE.value in words_of(player)
