# SPDX-License-Identifier: MIT
"""Hands that play on when a page changes under them, and those that do not find the key."""

from __future__ import annotations

import pygame
import pytest
from player import Player

from game.keyboards import KeyDown
from game.rounds import Terms
from game.screens.play.keys_shown import TRIES, keys_to_point_at
from game.screens.play.octaves import shift_words
from game.screens.play.play import SETTLE_S, Play, PlayPhase
from game.screens.play.prompt_view import PromptView
from game.screens.play.result import Result
from game.screens.reader.contents import Contents
from game.screens.reader.welcome import Welcome
from game.ui import theme
from game.ui.screen import HANDS_OFF_S
from game.ui.widgets import Canvas

pytestmark = pytest.mark.reader("Tester")


def begin(player: Player, count: int = 3) -> None:
    """The first round of the first level, its first note in view."""
    rung = player.stage.levels.ladder.rungs[0]
    player.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, count, player.stage.piano.compass)
    )
    player.look()
    player.piano(60)
    assert player.screen.phase is PlayPhase.READING


def to_result(player: Player) -> None:
    begin(player)
    while isinstance(player.screen, Play):
        player.answer()
    assert isinstance(player.screen, Result)


@pytest.mark.parametrize("key", [60, 55])
def test_keys_tapped_on_after_the_last_note_leave_the_result_in_view(player, key):
    to_result(player)
    for _tap in range(10):
        player.piano(key)
        player.wait(0.3)
    assert isinstance(player.screen, Result)


def test_a_key_that_went_down_before_the_result_came_chooses_nothing(player):
    to_result(player)
    player.app.loop.from_queue(KeyDown(player.clock - 0.5, 55, 70, "piano"))
    assert isinstance(player.screen, Result)


def test_hands_that_have_rested_choose_on_the_result(player):
    to_result(player)
    player.wait(HANDS_OFF_S)
    player.piano(55)
    assert isinstance(player.screen, Contents)


def test_the_computer_keyboard_chooses_on_the_result_at_once(player):
    to_result(player)
    player.type(pygame.K_ESCAPE)
    assert isinstance(player.screen, Contents)


def test_keys_that_are_still_played_do_not_end_a_pause(player):
    begin(player)
    for key in (36, 38, 40, 41, 43):
        player.app.loop.from_queue(KeyDown(player.clock, key, 70, "piano"))
    player.piano(60, 60)
    assert player.screen.phase is PlayPhase.PAUSED
    player.wait(HANDS_OFF_S)
    player.piano(60)
    assert player.screen.phase is PlayPhase.READING


@pytest.mark.parametrize(
    ("shift", "said"), [(-12, "an octave too low"), (24, "2 octaves too high")]
)
def test_keys_that_are_all_as_many_octaves_off_are_said_to_be(player, shift, said):
    begin(player, 5)
    for number in range(4):
        assert (said in shift_words(player.screen._octaves)) is (number >= 3)
        player.clock += 1.0
        (right,) = player.right_keys()
        player.piano(right + shift)
        player.answer()
    player.answer()
    assert not isinstance(player.screen, Play) or shift_words(player.screen._octaves) == ""


def test_playing_on_does_not_hold_the_last_prompt_in_view(player):
    begin(player, 1)
    player.clock += 1.0
    player.piano(*player.right_keys())
    for _tap in range(4):
        player.wait(SETTLE_S / 3)
        if isinstance(player.screen, Play):
            player.piano(62)
    assert isinstance(player.screen, Result)


def test_a_beginner_who_does_not_find_the_key_is_shown_it(player):
    begin(player)
    player.plug("Piano")
    player.look()
    (right,) = player.right_keys()
    piano = player.screen._piano
    for number in range(1, TRIES + 1):
        assert "arrow" not in player.screen.message
        before = pygame.image.tobytes(player.stage.window.canvas.surface, "RGB")
        player.clock += 1.0
        player.piano(right + number)
    assert "arrow" in player.screen.message
    assert pygame.image.tobytes(player.stage.window.canvas.surface, "RGB") != before
    key = piano.rect_of(right)  # the piano is in view now, though another is connected
    frame = player.stage.window.canvas.surface.get_at((key.centerx, key.bottom - 1))[:3]
    assert frame == pygame.Color(theme.ACCENT)[:3]
    player.piano(right)
    player.wait(1.0)
    assert "arrow" not in player.screen.message
    assert keys_to_point_at(player.screen.live.round) == frozenset()


def test_the_staff_stays_where_it_is_when_the_piano_comes(player, monkeypatch):
    begin(player)
    player.plug("Piano")
    drawn, rooms = PromptView.draw, []

    def draw(view, canvas, room, **how):
        rooms.append(room)
        drawn(view, canvas, room, **how)

    monkeypatch.setattr(PromptView, "draw", draw)
    player.look()
    (right,) = player.right_keys()
    assert player.screen._piano_rect(player.stage.window.canvas) is None
    for number in range(1, TRIES + 1):
        player.clock += 1.0
        player.piano(right + number)
    assert player.screen._piano_rect(player.stage.window.canvas) is not None
    assert len({tuple(room) for room in rooms}) == 1


def test_who_is_beyond_the_first_levels_looks_for_the_key(player):
    rung = player.stage.levels.ladder.rungs[-20]
    player.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, 3, player.stage.piano.compass)
    )
    player.look()
    player.piano(60)
    right = player.right_keys()
    for number in range(1, 6):
        player.clock += 1.0
        player.piano(right[0] + 13 * number)
    assert "arrow" not in player.screen.message


def test_the_piano_stays_where_it_is_from_the_first_page_to_the_first_round(player):
    player.stage.go.show(Welcome(player.stage))
    player.look()
    before = [player.screen._piano.rect_of(key) for key in range(48, 85)]
    player.piano(60)
    player.wait(1.0)
    assert isinstance(player.screen, Play)
    assert [player.screen._piano.rect_of(key) for key in range(48, 85)] == before


def told(player: Player, monkeypatch) -> dict[str, str]:
    """The keys that the foot of the page names, with what they do, a piano being there."""
    player.plug("Piano")
    pairs: list[tuple[str, str]] = []
    monkeypatch.setattr(Canvas, "hints", lambda self, some, **how: pairs.extend(some))
    player.look()
    return dict(pairs)


def test_the_keys_of_a_replay_are_told_beside_those_of_a_piano(player, monkeypatch):
    to_result(player)
    player.click_on("replay")
    assert {"C4", "Space", "M", "← →", "Esc"} <= set(told(player, monkeypatch))


def test_a_pause_tells_that_escape_goes_on(player, monkeypatch):
    begin(player)
    player.type(pygame.K_ESCAPE)
    keys = told(player, monkeypatch)
    assert keys["Esc"] == keys["G3"] == "go on"
    player.type(pygame.K_ESCAPE)
    assert player.screen.phase is PlayPhase.READING


def test_whoever_tries_the_keys_of_a_piano_does_not_close_the_game(player):
    player.stage.go.open_readers()
    player.look()
    player.piano(59)  # before the first of the page comes its last
    assert player.screen.focus == "quit"
    player.piano(60)
    assert player.app.go.running
    assert "C4" in player.screen.close_line
    player.piano(62, 59, 60)  # thought better of, and asked anew
    assert player.app.go.running
    player.piano(60)
    assert not player.app.go.running
