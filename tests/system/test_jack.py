# SPDX-License-Identifier: MIT
"""Real MIDI over a real JACK server; the keyboard is another process.

Where jackd is installed, these tests run a server of their own, one that waits for its clients
(``-S``): on a busy machine that gives JACK no real-time priority, others lose messages. Without
jackd the server that is running is used. Without that too the tests are skipped, or fail where
STAVEWISE_REQUIRE_JACK is set.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import threading
import time
from pathlib import Path

import pytest
from jack_keyboard import WISH, JackKeyboard, server

from game.app.app import App, AppOptions
from game.keyboards import Keyboards, KeyDown, KeyUp, MidiKeyboards, PressQueue
from game.midi.backend import Backend, BackendError
from game.midi.listener import WATCH_S
from game.rounds import Terms
from game.screens.play.play import PlayPhase

pytestmark = pytest.mark.jack
PATIENCE_S = 20.0
MOST_KB = 2000  # more memory than after the first time
HOT_PLUGS = int(os.environ.get("STAVEWISE_TEST_HOT_PLUGS", "8"))


class Listener:
    """Stateful: the game's end, remembering all that it heard."""

    def __init__(self) -> None:
        self.heard = []
        self.arrived = threading.Event()
        self.queue = PressQueue(on_arrival=self.arrived.set)
        self.midi = MidiKeyboards(self.queue)
        self.now = Keyboards()

    def until(self, condition):
        """Wait for what must come, waking on arrivals only."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            for event in self.queue.drain():
                self.heard.append(event)
                if isinstance(event, Keyboards):
                    self.now = event
            if condition():
                return
            self.arrived.wait(0.2)
            self.arrived.clear()
        raise AssertionError(f"it did not come: {self.heard}")

    def times(self, what, keyboard):
        """How often a keyboard has "come" or "gone"."""
        return sum(keyboard in getattr(e, what) for e in self.heard if isinstance(e, Keyboards))

    def until_came(self, keyboard, times=1):
        self.until(lambda: self.times("came", keyboard) >= times)

    def keys(self, keyboard):
        """(down, key) of one keyboard, in order."""
        return [
            (isinstance(event, KeyDown), event.key)
            for event in self.heard
            if isinstance(event, KeyDown | KeyUp) and event.keyboard == keyboard
        ]


@pytest.fixture(scope="module")
def own_server():
    if shutil.which("jackd") is None:
        yield None
        return
    name = f"stavewise-{os.getpid()}"
    with server(name):
        yield name


@pytest.fixture(autouse=True)
def jack(monkeypatch, own_server):
    monkeypatch.setenv("STAVEWISE_MIDI", WISH)
    if own_server is not None:
        monkeypatch.setenv("JACK_DEFAULT_SERVER", own_server)
    end = time.monotonic() + (PATIENCE_S if own_server else 0.0)
    while True:
        try:
            Backend().close()
            return
        except BackendError as error:
            if time.monotonic() < end:
                time.sleep(0.1)
            elif os.environ.get("STAVEWISE_REQUIRE_JACK"):
                pytest.fail(f"STAVEWISE_REQUIRE_JACK is set, and there is {error}")
            else:
                pytest.skip(f"needs jackd, or a JACK server that is running: {error}")


@pytest.fixture
def listener():
    made = Listener()
    made.midi.start()
    yield made
    made.midi.close()


@pytest.fixture
def plug():
    plugged = []

    def make(name: str) -> JackKeyboard:
        plugged.append(JackKeyboard(name))
        return plugged[-1]

    yield make
    for keyboard in plugged:
        if keyboard.process.poll() is None:
            keyboard.switch_off()


def test_all_presses_arrive_in_order_whatever_else_is_sent(listener, plug):
    piano = plug("Plain piano")
    label = "Plain piano:keys"
    listener.until_came(label)
    assert listener.now.reached == "rtmidi: JACK"
    assert label in listener.now.heard
    expected = []
    for channel in range(16):
        piano.send(
            f"9{channel:x} {30 + channel:02x} 40", "f8", f"9{channel:x} {30 + channel:02x} 00"
        )
        expected += [(True, 30 + channel), (False, 30 + channel)]
    piano.send("f0 7e 7f 09 01 f7", "fe", "f0" + "11" * 500 + "f7", "c0 05", "b0 40 7f", "e0 00 40")
    piano.send("90 3c 40", "fe", "90 3c 00", "80 40 00")
    expected += [(True, 60), (False, 60), (False, 64)]
    listener.until(lambda: len(listener.keys(label)) >= len(expected))
    assert listener.keys(label) == expected
    times = [event.t for event in listener.heard if not isinstance(event, Keyboards)]
    assert times == sorted(times)


def test_a_keyboard_pulled_out_is_missed_and_plays_again_when_it_is_back(listener, plug):
    label = "Loose piano:keys"
    piano = plug("Loose piano")
    listener.until_came(label)
    piano.send("90 3c 40")
    listener.until(lambda: listener.keys(label) == [(True, 60)])
    piano.unplug()
    listener.until(lambda: listener.times("gone", label) == 1)
    assert listener.keys(label) == [(True, 60), (False, 60)]
    again = plug("Loose piano")
    listener.until_came(label, 2)
    again.send("91 3e 40")
    listener.until(lambda: listener.keys(label)[2:] == [(True, 62)])


def test_two_keyboards_of_one_name_both_play(listener, plug):
    first, second = plug("Twin"), plug("Twin")
    listener.until(lambda: len(listener.now.heard) == 2)
    one, other = listener.now.heard
    first.send("90 3c 40")
    second.send("90 3e 40")
    listener.until(lambda: listener.keys(one) and listener.keys(other))
    assert sorted(listener.keys(one) + listener.keys(other)) == [(True, 60), (True, 62)]


def test_looking_for_keyboards_leaves_no_clients_behind(listener, plug):
    if shutil.which("jack_lsp") is None:
        pytest.skip("needs jack_lsp")
    label = "Counted piano:keys"
    plug("Counted piano")
    listener.until_came(label)
    before = ours()
    time.sleep(2 * WATCH_S)
    assert ours() == before
    listener.midi.choose("nothing")
    listener.until(lambda: listener.now.gone)
    assert len(ours()) == len(before) - 1


def test_a_connection_that_the_server_has_lost_is_made_again(listener, plug):
    if shutil.which("jack_disconnect") is None:
        pytest.skip("needs jack_disconnect")
    label = "Lost piano:keys"
    piano = plug("Lost piano")
    listener.until_came(label)
    (port,) = (port for port in ours() if port.endswith(":in"))
    subprocess.run(["jack_disconnect", label, port], check=True)
    listener.until_came(label, 2)
    piano.send("90 3c 40")
    listener.until(lambda: listener.keys(label) == [(True, 60)])


def ours() -> list[str]:
    """The game's ports in the server."""
    listed = subprocess.run(["jack_lsp"], capture_output=True, text=True, check=True).stdout
    return [line for line in listed.splitlines() if line.startswith("Stavewise")]


def test_a_server_that_dies_is_reported_and_a_new_one_found(monkeypatch):
    if shutil.which("jackd") is None:
        pytest.skip("needs jackd")
    name = f"stavewise-{os.getpid()}-mortal"
    monkeypatch.setenv("JACK_DEFAULT_SERVER", name)
    mortal = Listener()
    try:
        with server(name):
            mortal.midi.start()
            mortal.until(lambda: mortal.now.reached == "rtmidi: JACK")
        mortal.until(lambda: mortal.now.reached.startswith("none: "))
        with server(name):
            mortal.until(lambda: mortal.now.reached == "rtmidi: JACK")
    finally:
        mortal.midi.close()


def test_a_keyboard_plugged_and_pulled_many_times_in_a_round_leaves_nothing_behind(plug, tmp_path):
    piano = plug("Worn piano")
    app = App(AppOptions(store=str(tmp_path / "store.db"), size=(640, 480)))
    rung = app.stage.levels.ladder.rungs[0]
    app.stage.sitting.reader = app.stage.store.add_reader("Anna")

    def until(condition) -> None:
        end = time.monotonic() + PATIENCE_S
        while not condition():
            assert time.monotonic() < end, (app.stage.piano.keyboards, app.go.screen.name)
            app.go.screen.draw(app.stage.window.canvas)
            app.go.screen.shown(app.stage.clock.now())
            time.sleep(0.01)
            app.loop._hear([])
            app.go.screen.tick(app.stage.clock.now())

    def reads() -> bool:
        return (
            app.go.screen.phase is PlayPhase.READING and app.go.screen.live.round.since is not None
        )

    try:
        app.midi.start()
        until(lambda: app.stage.piano.keyboards.heard == (piano.label,))
        app.stage.rounds.begin(
            Terms.counted(rung.level, rung.text, 1, HOT_PLUGS + 1, app.stage.piano.compass)
        )
        piano.send("90 15 40", "90 15 00")  # ready
        for number in range(HOT_PLUGS):
            until(reads)
            (key,) = app.go.screen.live.round.expected
            piano.send(f"90 {key:02x} 40")  # it is not let go of
            until(lambda n=number: len(app.go.screen.live.round.results) > n)
            until(reads)
            piano.send("off")
            until(lambda: app.go.screen.phase is PlayPhase.PAUSED)
            piano.send("on")
            until(reads)
            if number == 0:
                had = in_use(app)
        assert all(result.right for result in app.go.screen.live.round.results)
        now = in_use(app)
        assert now[:-1] == had[:-1]
        assert now[-1] < had[-1] + MOST_KB
    finally:
        app.midi.close()
        app.stage.store.close()
        app.stage.sounds.player.close()


def in_use(app: App) -> list[int]:
    """Descriptors and threads of this process and of the one that listens, and its memory in kB."""
    listener = f"/proc/{app.midi._process.pid}"
    folders = [Path(f"{who}/{what}") for who in ("/proc/self", listener) for what in ("fd", "task")]
    memory = re.search(r"VmRSS:\s+(\d+)", Path(f"{listener}/status").read_text())
    return [*(len(list(folder.iterdir())) for folder in folders), int(memory[1])]
