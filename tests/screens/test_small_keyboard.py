# SPDX-License-Identifier: MIT
"""A keyboard that is smaller than a level: it is learnt by two presses, and nothing is shown that
it lacks."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest
from player import Player

from game.app.app import App, AppOptions
from game.keyboards import KeyDown, KeyUp
from game.levels import Compass, playable
from game.screens.play.placing import Placing
from game.screens.play.play import Play, PlayPhase
from game.screens.play.result import Result
from game.screens.reader.contents import Contents
from game.screens.reader.key_range import KeyRange
from game.screens.reader.settings import Settings
from game.session.options import Options

SMALL = 48, 72  # C3 to C5, the 25 keys of many makers: common practice
LABEL = "piano"  # of the keyboard that a Player plays


@pytest.fixture
def player(player):
    player.plug(LABEL)
    player.app.first_screen()
    player.look()
    return player


@pytest.fixture
def small(player):
    """A reader at a keyboard of 25 keys, at the ladder."""
    player.stage.settings.save(replace(Options(), spans={LABEL: SMALL}))
    player.stage.rounds.greet(player.stage.store.add_reader("A"))
    player.look()
    assert isinstance(player.screen, Contents)
    return player


def to_the_range(player: Player, middle: int = 60, times: int = 1) -> None:
    for _time in range(times):
        player.piano(middle)
    player.wait(1.0)
    assert isinstance(player.screen, KeyRange)


def said(player: Player, monkeypatch) -> str:
    """All words that the page draws."""
    words: list[str] = []
    canvas = type(player.stage.window.canvas)
    for name in ("text", "paragraph"):
        drawn = getattr(canvas, name)

        def note(self, text, *args, drawn=drawn, **how):
            words.append(text)
            return drawn(self, text, *args, **how)

        monkeypatch.setattr(canvas, name, note)
    player.look()
    monkeypatch.undo()
    return "\n".join(words)


# Learning it


def test_the_first_run_learns_the_ends_of_the_keyboard_by_two_presses(player):
    to_the_range(player)
    player.piano(*SMALL)
    assert "25" in player.screen._found
    player.wait(2.0)
    assert isinstance(player.screen, Play)
    assert player.stage.piano.compass == Compass(*SMALL)
    kept = Options.from_kept(player.stage.store.get_setting("options"))
    assert kept.compass(LABEL) == Compass(*SMALL)


@pytest.mark.parametrize("how", ["enter", "escape", "click"])
def test_it_can_be_skipped(player, how):
    to_the_range(player)
    if how == "click":
        player.click_on("skip")
    else:
        player.type(pygame.K_RETURN if how == "enter" else pygame.K_ESCAPE)
    assert isinstance(player.screen, Play)
    assert player.stage.piano.compass.keys == 88


def test_whoever_reads_already_is_asked_before_their_level_is_looked_for(player):
    player.click_on("find")
    assert isinstance(player.screen, KeyRange)
    player.piano(*SMALL)
    player.wait(2.0)
    assert isinstance(player.screen, Placing)
    for _prompt in range(30):
        if not isinstance(player.screen, Placing):
            break
        assert player.stage.piano.compass.reaches(player.screen.live.round.prompts)
        player.answer()


@pytest.mark.parametrize("presses", [(60, 64), (60, 60), (72, 48), (64, 108), (21, 50)])
def test_what_cannot_be_the_ends_is_said_and_asked_again(player, presses):
    to_the_range(player)
    player.piano(*presses)
    assert player.screen._message
    assert player.stage.settings.now.spans == {}
    player.piano(*SMALL)
    assert player.stage.piano.compass == Compass(*SMALL)


def test_two_keyboards_are_not_taken_for_one(player):
    to_the_range(player)
    player.piano(48)
    for kind in (
        lambda: KeyDown(player.clock, 108, 70, "B"),
        lambda: KeyUp(player.clock, 108, "B"),
    ):
        player.app.loop.from_queue(kind())
    assert player.stage.settings.now.spans == {}


def test_the_keyboard_pulled_out_leads_on(player):
    to_the_range(player)
    player.pull(LABEL)
    assert isinstance(player.screen, Play)


def test_no_midi_keyboard_is_not_asked_about(tmp_path):
    app = App(AppOptions(store=str(tmp_path / "store.db"), size=(1024, 600)))
    person = Player(app)
    app.first_screen()
    person.look()
    person.type(pygame.K_RETURN)
    person.wait(1.0)
    assert isinstance(person.screen, Play)
    app.stage.store.close()
    app.stage.sounds.player.close()


def test_a_shifted_keyboard_has_its_keys_where_they_sound(player):
    to_the_range(player, 72, times=3)  # its only C's are an octave too high: insisted on
    player.piano(60, 84)
    player.wait(2.0)
    assert player.stage.piano.compass == Compass(*SMALL)
    assert player.stage.settings.now.spans == {LABEL: (60, 84)}
    player.stage.settings.save(replace(player.stage.settings.now, shift=0))
    assert player.stage.piano.compass == Compass(60, 84)


def test_each_keyboard_has_its_own_and_several_what_they_have_in_common(player):
    player.stage.settings.save(
        replace(Options(), spans={LABEL: SMALL, "B": (36, 84), "C": (73, 97)})
    )
    compass = player.stage.settings.now.compass
    assert player.stage.piano.compass == Compass(*SMALL)
    assert compass("B") == Compass(36, 84)
    assert compass("B", LABEL) == Compass(*SMALL)
    assert compass("B", "another") == Compass(36, 84)
    assert compass("another") == compass() == Compass(21, 108)
    assert compass(LABEL, "C") == Compass(*SMALL)  # nothing in common


@pytest.mark.parametrize("spans", [5, [], {"A": 5}, {"A": [72, 48]}, {"A": [1]}, {"A": ["C", "D"]}])
def test_damaged_settings_know_of_no_keyboard(spans):
    assert Options.from_kept({"spans": spans, "volume": 40}) == Options(volume=40)


def test_the_settings_of_an_older_game_hold(player):
    old = Options.from_kept({"keys": 49, "lowest": 24})
    assert old.compass("any") == Compass(24, 72)


def test_in_the_settings_it_is_learnt_later_and_a_size_by_hand_forgets_it(player):
    player.stage.go.open_settings()
    player.look()
    player.click_on("learn")
    player.piano(*SMALL)
    player.wait(2.0)
    assert isinstance(player.screen, Settings)
    row = next(item for item in player.screen.controls if item.id == "keys")
    assert row.value.startswith("25 ")
    row.adjust(1)
    assert player.stage.piano.compass.keys == 32
    player.pull(LABEL)
    player.look()
    assert not next(item for item in player.screen.controls if item.id == "learn").enabled


# Reading on it


def test_no_level_that_can_be_begun_leads_nowhere(small):
    """Every level of the ladder, by its button: all keys of its round are there."""
    read = []
    for rung in small.stage.levels.ladder.rungs:
        small.stage.go.open_ladder(rung.level.id)
        small.look()
        button = next(item for item in small.screen.controls if item.id == "counted")
        assert button.enabled == playable(rung.level, small.stage.piano.compass)
        small.click_on("counted")
        if not button.enabled:
            assert isinstance(small.screen, Contents)
            continue
        read.append(rung.level.stage)
        assert small.stage.piano.compass.reaches(small.screen.live.round.prompts)
        small.screen.end()
    stages = list(small.stage.levels.ladder.stages)
    assert set(stages[:6]) <= set(read)


def test_the_first_stages_are_read_to_their_end_with_the_keys_that_there_are(small):
    small.stage.rounds.practise()
    small.look()
    assert small.stage.piano.compass.reaches(small.screen.live.round.prompts)
    for level_id in ("middle-c-left", "five-fingers-g", "landmarks-lower", "bass-staff"):
        small.stage.go.open_ladder(level_id)
        small.look()
        small.click_on("counted")
        small.piano(60)
        while isinstance(small.screen, Play):
            assert all(SMALL[0] <= key <= SMALL[1] for key in small.right_keys())
            small.answer()


@pytest.mark.parametrize(
    ("level_id", "says"),
    [
        ("middle-c-both", ""),
        ("signs-octave", "lacks 5 of this level’s 12 notes: you read the other 7"),
        ("bass-lines", "lacks 2 of this level’s 5 notes"),
        ("chords-root", "lacks 14 of this level’s 26 chords"),
        ("phrases-right", ""),  # it loses one of nine, less than a fifth
        ("ledger-outside", "has 0 of its 8 notes"),
        ("phrases-together", "can’t be read on your keyboard"),
    ],
)
def test_what_a_level_loses_is_said_before_it_starts(small, monkeypatch, level_id, says):
    small.stage.go.open_ladder(level_id)
    words = " ".join(said(small, monkeypatch).split())  # wherever the lines break
    assert says in words
    assert ("C3" in words and "C5" in words) == bool(says)


def test_the_level_that_was_found_says_what_it_loses_too(small, monkeypatch):
    rungs = {rung.level.id: rung for rung in small.stage.levels.ladder.rungs}
    for level_id, loses in (("bass-lines", True), ("middle-c-both", False)):
        small.stage.rounds.open_placed(rungs[level_id], clicked=False)
        assert ("Your keyboard, C3 to C5" in said(small, monkeypatch)) == loses


def test_what_cannot_be_read_is_passed_over(small):
    ids = [rung.level.id for rung in small.stage.levels.ladder.rungs]
    at = ids.index("ledger-outside")
    assert (
        small.stage.levels.ladder.after(ids[at - 1], small.stage.piano.compass).level.id
        == ids[at + 1]
    )
    small.stage.sitting.placed = "ledger-outside"
    small.stage.go.open_ladder()
    small.look()
    assert small.screen._rung.level.id == ids[at + 1]


def test_again_is_dealt_for_the_keyboard_that_is_there_now(small):
    small.stage.go.open_ladder("grand-staff")
    small.stage.settings.save(Options())
    small.look()
    small.click_on("counted")
    small.piano(60)
    assert not Compass(*SMALL).reaches(small.screen.live.round.prompts)
    while isinstance(small.screen, Play):
        small.answer()
    small.stage.settings.save(replace(Options(), spans={LABEL: SMALL}))
    page = type(small.screen)(small.stage, small.screen._live, None)
    small.stage.go.show(page)
    small.look()
    assert not next(item for item in small.screen.controls if item.id == "same").enabled
    small.click_on("new")
    assert Compass(*SMALL).reaches(small.screen.live.round.prompts)


def lost(player: Player) -> None:
    """A reader at a keyboard that nobody asked about meets a note that it lacks."""
    player.stage.rounds.greet(player.stage.store.add_reader("A"))
    player.stage.go.open_ladder("bass-lines")
    player.look()
    player.click_on("counted")
    player.piano(60)
    while player.right_keys()[0] >= SMALL[0]:
        player.answer()
    player.piano(*range(SMALL[0], SMALL[0] + 3))


def test_who_does_not_find_a_key_is_told_where_to_say_that_it_is_not_there(player):
    lost(player)
    assert "Not on your keyboard?" in player.screen.message
    player.type(pygame.K_ESCAPE)
    player.click_on("keys")
    player.piano(*SMALL)
    player.wait(2.0)
    assert isinstance(player.screen, Result)
    player.click_on("new")
    assert player.stage.piano.compass.reaches(player.screen.live.round.prompts)


@pytest.mark.parametrize("how", ["skipped", "a large one"])
def test_a_round_whose_keys_are_all_there_goes_on(player, how):
    lost(player)
    player.type(pygame.K_ESCAPE)
    player.click_on("keys")
    if how == "skipped":
        player.type(pygame.K_ESCAPE)
    else:
        player.piano(21, 108)
        player.wait(2.0)
    assert player.screen.phase is PlayPhase.PAUSED
    player.click_on("on")
    assert player.screen.phase is PlayPhase.READING
