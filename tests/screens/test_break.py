# SPDX-License-Identifier: MIT
"""A break is suggested after ten minutes of reading, and once for each ten."""

from __future__ import annotations

import pygame
import pytest
from player import Player

from game.rounds import Terms
from game.screens.play.play import Play
from game.screens.play.result import Result

pytestmark = pytest.mark.reader("Anna")


def break_suggested(player: Player, said: list[str], each_s: float, pause_s: float = 0.0) -> bool:
    """Whether a round of 25 notes ends with it, each note read for so many seconds."""
    rung = player.stage.levels.ladder.rungs[0]
    player.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, 25, player.stage.piano.compass)
    )
    player.look()
    player.type(pygame.K_SPACE)
    if pause_s:
        player.type(pygame.K_ESCAPE)
        player.wait(pause_s)
        player.click_on("on")
    while isinstance(player.screen, Play):
        player.wait(each_s)
        player.answer()
    assert isinstance(player.screen, Result)
    said.clear()
    player.look()
    return any("ten minutes" in line for line in said)


def test_a_long_pause_is_no_reading(player, said):
    assert not break_suggested(player, said, 1.0, pause_s=1200)


def test_it_is_said_once_for_ten_minutes_of_reading(player, said):
    found = [break_suggested(player, said, 13.0) for _ in range(4)]  # some six minutes each
    assert found == [False, True, False, True]
