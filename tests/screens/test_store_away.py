# SPDX-License-Identifier: MIT
"""The game is started while its store cannot be opened: a window says so and tries again."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from itertools import pairwise

import pygame
import pytest

from game.app import app as opening
from game.app.app import App, AppOptions, RobotSettings
from game.rounds import Terms
from game.screens.reader.readers import Readers
from game.screens.reader.store_away import StoreAway
from game.store import Store, StoreError
from game.ui.theme import broken, text_width

SIZES = [(1024, 600), (1280, 720), (1920, 1080)]


class Person:
    """Stateful: somebody before the window, in which there may be no game yet."""

    def __init__(self, store: str, size: tuple[int, int] = (1024, 600)) -> None:
        self.app = App(AppOptions(store=store, size=size))
        self.stage = self.app.stage
        self.look()

    @property
    def screen(self):
        return self.app.go.screen

    def look(self) -> None:
        self.screen.draw(self.app.stage.window.canvas)
        self.screen.shown(0.0)

    def settle(self) -> None:
        """The loop turns twice: what was chosen is seen, then it is done."""
        for _ in range(2):
            self.look()
            self.screen.tick(0.0)
        self.look()

    def press(self, *keys: int) -> None:
        for key in keys:
            event = pygame.event.Event(pygame.KEYDOWN, key=key, mod=0, unicode="", scancode=0)
            self.app.loop.from_window(event)
            self.settle()

    def click(self, control_id: str) -> None:
        rect = next(one.rect for one in self.screen.controls if one.id == control_id)
        event = pygame.event.Event(pygame.MOUSEBUTTONDOWN, pos=rect.center, button=1)
        self.app.loop.from_window(event)
        self.settle()

    def said(self, monkeypatch) -> str:
        """All words of the page, as they are drawn."""
        words = []
        real = type(self.app.stage.window.canvas).text
        monkeypatch.setattr(
            type(self.app.stage.window.canvas),
            "text",
            lambda canvas, text, *a, **k: (words.append(text), real(canvas, text, *a, **k))[1],
        )
        self.look()
        monkeypatch.undo()
        return " ".join(words)

    def end(self) -> None:
        if self.app.trouble is None:
            self.app.stage.store.close()
        self.app.stage.sounds.player.close()


@pytest.fixture
def seen(monkeypatch):
    """Somebody sits before the display."""
    monkeypatch.setattr(opening, "is_seen", lambda: True)


@pytest.fixture
def nowhere(tmp_path, seen):
    """A game whose store is in a folder that is not there, and that folder."""
    folder = tmp_path / "stick"
    person = Person(str(folder / "store.db"))
    yield person, folder
    person.end()


def test_the_page_names_the_place_and_the_mend(nowhere, monkeypatch):
    person, folder = nowhere
    assert isinstance(person.screen, StoreAway)
    said = person.said(monkeypatch)
    assert str(folder / "store.db") in said.replace(" ", "")
    assert "There is no folder" in said and "Make the folder" in said
    assert "Nothing saved so far is lost" in said


@pytest.mark.parametrize("way", ["mouse", "keyboard"])
def test_try_again_goes_on_into_the_game_when_the_store_is_back(nowhere, way):
    person, folder = nowhere
    again = {"mouse": lambda: person.click("again"), "keyboard": lambda: person.press(13)}[way]
    again()
    assert isinstance(person.screen, StoreAway)
    folder.mkdir()
    with Store.open(folder / "store.db") as store:
        store.add_reader("Anna")
        store.set_setting("options", {"volume": 10, "note_names": "german"})
    again()
    assert isinstance(person.screen, Readers)
    assert person.screen.controls[0].label == "Anna"
    assert person.stage.settings.now.note_names == "german"
    assert [reader.name for reader in person.stage.store.readers()] == ["Anna"]


def test_a_try_that_fails_is_seen_to_have_been_made(nowhere, monkeypatch):
    person, _folder = nowhere
    assert "Tried again" not in person.said(monkeypatch)
    person.press(pygame.K_RETURN)
    assert "Tried again" in person.said(monkeypatch)


@pytest.mark.parametrize("way", ["mouse", "keyboard"])
def test_where_nothing_can_be_saved_there_is_a_game_all_the_same(nowhere, monkeypatch, way):
    person, folder = nowhere
    if way == "mouse":
        person.click("unsaved")
    else:
        person.press(pygame.K_TAB, pygame.K_RETURN)
    assert "Nothing is saved" in person.said(monkeypatch)
    stage = person.stage
    stage.rounds.greet(stage.store.add_reader("Anna"))
    rung = stage.levels.ladder.rungs[0]
    stage.rounds.begin(Terms.counted(rung.level, rung.text, 1, 1, stage.piano.compass))
    person.look()
    assert person.screen.name == "play"
    assert not folder.exists()


@pytest.mark.parametrize("way", ["click", "tab", "escape"])
def test_quit_ends_it_and_the_terminal_is_told_as_before(tmp_path, seen, monkeypatch, way):
    """The loop is the real one: only the person at the window is made up."""
    path = tmp_path / "gone" / "store.db"
    app = App(AppOptions(store=str(path), size=(1024, 600)))
    monkeypatch.setattr(app.midi, "start", lambda: None)
    monkeypatch.setattr(pygame, "quit", lambda: None)  # other tests draw with the same fonts
    keys = {
        "tab": [pygame.K_TAB, pygame.K_TAB, pygame.K_RETURN],
        "escape": [pygame.K_ESCAPE],
        "click": [],
    }[way]
    app.go.screen.draw(app.stage.window.canvas)
    middle = next(one.rect.center for one in app.go.screen.controls if one.id == "quit")

    def act(_now: float) -> None:
        """Once there is a page to be seen."""
        if way == "click":
            pygame.event.post(pygame.event.Event(pygame.MOUSEBUTTONDOWN, pos=middle, button=1))
        while keys:
            event = pygame.event.Event(
                pygame.KEYDOWN, key=keys.pop(0), mod=0, unicode="", scancode=0
            )
            pygame.event.post(event)

    monkeypatch.setattr(app.go.screen, "shown", act)
    with pytest.raises(StoreError, match="there is no folder"):
        app.run()
    assert not path.parent.exists()


def test_nothing_is_written_while_the_store_is_of_a_newer_game(tmp_path, seen, monkeypatch):
    path = tmp_path / "store.db"
    Store.open(path).close()
    with closing(sqlite3.connect(path)) as other:
        other.execute("UPDATE stavewise SET version = 99")
        other.execute("UPDATE stavewise_alembic SET version_num = 99")
        other.commit()
    before = path.read_bytes()
    person = Person(str(path))
    try:
        person.press(pygame.K_RETURN, pygame.K_F11)
        assert "newer Stavewise" in person.said(monkeypatch)
        person.app.rounds.dropped(tmp_path / "list.csv")
        assert isinstance(person.screen, StoreAway)
    finally:
        person.end()
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == ["store.db"]


def test_where_nobody_sees_a_window_the_terminal_alone_is_told(tmp_path):
    with pytest.raises(StoreError, match="there is no folder"):
        App(AppOptions(store=str(tmp_path / "gone" / "store.db")))


def test_a_robot_asks_nobody(tmp_path, seen):
    where = str(tmp_path / "gone" / "store.db")
    with pytest.raises(StoreError, match="there is no folder"):
        App(AppOptions(store=where, robot=RobotSettings()))


@pytest.mark.parametrize("size", SIZES)
def test_a_long_path_is_shown_whole_and_above_the_buttons(tmp_path, seen, size, monkeypatch):
    path = tmp_path.joinpath(*["a folder of a long name indeed"] * 6, "store.db")
    person = Person(str(path), size)
    try:
        lowest = []
        real = type(person.stage.window.canvas).text

        def text(canvas, words, *a, **k):
            rect = real(canvas, words, *a, **k)
            lowest.append((words, rect))
            return rect

        person.press(pygame.K_RETURN)
        monkeypatch.setattr(type(person.stage.window.canvas), "text", text)
        person.look()
        drawn = "".join(words for words, _rect in lowest)
        assert str(path) in drawn
        top = min(one.rect.top for one in person.screen.controls)
        body = [rect for words, rect in lowest if words not in ("Try again", "Quit")]
        body = [rect for rect in body if rect.top < top]
        assert all(rect.right <= size[0] and rect.bottom <= top for rect in body)
        body.sort(key=lambda rect: rect.top)
        assert all(a.bottom <= b.bottom and a.top < b.top for a, b in pairwise(body))
    finally:
        person.end()


def test_an_address_without_a_blank_is_broken_where_the_line_ends():
    words = "postgresql://" + "x" * 300
    lines = broken(words, "strong", 19, 400)
    assert "".join(lines) == words and len(lines) > 1
    assert all(text_width(line, "strong", 19) <= 400 for line in lines)
