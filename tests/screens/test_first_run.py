# SPDX-License-Identifier: MIT
"""From opening the window on an empty store to the first right note, by anybody, in a minute."""

from __future__ import annotations

import pygame
import pytest
from player import Player

from game.keyboards import KeyDown, KeyUp
from game.screens.play.play import Play, PlayPhase
from game.screens.reader.readers import Readers
from game.screens.reader.welcome import INSIST, Welcome

SIZES = [(1280, 720), (1920, 1080), (1024, 600)]
MINUTE = 60.0
GLANCE = 3.0  # a generous time to look at a page before doing anything on it


@pytest.fixture(params=SIZES, ids=str)
def size(request):
    return request.param


@pytest.fixture
def player(player):
    player.app.first_screen()
    player.look()
    return player


def pass_time(player: Player, seconds: float) -> None:
    """Time goes by as the loop lets it: in steps that the screen asks for."""
    end = player.clock + seconds
    while player.clock < end:
        wait = player.screen.wait(player.clock)
        player.wait(min(end - player.clock, seconds if wait is None else max(wait, 0.001)))


def reads_on(player: Player, press) -> None:
    """Whoever has pressed middle C is reading, and the note they press next is right."""
    pass_time(player, GLANCE)
    assert isinstance(player.screen, Play)
    assert player.screen.phase is PlayPhase.READING
    (key,) = player.right_keys()
    press(key)
    assert player.screen.live.round.results[0].right
    assert player.clock - 100.0 < MINUTE
    (reader,) = player.stage.store.readers()
    assert reader.name


def where(player: Player, key: int) -> tuple[int, int]:
    rect = player.screen._piano.rect_of(key)
    return rect.centerx, rect.bottom - 6


def test_by_the_piano_alone(player):
    player.plug("Piano")
    pass_time(player, GLANCE)
    player.piano(60)
    pass_time(player, GLANCE)
    player.piano(21, 108)  # its ends were asked for
    reads_on(player, player.piano)


def test_by_the_mouse_alone(player):
    pass_time(player, GLANCE)
    player.click(where(player, 60))
    reads_on(player, lambda key: player.click(where(player, key)))


def test_by_the_computer_keyboard_alone(player):
    def letter(key: int) -> None:
        """The place of a piano key among the letters: A is middle C."""
        computer = player.stage.piano.computer
        scancode = next(code for code in range(100) if computer.key_for(code) == key)
        for kind in (pygame.KEYDOWN, pygame.KEYUP):
            event = pygame.event.Event(kind, key=0, mod=0, unicode="", scancode=scancode)
            player.app.loop.from_window(event)
            player.look()

    pass_time(player, GLANCE)
    letter(60)
    reads_on(player, letter)


@pytest.mark.parametrize("key", [pygame.K_RETURN, pygame.K_SPACE])
def test_enter_and_space_lead_on_too(player, key):
    pass_time(player, GLANCE)
    player.type(key)
    reads_on(player, player.piano)


def down(player: Player, key: int) -> None:
    player.app.loop.from_queue(KeyDown(player.clock, key, 70, "piano"))
    player.app.loop.from_queue(KeyUp(player.clock, key, "piano"))
    player.look()


def test_another_key_is_named_and_shown_and_middle_c_still_asked_for(player):
    player.piano(62)
    assert isinstance(player.screen, Welcome)
    assert "D4" in player.screen._message
    assert len(player.screen._view.ghosts) == 1
    player.piano(60)
    pass_time(player, GLANCE)
    assert isinstance(player.screen, Play)


def test_a_keyboard_shifted_by_octaves_is_noticed_and_its_c_taken_when_insisted_on(player):
    down(player, 72)
    assert "C5" in player.screen._message
    assert player.stage.settings.now.shift == 0
    for _ in range(INSIST - 1):
        down(player, 72)
    assert player.stage.settings.now.shift == -12
    reads_on(player, lambda key: down(player, key + 12))


def test_another_c_by_accident_shifts_nothing(player):
    for key in (72, 71, 72, 74, 72, 48, 60):
        down(player, key)
    assert player.stage.settings.now.shift == 0
    pass_time(player, GLANCE)
    assert isinstance(player.screen, Play)


def test_a_c_of_the_on_screen_piano_shifts_nothing(player):
    for _ in range(2 * INSIST):
        player.click(where(player, 72))
    assert player.stage.settings.now.shift == 0
    assert isinstance(player.screen, Welcome)


@pytest.mark.parametrize(("c", "last", "shifted"), [(96, 36, 0), (24, 91, 127)])
def test_a_key_that_the_shift_moves_off_the_midi_range_is_let_pass(player, c, last, shifted):
    for _ in range(INSIST):
        down(player, c)
    assert player.stage.settings.now.shift == shifted - last
    pass_time(player, GLANCE)
    down(player, last + (1 if shifted else -1))
    assert not player.screen.live.round.presses
    down(player, last)
    assert [press.key for press in player.screen.live.round.presses] == [shifted]


def test_the_store_is_new_once(player):
    player.piano(60)
    pass_time(player, GLANCE)
    player.app.first_screen()
    assert isinstance(player.screen, Readers)


def test_the_settings_are_reached_and_come_back_here(player):
    player.type(pygame.K_TAB, pygame.K_RETURN)
    assert not isinstance(player.screen, Welcome)
    player.type(pygame.K_ESCAPE)
    player.stage.go.show(Welcome(player.stage))
    player.look()
    player.click_on("settings")
    player.type(pygame.K_ESCAPE)
    assert isinstance(player.screen, Welcome)


def test_the_name_that_was_given_can_be_changed(player):
    player.piano(60)
    pass_time(player, GLANCE)
    player.stage.go.open_readers()
    player.look()
    player.click_on("rename")
    player.app.loop.from_window(pygame.event.Event(pygame.TEXTINPUT, text="Ада"))
    player.type(pygame.K_RETURN)
    assert [reader.name for reader in player.stage.store.readers()] == ["Ада"]
    assert isinstance(player.screen, Readers)
    assert player.screen.focused.label == "Ада"
