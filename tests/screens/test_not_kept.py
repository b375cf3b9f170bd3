# SPDX-License-Identifier: MIT
"""A round ends while the store takes nothing: it is said, tried again, and nothing is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pygame
import pytest
from player import Player
from sqlalchemy import event
from sqlalchemy.engine import Engine
from store_faults import locked

from game.app.app import App, AppOptions
from game.rounds import Terms
from game.screens.play.not_kept import NotKept
from game.screens.play.play import Play
from game.screens.play.result import Result
from game.screens.reader.readers import Readers
from game.session.profiles import profile_of
from game.store import RoundState, RoundTaken, Store, StoreError, outbox
from game.store.spool import Spool

SIZES = [(1024, 600), (1280, 720)]


@pytest.fixture
def no_spare(monkeypatch):
    """There is one disk only."""
    monkeypatch.setattr(outbox, "FOLDERS", ())


@pytest.fixture
def other_disk(tmp_path, monkeypatch) -> Path:
    """A second disk that takes what the first does not."""
    folder = tmp_path / "other disk"
    folder.mkdir()
    monkeypatch.setattr(outbox, "FOLDERS", (lambda _make: folder,))
    return folder


@pytest.fixture
def path(tmp_path) -> Path:
    return tmp_path / "store.db"


@contextmanager
def takes_nothing(path: Path) -> Iterator[None]:
    """The database can be read and takes not a byte, as on a full disk, but at once."""
    closed = [True]

    def set_closed(connection):
        connection.exec_driver_sql(f"PRAGMA query_only={closed[0]:d}")

    event.listen(Engine, "begin", set_closed)
    try:
        yield
    finally:
        closed[0] = False
        opened_again.append(set_closed)


opened_again: list[Callable[..., None]] = []


@pytest.fixture(autouse=True)
def _opened_again() -> Iterator[None]:
    yield
    while opened_again:
        event.remove(Engine, "begin", opened_again.pop())


def reading(path: Path, size: tuple[int, int] = (1024, 600)) -> Player:
    """Anna, who has just begun her first round."""
    player = Player(App(AppOptions(store=str(path), size=size)))
    app = player.app
    app.stage.rounds.greet(app.stage.store.add_reader("Anna"))
    rung = app.stage.levels.ladder.rungs[0]
    app.stage.rounds.begin(Terms.counted(rung.level, rung.text, 7, None, app.stage.piano.compass))
    player.type(pygame.K_RETURN)
    assert isinstance(player.screen, Play)
    return player


def play_to_the_end(player: Player) -> Result:
    while isinstance(player.screen, Play):
        player.answer()
    assert isinstance(player.screen, Result)
    return player.screen


def said(player: Player, monkeypatch) -> str:
    """All words of the page, as they are drawn."""
    words = []
    kind = type(player.stage.window.canvas)
    real = kind.text
    with monkeypatch.context() as patch:
        patch.setattr(
            kind, "text", lambda c, text, *a, **k: (words.append(text), real(c, text, *a, **k))[1]
        )
        player.look()
    return " ".join(words)


def later(player: Player) -> None:
    player.clock += 5.0
    player.stage.keeper.try_again()
    player.look()


@pytest.mark.parametrize("trouble", [takes_nothing, locked])
def test_a_round_that_is_not_kept_is_no_pass_and_no_best_until_it_is(
    path, no_spare, trouble, monkeypatch
):
    player = reading(path)
    app, reader = player.app, player.stage.sitting.reader
    with trouble(path):
        result = play_to_the_end(player)
        words = said(player, monkeypatch)
        assert "Not kept yet" in words and "not kept yet" in words
        assert "passed" not in words and "best" not in words
        assert "next" not in {one.id for one in player.screen.controls}
        later(player)
        assert "Not kept yet" in said(player, monkeypatch)
    later(player)
    assert player.screen is result
    words = said(player, monkeypatch)
    assert "Not kept" not in words and "✓ Level passed" in words and "Your first best" in words
    assert "next" in {one.id for one in player.screen.controls}
    assert app.stage.store.pass_days(reader.id) == {result._live.level.id: 1}
    assert profile_of(app.stage.store, reader.id).to_json() == app.stage.sitting.profile.to_json()
    assert app.stage.sitting.profile.knowledge.signs
    app.stage.store.close()
    with Store.open(path) as store:
        (kept,) = store.records(reader.id)
        assert len(store.record(kept.id).terms.replay(store.record(kept.id).events).results) == 24


def test_it_is_learnt_by_its_own_reader_though_another_reads_now(path, no_spare):
    player = reading(path)
    app, anna = player.app, player.stage.sitting.reader
    ben = app.stage.store.add_reader("Ben")
    with takes_nothing(path):
        play_to_the_end(player)
        app.stage.rounds.greet(ben)
        later(player)
    later(player)
    assert profile_of(app.stage.store, anna.id).knowledge.signs
    assert not profile_of(app.stage.store, ben.id).knowledge.signs
    assert not app.stage.sitting.profile.knowledge.signs
    assert app.stage.store.bests(anna.id) and not app.stage.store.bests(ben.id)


def test_the_start_page_says_whose_round_waits_until_it_is_kept(path, no_spare, monkeypatch):
    player = reading(path)
    with takes_nothing(path):
        play_to_the_end(player)
        player.stage.go.open_readers()
        assert "A round of Anna is not kept yet" in said(player, monkeypatch)
    later(player)
    player.stage.go.open_readers()
    assert "not kept" not in said(player, monkeypatch)


@pytest.mark.parametrize("size", SIZES)
def test_closing_asks_first_while_something_is_on_no_disk(path, no_spare, size, monkeypatch):
    player = reading(path, size)
    app = player.app
    with takes_nothing(path):
        play_to_the_end(player)
        app.loop.from_window(pygame.event.Event(pygame.QUIT))
        player.look()
        assert app.go.running and isinstance(player.screen, NotKept)
        words = said(player, monkeypatch)
        assert "Not everything is kept yet" in words and "may not be written" in words
        for one in player.screen.controls:
            assert one.rect.left >= 0 and one.rect.right <= size[0]
            assert one.rect.bottom <= size[1] - 40
        player.type(pygame.K_RETURN)
        assert "Tried again" in said(player, monkeypatch)
        app.loop.from_window(pygame.event.Event(pygame.QUIT))
        assert app.go.running
        player.type(pygame.K_ESCAPE)
        assert isinstance(player.screen, Result)
        app.stage.go.quit()
    player.look()
    player.type(pygame.K_RETURN)  # "Try again", and now there is room
    assert "Now everything is kept" in said(player, monkeypatch)
    player.type(pygame.K_RETURN)
    assert not app.go.running
    app.stage.store.close()
    with Store.open(path) as store:
        assert len(store.records(1)) == 1


def test_a_round_under_way_stands_still_while_closing_asks(path, no_spare):
    player = reading(path)
    with locked(path):
        player.answer()
        player.stage.go.quit()
        player.look()
        assert isinstance(player.screen, NotKept)
        player.type(pygame.K_ESCAPE)
    assert isinstance(player.screen, Play)
    assert player.screen.live.round.paused is not None
    player.stage.go.quit()
    assert not player.app.go.running


def test_who_closes_all_the_same_may(path, no_spare):
    player = reading(path)
    with takes_nothing(path):
        play_to_the_end(player)
        player.stage.go.quit()
        player.look()
        player.click_on("close")
        assert not player.app.go.running
        with pytest.raises(StoreError, match="may not be written"):  # and the terminal is told
            player.stage.store.close()


def test_with_room_on_another_disk_nothing_is_asked_and_the_next_start_has_the_round(
    path, other_disk, monkeypatch
):
    player = reading(path)
    app = player.app
    with takes_nothing(path):
        play_to_the_end(player)
        assert "Not kept yet" in said(player, monkeypatch)
        app.stage.go.quit()
        assert not app.go.running
        app.stage.store.close()
        assert str(other_disk) in (app.stage.store.waits or "")
    player = Player(App(AppOptions(store=str(path), size=(1024, 600))))
    app = player.app
    (anna,) = app.stage.store.readers()
    app.stage.rounds.greet(anna)
    player.look()
    assert not isinstance(player.screen, Readers)
    (kept,) = app.stage.store.records(anna.id)
    assert kept.result.passed and kept.result.slots == 24
    assert app.stage.sitting.profile.knowledge.signs
    app.stage.store.close()


def full(*_args):
    raise OSError("no space left")


def test_a_play_page_says_truly_where_the_answers_wait(path, other_disk, monkeypatch):
    player = reading(path)
    with locked(path):
        player.answer()
        assert "wait in a file on this computer" in said(player, monkeypatch)
        monkeypatch.setattr(Spool, "put", full)
        player.answer()
        assert "in memory, on no disk" in said(player, monkeypatch)


def test_a_round_that_another_copy_has_gone_on_with_is_not_tried_for_ever(
    path, no_spare, monkeypatch
):
    player = reading(path)
    error = RoundTaken(str(path), "another copy has gone on with this round", "Go on there.")

    def taken(*_args):
        raise error

    monkeypatch.setattr(player.stage.store, "finish", taken)
    play_to_the_end(player)
    monkeypatch.undo()
    later(player)
    words = said(player, monkeypatch)
    assert "Not kept: another copy" in words and "by itself" not in words
    assert not player.stage.store.records(1, state=RoundState.FINISHED)
    player.stage.go.quit()
    assert not player.app.go.running
