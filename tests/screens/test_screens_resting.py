# SPDX-License-Identifier: MIT
"""A mouse that rests, a child that tries keys, an Escape too many: nothing happens by itself."""

from __future__ import annotations

import pygame
import pytest
from player import Player

from game.rounds import Terms
from game.screens.play.resume import ResumeOffer
from game.screens.reader.contents import Contents
from game.screens.reader.readers import Readers
from game.screens.reader.same_reader import SameReader
from game.screens.reader.welcome import Welcome
from game.ui.screen import PIANO_AFTER, PIANO_BACK, PIANO_BEFORE, PIANO_YES
from game.ui.widgets import Control

ESC = pygame.K_ESCAPE


@pytest.fixture
def size():
    return 1280, 720


@pytest.fixture
def readers(player):
    """The start page with two readers."""
    for name in ("Anna", "Oma"):
        player.stage.store.add_reader(name)
    player.stage.go.show(Readers(player.stage))
    player.look()
    return player


def told_of_mouse(player: Player, at: tuple[int, int]) -> None:
    player.app.loop.from_window(pygame.event.Event(pygame.MOUSEMOTION, pos=at, rel=(0, 0)))
    player.look()


def middle_of(player: Player, control_id: str) -> tuple[int, int]:
    return next(c for c in player.screen.controls if c.id == control_id).rect.center


# The mouse


@pytest.mark.parametrize(
    "shifted", [pygame.WINDOWENTER, pygame.WINDOWMOVED, pygame.WINDOWSIZECHANGED]
)
def test_a_resting_mouse_takes_no_focus_when_the_window_comes_under_it(readers, shifted):
    before, new = readers.screen.focus, middle_of(readers, "new")
    for _time in range(2):
        readers.app.loop.from_window(pygame.event.Event(shifted))
        told_of_mouse(readers, new)
        told_of_mouse(readers, new)
    assert readers.screen.focus == before != "new"


def test_a_mouse_that_moves_takes_the_focus(readers):
    x, y = middle_of(readers, "new")
    told_of_mouse(readers, (x - 3, y))
    told_of_mouse(readers, (x, y))
    assert readers.screen.focus == "new"


@pytest.mark.parametrize("page", ["open_settings", "open_ladder"])
def test_the_sign_before_a_value_goes_back_and_the_row_goes_on(readers, page):
    app = readers.app
    app.stage.rounds.greet(app.stage.store.readers()[0])
    getattr(app.stage.go, page)()
    readers.look()
    row = "note_names" if page == "open_settings" else "way"

    def shown() -> Control:
        return next(c for c in readers.screen.controls if c.id == row)

    def value() -> str:
        return shown().value

    values = [value()]
    for _time in range(2):
        readers.click((shown().rect.x + 20, shown().rect.centery))
        values.append(value())
    assert len(set(values)) == 3
    for was in (values[1], values[0]):
        readers.click(shown().before.center)
        assert value() == was


# The piano


def test_middle_c_twice_on_new_reader_makes_nobody(player):
    player.piano(PIANO_YES, PIANO_YES)
    assert isinstance(player.screen, Readers) and player.screen.field is None
    assert player.stage.store.readers(include_archived=True) == ()


@pytest.mark.parametrize("turn", [PIANO_AFTER, PIANO_BEFORE])
def test_a_reader_is_made_from_the_piano_all_the_same(player, turn):
    player.piano(PIANO_YES, turn, PIANO_YES)
    assert [reader.name for reader in player.stage.store.readers()] == ["Reader 1"]


def test_g3_does_not_close_the_game_from_the_start_page(readers):
    readers.piano(*[PIANO_BACK] * 4)
    assert readers.app.go.running
    readers.plug("Piano")
    assert "G3" not in dict(readers.screen.menu_hints())


def test_g3_leaves_the_line_where_a_name_is_typed(player):
    player.piano(PIANO_YES)
    player.plug("Piano")
    assert dict(player.screen.menu_hints())["G3"] == "back"
    player.piano(PIANO_BACK)
    assert player.screen.field is None


def broken_off(player: Player) -> None:
    """At the offer to go on with a round that was broken off."""
    app = player.app
    reader = app.stage.store.add_reader("Anna")
    app.stage.rounds.greet(reader)
    rung = app.stage.levels.ladder.rungs[0]
    app.stage.rounds.begin(Terms.counted(rung.level, rung.text, 1, 3, app.stage.piano.compass))
    player.look()
    player.piano(PIANO_YES)
    player.answer()
    app.stage.rounds.greet(reader)
    player.look()
    assert isinstance(player.screen, ResumeOffer)


def test_a_round_that_was_broken_off_is_discarded_at_the_second_press_only(player):
    broken_off(player)
    player.screen.focus = "discard"
    player.look()
    player.piano(PIANO_YES)
    assert isinstance(player.screen, ResumeOffer)
    assert len(player.stage.store.open_rounds()) == 1
    player.wait(1.0)
    player.piano(PIANO_YES)
    assert isinstance(player.screen, Contents)
    assert player.stage.store.open_rounds() == ()


def test_who_turns_away_from_discarding_is_asked_again(player):
    broken_off(player)
    player.click_on("discard")
    player.wait(1.0)
    player.piano(PIANO_BACK)  # "no": the offer stays
    player.wait(1.0)
    player.click_on("discard")
    assert len(player.stage.store.open_rounds()) == 1


def test_tab_goes_through_the_head_of_the_ladder_as_it_is_read(readers):
    readers.stage.rounds.greet(readers.stage.store.readers()[0])
    readers.look()
    head = [c for c in readers.screen.controls if c.rect.bottom < 70]
    order = [c.rect.x for c in head if c.style == "quiet"]
    assert len(order) == 5 and order == sorted(order)


# Readers that came by mistake


def typed(player: Player, words: str) -> None:
    player.app.loop.from_window(pygame.event.Event(pygame.TEXTINPUT, text=words))
    player.look()


def test_a_reader_is_archived_at_the_second_press_and_brought_back_by_name(readers):
    store = readers.stage.store
    readers.screen.focus = f"reader-{store.readers()[1].id}"
    readers.look()
    readers.click_on("archive")
    assert [one.name for one in store.readers()] == ["Anna", "Oma"]
    readers.wait(1.0)
    readers.click_on("archive")
    assert [one.name for one in store.readers()] == ["Anna"]
    assert "Oma is archived" in readers.screen.note
    readers.click_on("new")
    typed(readers, "oma")
    readers.type(pygame.K_RETURN)
    assert isinstance(readers.screen, SameReader) and "Oma" in readers.screen.title
    assert "archived" in readers.screen.below_title
    readers.type(pygame.K_RETURN)
    assert isinstance(readers.screen, Contents)
    assert [one.name for one in store.readers()] == ["Anna", "Oma"]


def test_a_name_that_is_too_long_is_said_to_be(player):
    player.click_on("new")
    typed(player, "a" * 40)
    assert player.screen.note == ""
    typed(player, "b")
    assert "40" in player.screen.note and player.screen.field.words == "a" * 40
    player.type(pygame.K_BACKSPACE)
    assert player.screen.note == ""


def test_archived_readers_have_a_list_to_come_back_from(readers):
    store = readers.stage.store
    anna, oma = store.readers()
    assert "archived" not in [c.id for c in readers.screen.controls]
    for one in (anna, oma):
        store.archive_reader(one.id)
    readers.stage.go.show(Readers(readers.stage))
    readers.look()
    readers.click_on("archived")
    rows = [c for c in readers.screen.controls if c.id.startswith("reader-")]
    assert [row.label for row in rows] == ["Anna", "Oma"]
    readers.type(ESC)  # only back to the others
    assert readers.screen.close_line == "" and not readers.screen.asks_to_close
    readers.click_on("archived")
    readers.click_on(f"reader-{oma.id}")
    assert [one.name for one in store.readers()] == ["Oma"]
    assert readers.screen.focused.label == "Oma"
    readers.type(pygame.K_RETURN)
    assert readers.stage.sitting.reader.name == "Oma"


@pytest.mark.parametrize("way", ["keys", "mouse", "piano"])
@pytest.mark.parametrize("same", [True, False])
def test_of_two_readers_of_one_name_it_is_asked_whether_they_are_the_same(readers, way, same):
    readers.click_on("new")
    typed(readers, "anna")
    readers.type(pygame.K_RETURN)
    assert isinstance(readers.screen, SameReader)
    assert len(readers.stage.store.readers()) == 2  # nothing is kept before it is answered
    if way == "mouse":
        readers.click_on("same" if same else "other")
    elif way == "keys":
        readers.type(*([] if same else [pygame.K_DOWN]), pygame.K_RETURN)
    else:
        readers.piano(*([] if same else [PIANO_AFTER]), PIANO_YES)
    assert isinstance(readers.screen, Contents)
    names = [one.name for one in readers.stage.store.readers()]
    assert names == (["Anna", "Oma"] if same else ["Anna", "Oma", "anna (2)"])
    assert readers.stage.sitting.reader.name == ("Anna" if same else "anna (2)")


# Escape


@pytest.mark.parametrize("page", [Readers, Welcome])
def test_escape_closes_the_game_when_it_is_pressed_twice(readers, page):
    readers.stage.go.show(page(readers.stage))
    readers.type(ESC)
    assert readers.app.go.running and "Esc" in readers.screen.close_line
    readers.type(ESC)
    assert not readers.app.go.running


@pytest.mark.parametrize("page", [Readers, Welcome])
@pytest.mark.parametrize("other", ["arrow", "piano", "click"])
def test_whatever_comes_after_one_escape_takes_it_back(readers, page, other):
    readers.stage.go.show(page(readers.stage))
    readers.look()
    readers.type(ESC)
    if other == "arrow":
        readers.type(pygame.K_DOWN)
    elif other == "piano":
        readers.piano(PIANO_AFTER)
    else:
        readers.click((5, 300))
    assert readers.screen.close_line == ""
    readers.type(ESC)
    assert readers.app.go.running


def test_the_start_page_says_what_escape_does(readers):
    assert dict(readers.screen.menu_hints())["Esc"] == "close the game"


def test_back_from_a_ladder_its_reader_is_chosen(readers):
    oma = readers.stage.store.readers()[1]
    readers.stage.rounds.greet(oma)
    readers.look()
    readers.type(ESC)
    assert isinstance(readers.screen, Readers)
    assert readers.screen.focused.label == "Oma"
