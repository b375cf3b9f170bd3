# SPDX-License-Identifier: MIT
"""How a round feels: feedback at once, nothing jumps, nothing in the way, less motion if asked."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest
from player import Player

from game.keyboards import KeyDown
from game.rounds import Terms
from game.screens.play.play import FADE_S, SETTLE_S, PlayPhase
from game.sound import SoundPlayer


@pytest.fixture(params=["full", "less"])
def player(player, request):
    person, stage = player, player.stage
    stage.settings.now = replace(
        stage.settings.now, motion=request.param, pace="off", screen_piano="never"
    )
    stage.rounds.greet(stage.store.add_reader("A"))
    rung = stage.levels.ladder.find("grand-staff")
    stage.rounds.begin(Terms.counted(rung.level, rung.text, 3, 6, stage.piano.compass))
    person.look()
    person.type(pygame.K_RETURN)
    assert person.screen.phase is PlayPhase.READING
    return person


def picture(player: Player) -> bytes:
    player.screen.draw(player.stage.window.canvas)
    return pygame.image.tobytes(
        player.stage.window.canvas.surface.subsurface((0, 60, 1024, 480)), "RGB"
    )


def dark(player: Player) -> int:
    """How many pixels below the heading are neither paper nor nearly so."""
    picture(player)
    canvas = player.stage.window.canvas.surface.subsurface((0, 60, 1024, 480))
    paper = canvas.get_at((0, 0))
    mask = pygame.mask.from_threshold(canvas, paper, (40, 40, 40, 255))
    return canvas.get_width() * canvas.get_height() - mask.count()


def press(player: Player, key: int) -> None:
    """A key goes down, and nothing is drawn yet."""
    player.clock += 0.5
    player.app.loop.from_queue(KeyDown(player.clock, key, 70, "piano"))


@pytest.mark.parametrize("off", [0, 1])
def test_the_frame_after_a_press_shows_what_it_was_worth(player, off):
    before = picture(player)
    (right,) = player.right_keys()
    press(player, right + off)
    assert picture(player) != before


def test_an_answered_note_goes_out_while_the_staff_stays(player):
    press(player, *player.right_keys())
    screen, answered = player.screen, dark(player)
    assert screen.phase is PlayPhase.SETTLING
    player.clock += SETTLE_S - FADE_S
    assert dark(player) == answered  # the tick has its time
    player.clock += 0.95 * FADE_S
    late = dark(player)
    screen.phase = PlayPhase.READY  # the staff alone
    empty = dark(player)
    screen.phase = PlayPhase.SETTLING
    if player.stage.settings.now.motion == "less":
        assert late == answered
    else:
        assert abs(late - empty) < (answered - empty) / 10  # no eye would tell them apart


def test_no_frame_is_drawn_for_motion_that_is_not_wanted(player):
    press(player, *player.right_keys())
    player.look()
    until_fading = SETTLE_S - FADE_S
    full = player.stage.settings.now.motion == "full"
    assert player.screen.wait(player.clock) == pytest.approx(until_fading if full else SETTLE_S)
    player.clock += until_fading + 0.01
    left = FADE_S - 0.01
    assert player.screen.wait(player.clock) == pytest.approx(min(left, 1 / 60) if full else left)


def test_the_next_prompt_comes_when_its_time_is_there_whatever_was_fading(player):
    press(player, *player.right_keys())
    end = player.clock + SETTLE_S
    while player.screen.phase is PlayPhase.SETTLING:
        player.clock += max(player.screen.wait(player.clock), 0.001)
        player.screen.tick(player.clock)
        assert player.clock < end + 0.01
    assert player.screen._view.prompt is player.screen.live.round.prompts[1]
    after = picture(player)
    player.screen._view.show(player.screen._view.prompt)
    assert picture(player) == after  # whole, and nothing of the one before


def test_a_kept_picture_is_whole_again_after_it_has_faded(player):
    (right,) = player.right_keys()
    first, whole = player.screen._view.prompt, picture(player)
    press(player, right)
    player.clock += SETTLE_S - 0.01
    picture(player)
    player.screen.phase = PlayPhase.READING
    player.screen._view.show(first)
    assert picture(player) == whole


def test_a_speaker_that_was_missing_at_the_start_is_looked_for_between_pages(player):
    there = player.stage.sounds.player
    player.stage.sounds.player = SoundPlayer(0.5, "No sound: no audio device could be opened.")
    player.stage.sounds._again_at = player.clock + 5
    player.stage.go.open_settings()
    assert not player.stage.sounds.player.available
    player.clock += 6
    player.stage.go.go_back()
    try:
        assert player.stage.sounds.player.available
    finally:
        player.stage.sounds.player.close()
        player.stage.sounds.player = there
