# SPDX-License-Identifier: MIT
"""One keyboard is chosen, and another one is there."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest
from player import Player

from game.rounds import Terms
from game.screens.play.play import Play, PlayPhase


@pytest.fixture
def player(app, monkeypatch):
    app.stage.settings.now = replace(app.stage.settings.now, keyboard="Organ")
    app.stage.store.add_reader("Anna")
    chosen = []
    monkeypatch.setattr(app.midi, "choose", chosen.append)
    made = Player(app)
    made.chosen = chosen
    return made


def labels(player: Player) -> list[str]:
    return [control.label for control in player.screen.controls]


def test_the_start_page_says_which_is_there_and_goes_on_with_it_at_one_press(player):
    player.keyboards_are(there=("Piano",))
    line = player.stage.piano.line
    assert "Organ" in line and "Piano" in line
    player.click_on("keyboard")
    assert player.chosen == ["Piano"]
    assert player.stage.settings.now.keyboard == "Piano"
    assert player.stage.store.get_setting("options", {})["keyboard"] == "Piano"
    assert not [label for label in labels(player) if "Piano" in label]


def test_nothing_is_offered_while_the_chosen_one_is_there_or_none_is(player):
    for there in ((), ("Piano", "Organ"), ("Organ",)):
        player.keyboards_are(there=there)
        assert not player.stage.piano.other
        assert "keyboard" not in [control.id for control in player.screen.controls]


def at_play(player: Player) -> None:
    player.stage.sitting.reader = player.stage.store.readers()[0]
    rung = player.stage.levels.ladder.rungs[0]
    player.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, 4, player.stage.piano.compass)
    )
    player.look()
    player.piano(60)
    assert isinstance(player.screen, Play)


@pytest.mark.parametrize("way", ["mouse", "Enter"])
def test_where_the_chosen_one_is_pulled_the_round_goes_on_with_the_other(player, way):
    player.keyboards_are("Organ", there=("Organ", "Piano"))
    at_play(player)
    player.keyboards_are(there=("Piano",))
    assert player.screen.phase is PlayPhase.PAUSED
    assert "Organ" in player.screen.pause_reason
    if way == "mouse":
        player.click_on("keyboard")
    else:
        player.type(pygame.K_RETURN)
    assert player.chosen == ["Piano"]
    assert player.screen.phase is PlayPhase.READING
    player.keyboards_are("Piano")
    player.answer()
    assert player.screen.live.round.results[0].right


def test_the_settings_say_that_the_chosen_one_is_not_there(player):
    player.keyboards_are(there=("Piano",))
    player.stage.go.open_settings()
    player.look()
    (row,) = [control for control in player.screen.controls if control.id == "keyboard"]
    assert "Organ" in row.value and "not plugged in" in row.value
    player.click_on("keyboard")
    assert player.stage.settings.now.keyboard == "Piano"


def test_a_keyboard_that_another_program_holds_is_told_with_the_mend(player):
    player.stage.settings.now = replace(player.stage.settings.now, keyboard="")
    player.keyboards_are(there=("Piano",), refused=("Piano",))
    assert player.stage.piano.line == "Piano: another program uses it. Close that program."
