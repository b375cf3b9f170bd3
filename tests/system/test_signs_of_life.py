# SPDX-License-Identifier: MIT
"""What is under way somewhere is not offered as broken off; who takes it over is asked first."""

from __future__ import annotations

import platform
import signal
import sqlite3
import sys
import time
from contextlib import closing

import pygame
import pytest
from player import Player
from store_builders import NOON, TERMS, script, stores_engine
from teacher import Teacher

from game.app.app import App, AppOptions
from game.rounds import Terms
from game.screens.play.play import Play
from game.screens.play.resume import ResumeOffer
from game.screens.reader.contents import Contents
from game.screens.reader.readers import Readers
from game.screens.school.classes import Classes
from game.screens.school.heat_offer import HeatOffer
from game.screens.school.heat_screen import HeatScreen
from game.store import RoundTaken, Store, heat_target, life, round_target
from game.ui.asked_twice import HASTE_S


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    monkeypatch.setattr(life, "BEAT_S", 0.05)


def until(condition, seconds: float = 20.0) -> bool:
    """Wait for it; whether it has come."""
    end = time.monotonic() + seconds
    while not (found := condition()) and time.monotonic() < end:
        time.sleep(0.02)
    return bool(found)


def change(url: str, statement: str) -> None:
    with stores_engine(url) as engine, engine.begin() as connection:
        assert connection.exec_driver_sql(statement).rowcount == 1


# The store


def test_what_one_copy_holds_the_others_see_and_where(stores_url):
    with Store.open(stores_url) as here, Store.open(stores_url) as there:
        target = round_target(1)
        here.life.hold(target)
        assert until(lambda: there.life.signs([target]))
        found = there.life.signs([target, heat_target("h")])
        assert {*found} == {target}
        assert found[target].alive and found[target].here
        assert found[target].computer == platform.node()
        assert here.life.signs([target]) == {}, "its own is none of another's"
        here.life.hold("")
        assert until(lambda: not there.life.signs([target]))


def test_a_sign_ends_with_the_store_it_was_given_through(stores_url):
    with Store.open(stores_url) as there:
        with Store.open(stores_url) as here:
            here.life.hold("round 1")
            assert until(lambda: there.life.signs(["round 1"]))
        assert there.life.signs(["round 1"]) == {}


@pytest.mark.parametrize("ago", [60.0, -3600.0])
def test_an_old_sign_is_none_and_so_is_one_from_before_the_clock_was_set_back(stores_url, ago):
    """By the clock of the server, or of the machine that has the file: no room's own counts."""
    with Store.open(stores_url) as there:
        with Store.open(stores_url) as here:
            here.life.hold("round 1")
            assert until(lambda: there.life.signs(["round 1"]))
            copy = f"'round 2', origin, place, seen - {ago} FROM under_way"
            change(stores_url, f"INSERT INTO under_way SELECT {copy}")
            found = there.life.signs(["round 2"])["round 2"]
        assert not found.alive and found.computer == platform.node()


def test_whoever_takes_it_over_has_it_and_the_other_is_told(stores_url):
    with Store.open(stores_url) as here, Store.open(stores_url) as there:
        here.life.hold("round 1")
        assert until(lambda: there.life.signs(["round 1"]))
        here.life.check()
        there.life.hold("round 1")

        def told() -> bool:
            try:
                here.life.check()
            except RoundTaken:
                return True
            return False

        assert until(told)
        there.life.check()
        assert here.life.signs(["round 1"])["round 1"].alive
        here.life.hold("round 2")  # it goes on with something else
        here.life.check()


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
def test_a_killed_game_is_alive_for_a_moment_and_then_its_round_is_offered(tmp_path, monkeypatch):
    path = tmp_path / "store.db"
    code = (
        "import sys, time\nfrom game.store import Store\nstore = Store.open(sys.argv[1])\n"
        "store.life.hold('round 1')\nwhile not Store.open(sys.argv[1]).life.signs(['round 1']):\n"
        "    time.sleep(0.05)\nprint('ready', flush=True)\ntime.sleep(60)\n"
    )
    child = script(code, path)
    with child:
        assert child.stdout.readline() == "ready\n"
        child.send_signal(signal.SIGKILL)
    with Store.open(path) as store:
        assert store.life.signs(["round 1"])["round 1"].alive
        monkeypatch.setattr(life, "LAPSE_S", 0.0)
        assert not store.life.signs(["round 1"])["round 1"].alive


# Two windows


@pytest.fixture
def windows(tmp_path, monkeypatch):
    """Two of the game on one store."""
    monkeypatch.setenv("XDG_DOCUMENTS_DIR", str(tmp_path / "documents"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    how = AppOptions(store=str(tmp_path / "store.db"), size=(1024, 600))
    made = Teacher(App(how)), Teacher(App(how))
    yield made
    for one in made:
        one.app.stage.store.close()
        one.app.stage.sounds.player.close()


def heat_under_way(teacher: Teacher) -> str:
    """A heat of three, of whom the first reads; its row on the pages."""
    teacher.plug("Piano")
    teacher.new_class("3b", "Zoë", "Łukasz", "Mia")
    teacher.begin(prompts=6)
    teacher.start()
    teacher.answer_seat(1, "Piano")
    return f"heat-{teacher.live.name}"


def seen(player: Player, monkeypatch) -> str:
    """All that stands on the page."""
    words: list[str] = []
    kind = type(player.stage.window.canvas)
    real = kind.text
    with monkeypatch.context() as patch:
        patch.setattr(
            kind, "text", lambda c, text, *a, **k: (words.append(text), real(c, text, *a, **k))[1]
        )
        player.look()
    return " ".join([*words, *(item.label for item in player.screen.controls)])


def test_a_heat_under_way_is_no_broken_off_one_and_is_taken_over_only_when_asked_twice(
    windows, monkeypatch, tmp_path
):
    one, two = windows
    row = heat_under_way(one)
    target = heat_target(one.live.name)
    assert until(lambda: two.app.stage.store.life.signs([target]))
    two.app.stage.go.open_readers()
    two.look()
    assert row not in two.ids(), "the start page offers it not"
    two.click_on("classes")
    (item,) = [item for item in two.screen.controls if item.id == row]
    assert "in another window on this computer" in item.value
    two.click_on(row)
    assert isinstance(two.screen, HeatOffer)
    page = seen(two, monkeypatch)
    assert "A heat is under way" in page and "broken off" not in page and "3b" in page
    assert "in another window on this computer" in page
    assert two.ids() == ["back", "resume"], "it cannot be discarded"
    two.click_on("resume")
    assert isinstance(two.screen, HeatOffer) and "Sure? Take it over" in two.labels()
    two.wait(HASTE_S)
    two.click_on("resume")
    assert isinstance(two.screen, HeatScreen)
    # The room that had it, when it comes to its next turn.
    assert until(lambda: taken_from(one))
    assert isinstance(one.screen, Classes)
    page = seen(one, monkeypatch)
    assert "goes on in another window on this computer" in page
    assert str(tmp_path) not in page
    # And the one that has it goes on.
    two.type(pygame.K_SPACE)
    two.plug("Piano")
    two.answer_seat(1, "Piano")
    assert len(two.round(1).results) == 2


def taken_from(player: Player) -> bool:
    """A turn of the loop; whether the game has been told."""
    from game.store import ContinuedElsewhere

    try:
        player.stage.store.life.check()
        player.screen.tick(player.clock)
    except ContinuedElsewhere:
        player.app.rounds.taken_over()
        return True
    return False


def test_a_heat_that_another_room_writes_on_is_told_without_the_address(
    windows, monkeypatch, tmp_path
):
    """Its sign of life may come late: what it writes next says so first."""
    one, _two = windows
    heat_under_way(one)
    live = one.live
    with closing(sqlite3.connect(tmp_path / "store.db")) as other, other:
        other.execute(
            "INSERT INTO heat_entries SELECT heat, max(seq) + 1, line, hash FROM heat_entries"
        )
    one.clock += 1.0
    one.screen.pause()
    assert taken_from(one)
    assert isinstance(one.screen, Classes)
    assert str(tmp_path) not in seen(one, monkeypatch)
    lines = len(one.app.stage.store.school.heat(live.name).entries)
    one.app.stage.go.open_readers()
    assert len(one.app.stage.store.school.heat(live.name).entries) == lines


def test_a_round_under_way_elsewhere_is_said_to_be_so_and_taken_over_only_when_asked_twice(
    windows, monkeypatch, tmp_path
):
    one, two = windows
    reader = one.app.stage.store.add_reader("Anna")
    one.app.stage.rounds.greet(reader)
    rung = one.app.stage.levels.ladder.rungs[0]
    one.app.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, 3, one.app.stage.piano.compass)
    )
    one.look()
    one.piano(60)
    one.answer()
    target = round_target(one.screen.live.record_id)
    assert until(lambda: two.app.stage.store.life.signs([target]))
    two.app.stage.rounds.greet(reader)
    two.look()
    assert isinstance(two.screen, ResumeOffer)
    page = seen(two, monkeypatch)
    assert "A round is under way" in page and "in another window on this computer" in page
    two.click_on("back")
    assert isinstance(two.screen, Contents), "it is left there, and another begun here"
    two.app.stage.rounds.greet(reader)
    two.look()
    two.click_on("resume")
    assert isinstance(two.screen, ResumeOffer)
    two.wait(HASTE_S)
    two.click_on("resume")
    assert isinstance(two.screen, Play)
    assert until(lambda: taken_from(one))
    assert isinstance(one.screen, Readers)
    page = seen(one, monkeypatch)
    assert "The round goes on in another window" in page and str(tmp_path) not in page


def test_what_begins_elsewhere_while_it_is_offered_is_not_taken_unasked(windows, monkeypatch):
    one, two = windows
    row = heat_under_way(one)
    one.type(pygame.K_ESCAPE, pygame.K_ESCAPE)
    assert isinstance(one.screen, Classes)
    target = heat_target(row.removeprefix("heat-"))
    assert until(lambda: not two.app.stage.store.life.signs([target]))
    two.app.stage.go.open_readers()
    two.look()
    two.click_on(row)
    assert "A heat was broken off" in seen(two, monkeypatch)
    one.click_on(row)
    one.click_on("resume")
    assert until(lambda: two.app.stage.store.life.signs([target]))
    two.click_on("resume")
    assert isinstance(two.screen, HeatOffer)
    assert "A heat is under way" in seen(two, monkeypatch)


@pytest.mark.parametrize("kind", [pygame.WINDOWMINIMIZED, pygame.WINDOWHIDDEN])
def test_a_window_out_of_sight_stops_the_clock_of_a_round(windows, kind, monkeypatch):
    one, _two = windows
    play = reads(one)
    assert play.live.round.paused is None
    one.app.loop.from_window(pygame.event.Event(kind))
    assert play.live.round.paused is not None
    assert "The window was out of sight." in seen(one, monkeypatch)


def reads(window) -> Play:
    """A round under way in a window."""
    window.app.stage.rounds.greet(window.app.stage.store.add_reader("Anna"))
    rung = window.app.stage.levels.ladder.rungs[0]
    window.app.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, 3, window.app.stage.piano.compass)
    )
    window.look()
    window.piano(60)
    return window.screen


def test_the_piano_is_heard_by_the_window_in_front(windows, monkeypatch):
    one, two = windows
    turn_to(one)
    play = reads(one)
    presses = len(play.live.round.presses)
    turn_to(two)
    one.piano(62)
    assert len(play.live.round.presses) == presses
    assert "other Stavewise window" in seen(one, monkeypatch)
    one.piano(60)  # "go on", in front
    assert play.live.round.paused is not None
    turn_to(one)
    one.wait(2.0)
    one.piano(60)
    assert play.live.round.paused is None
    two.piano(60)
    assert isinstance(two.screen, Readers)


def turn_to(window) -> None:
    window.app.loop.from_window(pygame.event.Event(pygame.WINDOWFOCUSGAINED))


def test_the_piano_plays_on_in_a_window_once_the_other_is_closed(windows):
    one, two = windows
    for window in windows:
        turn_to(window)
    two.app.loop.front.leave()
    assert reads(one).live.round.paused is None
    one.piano(61)
    assert one.screen.live.round.presses


def test_whoever_turns_to_another_program_is_told_why_the_round_pauses(windows, monkeypatch):
    one, _two = windows
    play = reads(one)
    one.app.loop.from_window(pygame.event.Event(pygame.WINDOWFOCUSLOST))
    assert play.live.round.paused is not None
    assert "Another window came to the front." in seen(one, monkeypatch)
    one.wait(2.0)
    one.piano(60)  # the piano goes on, wherever the focus is
    assert play.live.round.paused is None


def test_a_window_that_only_fills_the_screen_now_pauses_nothing(windows, monkeypatch):
    one, _two = windows
    play = reads(one)
    for kind in (pygame.WINDOWHIDDEN, pygame.WINDOWFOCUSLOST):  # as SDL does on X
        pygame.event.post(pygame.event.Event(kind))
    monkeypatch.setattr(pygame.key, "get_focused", lambda: True)
    one.type(pygame.K_F11)
    one.app.loop._hear(pygame.event.get())
    assert one.app.stage.settings.now.full_screen
    assert play.live.round.paused is None


def test_in_a_store_in_memory_nobody_else_is_told(tmp_path):
    with Store.open("sqlite://") as store:
        number = store.begin(store.add_reader("Anna").id, TERMS, NOON)
        store.life.hold(round_target(number))
        store.life.check()
        assert store.life.signs([round_target(number)]) == {}
