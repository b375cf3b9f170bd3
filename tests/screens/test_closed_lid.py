# SPDX-License-Identifier: MIT
"""A computer that falls asleep while its clock goes on, as Windows' does, costs nobody any time."""

from __future__ import annotations

import pygame
import pytest
from player import Player

from game.rounds import Terms
from game.screens.play.play import PlayPhase

pytestmark = pytest.mark.reader("A")


def falls_asleep(player: Player, monkeypatch, seconds: float) -> None:
    """The loop waits as it does, and much later the computer wakes up."""

    def wait(_ms: int) -> pygame.event.Event:
        player.clock += seconds
        return pygame.event.Event(pygame.NOEVENT)

    with monkeypatch.context() as patched:
        patched.setattr(pygame.event, "wait", wait)
        player.app.loop._ticked_at = player.clock
        happened = player.app.loop._wait()
    player.app.loop._hear(happened)
    player.wait(0.0)


def test_an_hour_with_the_lid_closed_is_no_part_of_a_sprint(player, monkeypatch):
    rung = player.stage.levels.ladder.find("grand-staff")
    player.stage.rounds.begin(Terms.timed(rung.level, rung.text, 3, 20, player.stage.piano.compass))
    player.look()
    live = player.screen.live
    player.type(pygame.K_RETURN)
    player.wait(5.0)
    falls_asleep(player, monkeypatch, 3600.0)
    assert player.screen.phase is PlayPhase.PAUSED
    assert "asleep" in player.screen.pause_reason
    assert player.screen.live.round.ended is None
    player.type(pygame.K_RETURN)
    player.wait(12.0)
    assert player.screen.phase is PlayPhase.READING  # 17 seconds of 20
    player.wait(4.0)
    assert live.round.ended is not None


def test_a_moment_in_which_the_computer_is_busy_pauses_nothing(player, monkeypatch):
    rung = player.stage.levels.ladder.find("grand-staff")
    player.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 3, 6, player.stage.piano.compass)
    )
    player.look()
    player.type(pygame.K_RETURN)
    falls_asleep(player, monkeypatch, 3.0)
    assert player.screen.phase is PlayPhase.READING


def test_pages_that_are_not_timed_take_no_notice(player, monkeypatch):
    before = player.screen
    falls_asleep(player, monkeypatch, 3600.0)
    assert player.screen is before
