# SPDX-License-Identifier: MIT
"""What the game learns of a reader: kept with the rounds, and told at the staff."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builders import bar_of, key
from player import Player

from game.levels import deal, parse_level
from game.reader import Misread
from game.screens.play.play import Play
from game.screens.play.result import Result
from game.session.profiles import profile_of

pytestmark = pytest.mark.reader("Tester")


def play(player: Player, level_id: str, wrong: int = 0) -> None:
    """A round of a level, its first press wrong by so many semitones."""
    player.stage.go.open_ladder(level_id)
    player.look()
    player.click_on("counted")
    player.piano(60)
    if wrong:
        player.piano(player.right_keys()[0] + wrong)
    while isinstance(player.screen, Play):
        player.answer()
    assert isinstance(player.screen, Result)


def test_a_round_is_learnt_from_and_kept(player):
    reader = player.stage.sitting.reader
    play(player, "middle-c-right", wrong=12)
    kept = profile_of(player.stage.store, reader.id)
    assert kept.to_json() == player.stage.sitting.profile.to_json()
    assert kept.habits.weight(Misread.OCTAVE) > type(kept)().habits.weight(Misread.OCTAVE)


def test_a_damaged_profile_is_learnt_again_from_the_rounds(player):
    reader, store = player.stage.sitting.reader, player.stage.store
    play(player, "middle-c-right", wrong=12)
    store.set_setting("profile", {"version": 99}, reader.id)
    again = profile_of(store, reader.id)
    assert again.habits.weight(Misread.OCTAVE) == pytest.approx(
        player.stage.sitting.profile.habits.weight(Misread.OCTAVE)
    )


def test_a_reader_without_rounds_has_an_empty_profile(player):
    reader = player.stage.store.add_reader("Another")
    assert (
        profile_of(player.stage.store, reader.id).to_json()
        == type(player.stage.sitting.profile)().to_json()
    )


def test_the_line_says_why_the_key_was_not_the_one(player):
    player.stage.go.open_ladder("signatures-one")
    player.look()
    player.click_on("counted")
    player.piano(60)
    screen = player.screen
    prompt = bar_of("F#4", "G4", signature=1)
    screen._view.show(prompt)
    screen.live.round = replace(screen.live.round, prompts=(prompt, prompt), prompt=0, slot=0)
    player.clock += 1.0
    player.piano(key("F4"))
    assert screen.message == "The key signature makes this F♯4."


def test_todays_practice_is_one_press_away_and_scored_like_any_round(player):
    play(player, "middle-c-right")
    player.stage.go.open_ladder()
    player.look()
    player.click_on("practice")
    assert isinstance(player.screen, Play)
    terms = player.screen.live.terms
    level = parse_level(terms.level_text, "kept")
    assert deal(level, terms.seed, terms.prompts) == player.screen.live.round.prompts
    player.piano(60)
    while isinstance(player.screen, Play):
        player.answer()
    assert isinstance(player.screen, Result)
    player.click_on("ladder")


def test_practice_again_is_another_round_with_what_was_just_missed(player):
    play(player, "middle-c-both")
    player.stage.rounds.practise()
    player.look()
    player.piano(60)
    first, missed = player.screen.live, set()
    while isinstance(player.screen, Play):
        if len(missed) < 3 and first.round.prompt % 5 == 0:
            (right,) = player.right_keys()
            missed.add((right, first.round.current.notes[0].staff))
            player.clock += 0.5
            player.piano(right + 1)
        player.answer()
    player.click_on("new")
    again = player.screen.live
    assert again.terms.level_text != first.terms.level_text
    notes = {(note.key, note.staff) for prompt in again.round.prompts for note in prompt.notes}
    assert missed <= notes
    pairs = zip(first.round.prompts, again.round.prompts, strict=False)
    assert sum(a.looks_like(b) for a, b in pairs) < len(first.round.prompts) / 2
