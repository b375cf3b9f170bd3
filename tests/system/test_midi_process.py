# SPDX-License-Identifier: MIT
"""The game and the process that listens for it, whatever that does; stand-ins for the process."""

from __future__ import annotations

import ast
import sys
import threading
from pathlib import Path

import pygame
import pytest

import game.midi
from game.app.app import App, AppOptions
from game.keyboards import Keyboards, KeyDown, KeyUp, MidiKeyboards, PressQueue, midi
from game.screens.reader.welcome import Welcome

PATIENCE_S = 20.0
HANGS = "import time\nwhile True: time.sleep(60)"  # deaf to its end too, as in a driver
BREAKS_OFF = "import os; os.abort()"
PLAYS = """
import pickle, sys, time
sys.path[:] = {path!r}
from game.midi.events import Keyboards, KeyDown
here = Keyboards(1.0, ("Piano",), (), ("Piano",), ("Piano",), "rtmidi: JACK")
pickle.dump([here, KeyDown(2.0, 60, 64, "Piano")], sys.stdout.buffer)
"""

NEVER_CLOSES = """
import ctypes, sys
from pathlib import Path
sys.path[:] = {path!r}
from game.midi import listener, ports
from game.midi.backend import Input

pulled = Path("PULLED")

class Port:
    works = True
    def poll(self):
        return None
    def close(self):
        pulled.touch()
        ctypes.PyDLL(None).sleep(60)  # called so, it holds the interpreter

class Backend:
    name = "stand-in"
    looks = 0
    def inputs(self):
        self.looks += 1
        names = ["Piano"] if pulled.exists() or self.looks > 1 else ["Organ", "Piano"]
        return [Input(name, name) for name in names]
    def open(self, index, wanted):
        return Port()
    def close(self):
        pass

ports.Backend = Backend
listener.main()
"""


@pytest.fixture(autouse=True)
def _soon(monkeypatch):
    monkeypatch.setattr(midi, "_AGAIN_S", (0.01, 0.01))


def heard(monkeypatch, process: str, until) -> list:
    """What comes of such a process, until there is enough of it."""
    monkeypatch.setattr(midi, "_BEGIN", process)
    came, arrived = [], threading.Event()
    queue = PressQueue(on_arrival=arrived.set)
    keyboards = MidiKeyboards(queue)
    keyboards.start()
    try:
        while not until(came):
            assert arrived.wait(PATIENCE_S), came
            arrived.clear()
            came += queue.drain()
    finally:
        keyboards.close()
    assert keyboards._process.returncode is not None
    return came


def test_a_process_that_breaks_off_is_told_in_a_line_and_begun_again(monkeypatch):
    came = heard(monkeypatch, BREAKS_OFF, lambda came: len(came) >= 3)
    assert {event.heard for event in came} == {()}
    assert "broke off" in came[0].reached
    assert came[0].reached.startswith("none: ")


def test_the_keys_of_a_keyboard_that_is_lost_come_up_before_it_is_gone(monkeypatch):
    came = heard(monkeypatch, PLAYS + "raise SystemExit(1)", lambda came: len(came) >= 4)
    here, down, up, gone = came[:4]
    assert (here.came, down.key) == (("Piano",), 60)
    assert isinstance(up, KeyUp) and (up.key, up.keyboard) == (60, "Piano")
    assert (gone.gone, gone.heard) == (("Piano",), ())


@pytest.mark.skipif(sys.platform == "win32", reason="the stand-in holds on with the C library")
def test_a_driver_that_never_gets_done_with_closing_holds_up_no_other_keyboard(
    monkeypatch, tmp_path
):
    process = NEVER_CLOSES.replace("PULLED", str(tmp_path / "pulled"))
    both, gone, again = heard(monkeypatch, process, lambda came: len(came) >= 3)[:3]
    assert both.heard == gone.gone == ("Organ", "Piano")
    assert again.came == again.heard == ("Piano",)


def test_where_midi_cannot_be_reached_at_all_nothing_goes_on_trying(monkeypatch):
    monkeypatch.setenv("STAVEWISE_MIDI", "none")
    came = heard(monkeypatch, midi._BEGIN, bool)
    assert came == [Keyboards(came[0].t, reached="none: switched off by STAVEWISE_MIDI")]


def test_no_function_of_ours_is_handed_to_a_driver():
    """It would run on a thread of the driver's, which must not wait for the interpreter."""
    handed = {"CFUNCTYPE", "PYFUNCTYPE", "WINFUNCTYPE", "set_callback", "set_error_callback"}
    folder = Path(game.midi.__file__).parent
    for path in sorted(folder.glob("*.py")):
        tree = ast.parse(path.read_text())
        used = {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
        assert not handed & used, path


# The window


@pytest.fixture
def window(monkeypatch, tmp_path):
    """The game with such a process, and what a person does: act, on the page that is shown."""

    def run(process: str, act, before=()) -> App:
        monkeypatch.setattr(midi, "_BEGIN", process)
        monkeypatch.setattr(pygame, "quit", lambda: None)  # other tests draw with the same fonts
        app = App(AppOptions(store=str(tmp_path / "store.db"), size=(1024, 600)))
        for key in before:
            pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=key, mod=0, scancode=0))
        show = app.stage.go.show

        def shown(screen) -> None:
            show(screen)
            screen.shown = lambda now: act(app, now)

        monkeypatch.setattr(app.go, "show", shown)
        assert app.run() == 0
        return app

    return run


def close() -> None:
    pygame.event.post(pygame.event.Event(pygame.QUIT))


def test_the_first_page_works_while_midi_does_not_answer_and_closing_waits_for_nothing(window):
    seen = []

    def act(app: App, _now: float) -> None:
        seen.append((app.go.screen.name, app.stage.piano.line))
        if len(seen) == 1:
            pygame.event.post(
                pygame.event.Event(pygame.KEYDOWN, key=pygame.K_TAB, mod=0, scancode=0)
            )
        elif app.go.screen.shows_focus:
            close()

    app = window(HANGS, act)
    assert {name for name, _ in seen} == {"welcome"}
    assert app.midi._process.poll() is not None


def test_keys_typed_before_there_is_a_page_choose_nothing_on_it(window):
    seen = []

    def act(app: App, now: float) -> None:
        seen.append(app.go.screen)
        assert isinstance(app.go.screen, Welcome)
        if app.go.screen._begin_at is not None or len(seen) > 3:
            close()
        else:
            app.loop._wake_loop()

    window(HANGS, act, before=[pygame.K_RETURN])
    assert seen[-1]._begin_at is None  # Return is middle C there


def test_what_was_played_is_kept_before_midi_is_closed(window, monkeypatch):
    order = []

    def act(app: App, _now: float) -> None:
        store, keyboards = app.stage.store.close, app.midi.close
        monkeypatch.setattr(app.stage.store, "close", lambda: (order.append("store"), store()))
        monkeypatch.setattr(app.midi, "close", lambda: (order.append("MIDI"), keyboards()))
        close()

    window(PLAYS, act)
    assert order == ["store", "MIDI"]


def test_a_press_reaches_the_page(window):
    def act(app: App, _now: float) -> None:
        if app.go.screen._begin_at is not None:
            close()

    app = window(PLAYS, act)
    assert isinstance(app.go.screen, Welcome)
    assert KeyDown(2.0, 60, 64, "Piano") not in app.loop._queue.drain()
