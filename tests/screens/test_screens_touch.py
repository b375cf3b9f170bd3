# SPDX-License-Identifier: MIT
"""At the game: chords played apart, bouncing keys, flat hands, rounds begun anew or never begun."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest
from builders import level_text
from player import Player
from teacher import Teacher

from game.app.app import App, AppOptions
from game.heats import PlayMode
from game.keyboards import KeyDown
from game.levels import Rung, parse_level
from game.reader import PRACTICE_ID
from game.rounds import ON_SCREEN, RULES, Terms, Verdict
from game.screens.play.placing import PlacementResult, Placing
from game.screens.play.play import Play, PlayPhase
from game.screens.play.replay import ReplayScreen
from game.screens.play.result import Result
from game.screens.play.resume import ResumeOffer
from game.screens.reader.contents import Contents
from game.store import RoundState, StoreError
from game.ui.asked_twice import HASTE_S
from game.ui.screen import HANDS_OFF_S

pytestmark = pytest.mark.reader("Tester", ladder=True)


CHORDS = 'treble = "C4 to C6"\ntexture = "chord"\nshapes = [[3, 5]]'
HAND = (36, 38, 40, 41, 43)


def begin(player: Player, count: int = 4, text: str = "", **how) -> None:
    """A round of the first level, or of a level file's text, its first prompt in view."""
    rung = player.stage.levels.ladder.rungs[0]
    if text:
        rung = Rung(parse_level(text, "tested.toml"), text)
    terms = Terms.counted(rung.level, rung.text, 1, count, player.stage.piano.compass)
    if how:
        terms = Terms.timed(rung.level, rung.text, 1, how["seconds"], player.stage.piano.compass)
    player.stage.rounds.begin(terms)
    player.look()
    player.wait(0.3)
    player.piano(20)
    assert player.screen.phase is PlayPhase.READING
    player.clock += 1.0


def down(player: Player, *keys: int, apart: float = 0.0) -> None:
    """Keys go down, this far apart, and stay there."""
    for number, key in enumerate(keys):
        player.clock += apart if number else 0.0
        player.app.loop.from_queue(KeyDown(player.clock, key, 70, "piano"))
        player.look()


def marks(player: Player) -> dict[int, str]:
    """Which shape stands at the note of which key."""
    view = player.screen._view
    keys = {note.id: note.key for note in view.prompt.notes}
    return {keys[name]: mark.shape for name, mark in view._marks.items()}


def replayed(player: Player) -> Player:
    number = player.screen.live.record_id
    record = player.stage.store.record(number)
    assert record.terms.replay(record.events) == player.screen.live.round
    return player


class TestAChordPlayedApart:
    def test_is_told_by_words_and_mark_at_the_key_that_came_too_late(self, player):
        begin(player, text=level_text(CHORDS))
        low, middle, high = player.right_keys()
        down(player, low, middle, apart=0.1)
        assert marks(player) == {low: "right", middle: "right"}
        assert player.screen.message == ""
        player.clock += 0.21
        down(player, high)
        assert marks(player) == {high: "late"}
        assert player.screen.message == "Not together: 0.31 s apart. Play all its keys at once."
        assert player.screen.live.round.results == ()

    def test_is_gone_on_from_when_all_its_keys_go_down_at_once(self, player):
        begin(player, text=level_text(CHORDS))
        keys = player.right_keys()
        down(player, *keys, apart=0.25)
        player.clock += 1.0
        down(player, *keys)
        assert marks(player) == dict.fromkeys(keys, "right")
        assert "Not together" in player.screen.message  # why it is no right answer
        assert player.screen.live.round.results[0].verdict is Verdict.WRONG
        player.wait(1.0)
        assert player.screen.message == ""
        replayed(player)

    def test_is_told_in_the_replay_too(self, player):
        begin(player, 1, text=level_text(CHORDS))
        low, *rest = player.right_keys()
        down(player, low)
        player.clock += 0.4
        down(player, *rest)
        player.wait(1.0)
        down(player, low, *rest)
        player.wait(1.0)
        assert isinstance(player.screen, Result)
        player.click_on("replay")
        assert isinstance(player.screen, ReplayScreen)
        player.screen._seek(1.7)  # after the flip
        player.look()
        assert "Not together: 0.40 s apart" in player.screen._message
        assert set(marks(player).values()) == {"late"}

    def test_one_that_is_struck_together_is_told_nothing(self, player):
        begin(player, text=level_text(CHORDS))
        down(player, *player.right_keys(), apart=0.09)
        assert player.screen.message == ""
        assert player.screen.live.round.results[0].right


class TestBounces:
    def test_the_next_note_is_not_answered_by_the_key_of_the_last(self, player):
        begin(player)
        while isinstance(player.screen, Play):
            player.clock += 0.5
            (key,) = player.right_keys()
            down(player, key, key, key, apart=0.03)
            player.wait(0.3)
        assert player.screen._live.round.score.right == 4

    def test_the_key_that_says_ready_does_not_answer_the_first_note(self, player):
        rung = player.stage.levels.ladder.rungs[0]
        player.stage.rounds.begin(
            Terms.counted(rung.level, rung.text, 1, 4, player.stage.piano.compass)
        )
        player.look()
        down(player, 20, 20, apart=0.05)
        assert player.screen.live.round.first is None
        assert player.screen.live.round.since is not None

    def test_the_key_that_goes_on_after_a_pause_does_not_either(self, player):
        begin(player)
        player.type(pygame.K_ESCAPE)
        player.wait(HANDS_OFF_S)
        down(player, 60, 60, apart=0.05)
        assert player.screen.phase is PlayPhase.READING
        assert not player.screen.live.round.answered

    def test_a_key_of_a_menu_that_bounces_chooses_once(self, player):
        player.stage.go.open_settings()
        player.look()
        before = player.screen.focus
        down(player, 62, 62, apart=0.04)
        once = player.screen.focus
        player.wait(0.5)
        down(player, 59)
        assert (player.screen.focus, once != before) == (before, True)


class TestFlatHands:
    @pytest.mark.parametrize("first", ["wrong", "right"])
    def test_it_pauses_and_takes_its_answer_back(self, player, first):
        begin(player)
        (key,) = player.right_keys()
        before = player.screen._view.prompt
        hand = HAND if first == "wrong" else (key, *HAND[1:])
        down(player, *hand[:3], apart=0.02)
        assert player.screen.message or first == "right"  # the verdict is shown at once …
        down(player, *hand[3:], apart=0.02)
        assert player.screen.phase is PlayPhase.PAUSED
        assert "flat hand" in player.screen.pause_reason.lower()
        assert player.screen.live.round.results == ()
        player.wait(HANDS_OFF_S)
        player.piano(60)
        assert player.screen._view.prompt == before  # … and taken back with it
        assert (marks(player), player.screen.message) == ({}, "")
        player.clock += 1.0
        down(player, key)
        assert player.screen.live.round.results[0].right
        replayed(player)

    def test_it_takes_back_the_third_miss_of_an_endless_round(self, player):
        rung = player.stage.levels.ladder.rungs[0]
        player.stage.rounds.begin(
            Terms.endless(rung.level, rung.text, 1, player.stage.piano.compass)
        )
        player.look()
        player.piano(20)
        for _miss in range(2):
            player.clock += 1.0
            (key,) = player.right_keys()
            player.piano(key + 1, key)
            player.wait(1.0)
        down(player, *HAND, apart=0.03)
        player.wait(1.0)
        assert player.screen.phase is PlayPhase.PAUSED
        assert player.screen.live.round.missed == 2

    def test_in_the_search_for_a_level_it_answers_nothing(self, player):
        player.click_on("find")
        player.piano(20)
        player.clock += 1.0
        asked = player.screen.live.record_id
        down(player, *HAND, apart=0.02)
        assert (player.screen.phase, player.screen.live.record_id) == (PlayPhase.PAUSED, asked)
        player.wait(HANDS_OFF_S)
        player.piano(60)
        player.answer()
        assert player.screen._search.placement.prompts == 1
        assert player.screen.live.round.score.right == 0  # that of the next prompt

    def test_the_replay_shows_its_keys_and_not_its_answer(self, player):
        begin(player, 1)
        (key,) = player.right_keys()
        down(player, *HAND, apart=0.02)
        player.wait(HANDS_OFF_S)
        player.piano(60)
        player.clock += 1.0
        down(player, key)
        player.wait(1.0)
        player.click_on("replay")
        player.screen._seek(1.01)
        player.look()
        assert player.screen._view.ghosts
        player.screen._seek(1.1)
        player.look()
        assert not player.screen._view.ghosts
        assert set(player.screen._piano.down) == set(HAND)
        assert player.screen._replay.mistakes == ()

    def test_in_a_heat_it_stops_nobody_and_is_no_answer(self, tmp_path):
        app = App(AppOptions(store=str(tmp_path / "store.db"), size=(1024, 600)))
        teacher = Teacher(app)
        teacher.plug("One", "Two")
        teacher.new_class("3b", "Mia", "Ben")
        teacher.begin(PlayMode.TOGETHER, prompts=4)
        teacher.press("One", 60)
        teacher.press("Two", 60)
        teacher.click_on("begin")
        teacher.start()
        teacher.clock += 1.0
        for key in HAND:
            teacher.clock += 0.02
            teacher.press("One", key)
            if key == HAND[0]:
                assert teacher.screen.staves[1].marks
        assert teacher.heat.paused is None
        staff = teacher.screen.staves[1]
        assert (staff.marks, staff.ghosts, staff.last) == ((), (), None)
        teacher.play_out(1, "One")
        assert teacher.round(1).score.right == 4
        app.stage.store.close()
        app.stage.sounds.player.close()


class TestBeginningAnew:
    def test_r_begins_anew_at_once_before_the_first_quarter(self, player):
        begin(player, 8)
        player.answer()
        before = player.screen.live
        player.type(pygame.K_r)
        now = player.screen.live
        assert player.screen.phase is PlayPhase.READING
        assert (now.round.results, now.round.since is not None) == ((), True)
        assert (now.terms.level_id, now.terms.kind) == (before.terms.level_id, before.terms.kind)
        assert now.terms.seed != before.terms.seed and not now.terms.known  # so it may pass
        assert player.stage.store.record(before.record_id).state is RoundState.DISCARDED

    @pytest.mark.parametrize("how", ["counted", "timed"])
    def test_later_it_asks_once(self, player, how):
        begin(player, 8, **({"seconds": 8} if how == "timed" else {}))
        while player.screen.live.round.prompt < 2:
            player.answer()
        before = player.screen.live.record_id
        player.type(pygame.K_r)
        assert player.screen.live.record_id == before
        player.wait(HASTE_S)
        player.type(pygame.K_r)
        assert player.screen.live.record_id != before

    def test_an_answer_in_the_negative_is_to_go_on(self, player):
        begin(player, 8)
        for _ in range(3):
            player.answer()
        before = player.screen.live.record_id
        player.type(pygame.K_r)
        player.wait(6.0)
        player.type(pygame.K_r)
        assert player.screen.live.record_id == before

    def test_the_piano_finds_it_in_the_pause(self, player):
        begin(player, 8)
        before = player.screen.live.record_id
        player.type(pygame.K_ESCAPE)
        player.wait(HANDS_OFF_S)
        player.piano(62, 60)
        assert player.screen.live.record_id != before
        assert player.screen.phase is PlayPhase.READING

    def test_the_pause_asks_with_what_would_be_lost(self, player):
        begin(player, 8)
        for _ in range(3):
            player.answer()
        before = player.screen.live.record_id
        player.type(pygame.K_ESCAPE)
        player.click_on("restart")
        labels = {control.id: control.label for control in player.screen.controls}
        assert labels["restart"] == "Sure? Restart"
        player.wait(HASTE_S)
        player.click_on("on")
        assert player.screen.phase is PlayPhase.READING
        player.type(pygame.K_ESCAPE)
        player.click_on("restart")
        player.wait(HASTE_S)
        player.click_on("restart")
        assert player.screen.live.record_id != before

    def test_the_round_of_the_day_keeps_its_notes_and_they_are_known(self, player):
        rung = player.stage.levels.ladder.rungs[0]
        terms = Terms.of_day(rung.level, rung.text, "2026-11-25", player.stage.piano.compass)
        player.stage.rounds.begin(terms)
        player.look()
        player.piano(20)
        player.type(pygame.K_r)
        now = player.screen.live.terms
        assert (now.seed, now.day, now.known) == (terms.seed, terms.day, True)

    @pytest.mark.parametrize(("answered", "known"), [(1, False), (2, True)])
    def test_ones_own_piece_is_read_once_its_first_quarter_is(self, player, answered, known):
        bars = "".join(f'\n[[show.written]]\nslots = ["{letter}4"]' for letter in "CDEFGABC")
        piece = level_text(f'texture = "written"{bars}')
        begin(player, 8, piece)
        for _ in range(answered):
            player.answer()
        player.screen.restart()
        player.wait(HASTE_S)
        if known:
            player.screen.restart()
        assert not player.screen.live.round.results
        assert player.screen.live.terms.known is known

    def test_practice_is_chosen_afresh(self, player):
        begin(player, 4)
        while isinstance(player.screen, Play):
            player.answer()
        player.stage.rounds.practise()
        player.look()
        player.piano(20)
        texts = {player.screen.live.terms.level_text}
        for _ in range(6):  # of five notes, two rounds in a row may by chance be the same
            player.type(pygame.K_r)
            assert player.screen.live.level.id == PRACTICE_ID
            texts.add(player.screen.live.terms.level_text)
        assert len(texts) > 1

    def test_what_was_left_so_is_never_offered(self, player):
        begin(player, 8)
        player.answer()
        player.type(pygame.K_r)
        player.stage.rounds.greet(player.stage.sitting.reader)
        assert isinstance(player.screen, Contents)


class TestNeverBegun:
    @pytest.mark.parametrize("begun", ["opened", "shown", "left"])
    def test_a_round_without_an_answer_is_not_offered(self, player, begun):
        rung = player.stage.levels.ladder.rungs[0]
        player.stage.rounds.begin(
            Terms.counted(rung.level, rung.text, 1, 4, player.stage.piano.compass)
        )
        player.look()
        if begun != "opened":
            player.piano(20)
        if begun == "left":
            player.app.go.screen.leave()
        reader = player.stage.sitting.reader
        player.app.go.screen = Contents(
            player.stage, ""
        )  # as after a kill: nobody has left the page
        player.stage.rounds.greet(reader)
        assert isinstance(player.screen, Contents)

    def test_one_with_an_answer_is(self, player):
        begin(player)
        player.answer()
        player.app.go.screen = Contents(player.stage, "")
        player.stage.rounds.greet(player.stage.sitting.reader)
        assert isinstance(player.screen, ResumeOffer)

    def test_a_page_that_was_only_opened_leaves_no_open_round(self, player):
        rung = player.stage.levels.ladder.rungs[0]
        player.stage.rounds.begin(
            Terms.counted(rung.level, rung.text, 1, 4, player.stage.piano.compass)
        )
        player.look()
        player.type(pygame.K_ESCAPE)
        assert isinstance(player.screen, Contents)
        assert player.stage.store.open_rounds() == ()

    def test_a_server_that_goes_away_meanwhile_does_not_hold_the_page(self, player, monkeypatch):
        rung = player.stage.levels.ladder.rungs[0]
        player.stage.rounds.begin(
            Terms.counted(rung.level, rung.text, 1, 4, player.stage.piano.compass)
        )
        player.look()

        def away(_number):
            raise StoreError("there", "the server is away", "Try again.")

        monkeypatch.setattr(player.stage.store, "discard", away)
        player.type(pygame.K_ESCAPE)
        assert isinstance(player.screen, Contents)


def test_whoever_reads_on_the_terms_of_an_old_round_is_judged_by_the_rules_of_today(player):
    rung = player.stage.levels.ladder.rungs[0]
    terms = Terms.counted(rung.level, rung.text, 1, 4, player.stage.piano.compass)
    player.stage.rounds.begin(replace(terms, rules=1))
    assert player.screen.live.terms.rules == player.screen.live.round.rules == RULES


class TestTheLevelThatWasFound:
    def found(self, player) -> None:
        player.click_on("find")
        player.piano(20)
        while isinstance(player.screen, Placing):
            player.answer()
        assert isinstance(player.screen, PlacementResult)

    @pytest.mark.parametrize("keys", [(60,), (55,), (60, 64, 67, 62, 55, 59), (60, 60, 60, 60)])
    @pytest.mark.parametrize("rest", [0.0, HANDS_OFF_S, 8.0])
    def test_a_hand_that_reads_on_does_not_leave_the_page(self, player, keys, rest):
        self.found(player)
        player.wait(rest)
        for key in keys:
            player.piano(key)
            player.wait(0.3 if rest < 8.0 else 6.0)
        assert isinstance(player.screen, PlacementResult)

    def test_the_same_key_twice_does(self, player):
        self.found(player)
        player.wait(HANDS_OFF_S)
        player.piano(60)
        player.wait(1.0)
        player.piano(60)
        assert isinstance(player.screen, Play)

    def test_nor_does_a_mouse_that_plays_on(self, player):
        player.click_on("find")
        player.piano(20)
        while isinstance(player.screen, Placing):
            player.clock += 0.5
            for key in player.right_keys():
                player.stage.piano.played(KeyDown(player.clock, key, 80, ON_SCREEN))
            player.wait(1.0)
        player.click_on("begin")
        assert isinstance(player.screen, PlacementResult)
        player.wait(HANDS_OFF_S)
        player.click_on("begin")
        assert isinstance(player.screen, Play)
