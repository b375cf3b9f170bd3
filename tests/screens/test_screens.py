# SPDX-License-Identifier: MIT
"""The screens, worked as a person would: by piano alone, by keys alone, by mouse alone."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest
from builders import level_text
from player import Player

from game.app.app import App, AppOptions
from game.keyboards import KeyDown
from game.levels import EmptyPool, Rung, check_pool, parse_level
from game.rounds import Terms
from game.screens.play.play import Play, PlayPhase
from game.screens.play.result import Result
from game.screens.play.resume import ResumeOffer
from game.screens.reader.contents import Contents
from game.session.options import CHOICES, Options
from game.ui.screen import HANDS_OFF_S, PIANO_PAGE_AFTER, PIANO_PAGE_BEFORE
from game.ui.widgets import Canvas

SIZES = [(1280, 720), (1920, 1080), (1024, 600)]


@pytest.fixture
def at_play(player):
    """A player with the first round on screen, started."""
    player.piano(60, 62, 60, 60, 60)
    assert isinstance(player.screen, Play)
    player.piano(60)
    return player


def test_from_the_piano_alone_to_a_result_and_on(player):
    player.piano(60)  # "another reader"
    player.piano(62)  # from "back", where hands that only try the keys change nothing
    player.piano(60)  # the name offered
    assert isinstance(player.screen, Contents)
    player.piano(60)  # the first level
    player.piano(60)  # its counted round
    assert isinstance(player.screen, Play)
    player.piano(60)  # ready
    while isinstance(player.screen, Play):
        player.answer()
    assert isinstance(player.screen, Result)
    assert player.screen._score.accuracy == 1
    player.wait(HANDS_OFF_S)
    player.piano(60)
    assert isinstance(player.screen, Contents | Play)


def test_from_the_computer_keyboard_alone(player):
    player.type(pygame.K_RETURN, pygame.K_RETURN)
    assert isinstance(player.screen, Contents)
    player.type(pygame.K_DOWN, pygame.K_RETURN, pygame.K_RETURN)
    assert isinstance(player.screen, Play)
    assert player.screen.live.level.id == player.stage.levels.ladder.rungs[1].level.id
    player.type(pygame.K_SPACE)
    assert player.screen.phase is PlayPhase.READING
    player.type(pygame.K_ESCAPE)
    assert player.screen.phase is PlayPhase.PAUSED


def test_from_the_mouse_alone(player):
    player.click_on("new")
    player.click_on("keep")
    player.click_on("counted")
    player.click((512, 250))  # anywhere: ready
    assert player.screen.phase is PlayPhase.READING
    (key,) = player.right_keys()
    layout, origin = player.screen._piano._layout, player.screen._piano._origin
    rect = next(item for item in iter(layout.keys()) if item.key == key)
    player.clock += 0.5
    player.click((origin[0] + rect.x + rect.width // 2, origin[1] + rect.y + rect.height - 8))
    assert player.screen.live.round.results[0].right


def test_a_typed_name_is_kept(player):
    player.type(pygame.K_RETURN)
    for _ in range(20):
        player.type(pygame.K_BACKSPACE)
    for letters in ("Ольга", " ", "Å"):
        player.app.loop.from_window(pygame.event.Event(pygame.TEXTINPUT, text=letters))
    player.type(pygame.K_RETURN)
    assert [reader.name for reader in player.stage.store.readers()] == ["Ольга Å"]


def test_nothing_can_be_read_before_the_clock_runs(player):
    player.piano(60, 62, 60, 60, 60)
    before = pygame.image.tobytes(player.stage.window.canvas.surface, "RGB")
    assert player.screen.live.round.started is None
    player.piano(60)
    assert player.screen.live.round.started == pytest.approx(player.clock - 100, abs=60)
    assert pygame.image.tobytes(player.stage.window.canvas.surface, "RGB") != before


def test_a_wrong_key_is_named_ghosted_and_does_not_end_the_prompt(at_play):
    (right,) = at_play.right_keys()
    at_play.clock += 1
    at_play.piano(right + 12)
    assert "octave" in at_play.screen.message
    assert len(at_play.screen._view.ghosts) == 1
    at_play.piano(right)
    result = at_play.screen.live.round.results[0]
    assert not result.right
    assert result.completed


def test_the_cable_pulled_in_mid_round_pauses_it_and_any_keyboard_brings_it_back(at_play):
    at_play.plug("Piano")
    at_play.clock += 1
    at_play.pull("Piano")
    assert at_play.screen.phase is PlayPhase.PAUSED
    assert "Piano" in at_play.screen.pause_reason
    at_play.clock += 50
    at_play.plug("Another")
    assert at_play.screen.phase is PlayPhase.READING
    at_play.clock += 1
    at_play.piano(*at_play.right_keys())
    assert at_play.screen.live.round.results[0].t == pytest.approx(2.0)


def test_a_keyboard_changed_for_another_at_once_pauses_nothing(at_play):
    at_play.plug("Piano")
    at_play.keyboards_are("Another")
    assert at_play.screen.phase is PlayPhase.READING


def test_a_flat_hand_pauses_and_middle_c_goes_on(at_play):
    for key in (36, 38, 40, 41, 43):
        at_play.app.loop.from_queue(KeyDown(at_play.clock, key, 70, "piano"))
    at_play.look()
    assert at_play.screen.phase is PlayPhase.PAUSED
    at_play.wait(HANDS_OFF_S)
    at_play.piano(60)
    assert at_play.screen.phase is PlayPhase.READING


def test_a_round_nobody_answers_pauses_by_itself(at_play):
    at_play.wait(31)
    assert at_play.screen.phase is PlayPhase.PAUSED


def test_a_broken_off_round_is_offered_and_goes_on_where_it_was(at_play):
    at_play.answer()
    at_play.answer()
    reader = at_play.app.stage.sitting.reader
    at_play.app.stage.rounds.greet(reader)
    at_play.look()
    assert isinstance(at_play.screen, ResumeOffer)
    at_play.piano(60)
    assert isinstance(at_play.screen, Play)
    assert len(at_play.screen.live.round.results) == 2
    at_play.piano(60)
    at_play.answer()
    assert [item.right for item in at_play.screen.live.round.results] == [True] * 3


def test_a_round_ended_early_is_no_personal_best(at_play):
    at_play.answer()
    at_play.type(pygame.K_ESCAPE)
    at_play.click_on("end")
    assert isinstance(at_play.screen, Result)
    assert at_play.app.stage.store.bests(at_play.app.stage.sitting.reader.id) == {}


@pytest.mark.parametrize("name", sorted(CHOICES))
def test_every_setting_goes_round_its_choices_and_is_kept(name, player):
    for _ in CHOICES[name]:
        player.stage.settings.now = player.stage.settings.now.cycled(name, 1)
    assert getattr(player.stage.settings.now, name) == getattr(Options(), name)
    changed = Options().cycled(name, 1)
    assert Options.from_kept(changed.kept()) == changed


@pytest.mark.parametrize("kept", [None, [], {"keys": 12}, {"lowest": 120}, {"colour": "red"}])
def test_settings_that_make_no_sense_fall_back(kept):
    assert Options.from_kept(kept) == Options()


def test_whoever_has_letters_alone_is_told_how_they_are_shifted(player):
    player.stage.rounds.greet(player.stage.store.add_reader("A"))
    for level_id, told in (("middle-c-right", False), ("middle-c-left", True)):
        player.stage.go.open_ladder(level_id)
        player.look()
        player.click_on("counted")
        assert ("Page Down" in player.screen._when_ready) == told
        player.type(pygame.K_PAGEDOWN)  # now the left hand's five lie under letters
        assert ("Page Down" in player.screen._when_ready) != told
        player.type(pygame.K_PAGEUP)
    player.plug("piano")
    assert "Page Down" not in player.screen._when_ready


def test_octaves_are_numbered_as_the_settings_say_wherever_a_note_is_named(at_play):
    kept = {"note_names": "french", "volume": 80}  # of an older game, which had no choice
    assert Options.from_kept(kept) == Options(note_names="french", volume=80)
    at_play.app.stage.settings.now = Options(note_names="french")
    for number in (4, 3):
        at_play.app.stage.settings.now = replace(at_play.app.stage.settings.now, middle_c=number)
        right = at_play.right_keys()[0]
        at_play.clock += 1.0
        at_play.piano(right + 24)
        assert at_play.app.stage.piano.name_key(60) == f"do{number}"
        octave = (right + 24) // 12 - 1 + number - 4
        assert at_play.screen.message.endswith(f"{octave}.")


def test_a_level_that_the_keyboard_cannot_play_is_not_begun(player):
    player.piano(60, 62, 60)
    player.stage.settings.now = Options(keys=25, lowest=72)
    with pytest.raises(EmptyPool):
        check_pool(player.stage.levels.ladder.rungs[1].level, player.stage.piano.compass)
    player.piano(62, 60, 60)
    assert isinstance(player.screen, Contents)
    assert player.stage.store.open_rounds() == ()


def test_five_right_keys_at_once_are_a_chord_and_no_flat_hand(player, tmp_path):
    text = level_text(
        'treble = "C4 to C6"\ntexture = "chord"\nshapes = [[3, 5, 7, 8]]', id='"wide-chords"'
    )
    rung = Rung(parse_level(text, "wide.toml"), text)
    player.piano(60, 62, 60)
    player.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, 4, player.stage.piano.compass)
    )
    player.look()
    player.piano(60)
    for key in player.right_keys():
        player.app.loop.from_queue(KeyDown(player.clock, key, 70, "piano"))
    assert player.screen.live.round.results[0].right
    assert player.screen.phase is PlayPhase.SETTLING


def test_a_computer_key_held_over_an_octave_shift_comes_up_where_it_went_down(at_play):
    def computer(kind: int, scancode: int, key: int = 0) -> None:
        event = pygame.event.Event(kind, key=key, mod=0, unicode="", scancode=scancode)
        at_play.app.loop.from_window(event)

    computer(pygame.KEYDOWN, pygame.KSCAN_A)
    computer(pygame.KEYDOWN, pygame.KSCAN_PAGEUP, pygame.K_PAGEUP)
    computer(pygame.KEYUP, pygame.KSCAN_A)
    assert at_play.screen._piano.down == set()


def test_the_mouse_lets_go_of_its_own_key_only(at_play):
    at_play.app.loop.from_queue(KeyDown(at_play.clock, 36, 70, "piano"))
    at_play.app.loop.from_window(pygame.event.Event(pygame.MOUSEBUTTONUP, pos=(5, 5), button=1))
    assert at_play.screen._piano.down == {36}


def test_down_from_what_a_level_offers_stays_with_that_level(player):
    player.stage.rounds.greet(player.stage.store.add_reader("Anna"))
    player.stage.go.open_ladder(player.stage.levels.ladder.rungs[3].level.id)
    player.look()
    level = player.screen._rung
    player.type(pygame.K_RIGHT, pygame.K_UP)  # to "Or read"
    assert player.screen.focus == "way"
    for _ in range(4):
        player.type(pygame.K_DOWN)
        assert player.screen.focus in ("counted", "other")
        assert player.screen._rung is level
    player.type(pygame.K_UP)
    assert player.screen.focus == "way"


def test_the_level_whose_buttons_are_chosen_keeps_a_mark_in_the_list(player):
    player.stage.rounds.greet(player.stage.store.add_reader("Anna"))
    player.stage.go.open_ladder(player.stage.levels.ladder.rungs[1].level.id)
    player.look()
    player.type(pygame.K_RIGHT)
    rows = [c for c in player.screen.controls if c.id.startswith("level-")]
    surface = player.stage.window.canvas.surface
    marked = [
        c.id
        for c in rows
        if surface.get_at((c.rect.x, c.rect.centery))
        != surface.get_at((c.rect.x - 4, c.rect.centery))
    ]
    assert marked == [f"level-{player.screen._rung.level.id}"]


def at_the_ladder(player: Player) -> Contents:
    player.stage.rounds.greet(player.stage.store.add_reader("Anna"))
    player.look()
    assert isinstance(player.screen, Contents)
    return player.screen


@pytest.mark.parametrize("size", [*SIZES, (3840, 2160)])
def test_the_example_of_a_level_is_shown_whole_with_its_brace(size, tmp_path, monkeypatch):
    app = App(AppOptions(store=str(tmp_path / "store.db"), size=size))
    cut, sample = list[bool](), Canvas.sample
    monkeypatch.setattr(
        Canvas,
        "sample",
        lambda canvas, engraver, prompt, room: (
            cut.append(not canvas.surface.get_clip().contains(room)),
            sample(canvas, engraver, prompt, room),
        ),
    )
    at_the_ladder(Player(app))
    assert cut and not any(cut)
    app.stage.store.close()
    app.stage.sounds.player.close()


@pytest.mark.parametrize("then", ["enter", "the row", "the button"])
def test_a_click_on_a_level_chooses_it_and_then_that_one_begins(player, then):
    ladder = at_the_ladder(player)
    rungs = player.stage.levels.ladder.rungs
    player.click_on(f"level-{rungs[2].level.id}")
    assert player.screen is ladder and ladder._rung is rungs[2]
    if then == "enter":
        player.type(pygame.K_RETURN)
    else:
        player.click_on("counted" if then == "the button" else f"level-{rungs[2].level.id}")
    assert isinstance(player.screen, Play) and player.screen.live.level.id == rungs[2].level.id


def test_one_click_on_the_level_that_is_looked_at_begins_nothing(player):
    ladder = at_the_ladder(player)
    player.click_on(f"level-{ladder._rung.level.id}")
    assert player.screen is ladder


def test_the_mouse_goes_down_the_whole_ladder(player):
    at_the_ladder(player)
    for stage, rungs in player.stage.levels.ladder.stages.items():
        player.click_on(f"stage-{stage}")
        for rung in rungs:
            player.click_on(f"level-{rung.level.id}")
            assert player.screen._rung is rung


@pytest.mark.parametrize("way", ["keys", "piano"])
def test_the_ladder_is_gone_through_by_stages(player, way):
    ladder = at_the_ladder(player)
    on, back = (
        (lambda: player.type(pygame.K_PAGEDOWN), lambda: player.type(pygame.K_PAGEUP))
        if way == "keys"
        else (lambda: player.piano(PIANO_PAGE_AFTER), lambda: player.piano(PIANO_PAGE_BEFORE))
    )
    stages = list(player.stage.levels.ladder.stages)
    for go, order in ((on, stages), (back, stages[::-1])):
        for stage in order:
            assert ladder._rung.level.stage == stage
            go()
        assert ladder._rung.level.stage == order[-1]
    player.type(pygame.K_END)
    assert ladder._rung is player.stage.levels.ladder.rungs[-1]
    player.type(pygame.K_HOME)
    assert ladder._rung is player.stage.levels.ladder.rungs[0]


def test_the_ladder_opens_where_its_reader_read_last(player):
    at_the_ladder(player)
    rungs, app = player.stage.levels.ladder.rungs, player.app
    for at in (5, 3):
        rung = rungs[at]
        app.stage.rounds.begin(Terms.counted(rung.level, rung.text, 1, 1, app.stage.piano.compass))
        player.look()
        player.piano(60)
        while isinstance(player.screen, Play):
            player.answer()
        assert isinstance(player.screen, Result)
    reader = app.stage.sitting.reader
    other = app.stage.store.add_reader("Ben")
    app.stage.rounds.greet(other)
    assert app.go.screen._rung is rungs[0]
    app.stage.rounds.greet(reader)
    player.look()
    assert app.go.screen._rung is rungs[3]
    app.stage.go.open_ladder(rungs[7].level.id)
    assert app.go.screen._rung is rungs[7]
