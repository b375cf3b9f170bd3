# SPDX-License-Identifier: MIT
"""A whole round in a real window under an X server, played over JACK by a second process."""

from __future__ import annotations

import os
import random
import shlex
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from jack_keyboard import JackKeyboard
from places import ROOT

from game.files.resources import levels_folder
from game.keyboards.robot import RobotReader
from game.levels import FULL_COMPASS, read_ladder
from game.midi.backend import Backend, BackendError
from game.rounds import Press, Terms
from game.store import Store

pytestmark = pytest.mark.jack
# An installed program, for instance with another Python, may stand for the one of this checkout.
PROGRAM = shlex.split(os.environ.get("STAVEWISE_PROGRAM", f"{sys.executable} -m game"))
LEVEL, SEED, COUNT = "five-fingers-c", 11, 6


@pytest.fixture
def display():
    """A screen: the one that is there, or an Xvfb of our own."""
    if os.environ.get("DISPLAY"):
        yield os.environ["DISPLAY"]
        return
    if shutil.which("Xvfb") is None:
        pytest.skip("needs Xvfb, or a DISPLAY")
    read, write = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-screen", "0", "1280x720x24", "-nolisten", "tcp"],
        pass_fds=[write],
        stderr=subprocess.DEVNULL,
    )
    os.close(write)
    with os.fdopen(read) as pipe:
        number = pipe.readline().strip()
    yield f":{number}"
    server.terminate()
    server.wait()


def window(display: str, store: Path, *more: str) -> subprocess.Popen[bytes]:
    environment = {name: value for name, value in os.environ.items() if name != "SDL_VIDEODRIVER"}
    environment |= {
        "DISPLAY": display,
        "SDL_AUDIODRIVER": "dummy",
        "STAVEWISE_MIDI": "mido.backends.rtmidi/UNIX_JACK",
        "STAVEWISE_STORE": str(store),
    }
    return subprocess.Popen(
        [*PROGRAM, "play", LEVEL, "--seed", str(SEED), "--count", str(COUNT), *more],
        cwd=ROOT,
        env=environment,
        stderr=subprocess.PIPE,
    )


@pytest.fixture
def piano():
    try:
        Backend("mido.backends.rtmidi/UNIX_JACK").close()
    except BackendError as error:
        if os.environ.get("STAVEWISE_REQUIRE_JACK"):
            pytest.fail(f"STAVEWISE_REQUIRE_JACK is set, and there is {error}")
        pytest.skip(f"needs a JACK server that is running: {error}")
    keyboard = JackKeyboard("Test piano")
    yield lambda channel, key: keyboard.send(
        f"9{channel:x} {key:02x} 46", f"9{channel:x} {key:02x} 00"
    )
    keyboard.switch_off()


def terms() -> Terms:
    rung = read_ladder(levels_folder()).find(LEVEL)
    return Terms.counted(rung.level, rung.text, SEED, COUNT, FULL_COMPASS)


def kept(store: Path):
    """The newest round in the store with its events, or None."""
    if not store.exists():
        return None
    opened = Store.open(store)
    try:
        readers = opened.readers()
        records = opened.records(readers[0].id) if readers else ()
        unfinished = opened.open_rounds()
        newest = [*unfinished, *records]
        return opened.record(newest[0].id) if newest else None
    finally:
        opened.close()


def until(condition, seconds: float = 20.0):
    """Wait for something that must come; its value."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        value = condition()
        if value:
            return value
        time.sleep(0.05)
    raise AssertionError("it did not come about in time")


def flips(store: Path) -> int:
    record = kept(store)
    return sum(type(event).__name__ == "Flip" for event in record.events) if record else 0


def press_until_kept(store: Path, piano, channel: int, key: int) -> None:
    """Press a key, again if a JACK server without priority on a busy machine lost it."""

    def presses() -> int:
        return sum(isinstance(event, Press) for event in kept(store).events)

    before, end = presses(), time.monotonic() + 20
    while presses() == before:
        assert time.monotonic() < end, "no press arrives"
        piano(channel, key)
        pause = time.monotonic() + 4
        while presses() == before and time.monotonic() < pause:
            time.sleep(0.02)


def press_until_started(store: Path, piano) -> None:
    """The first press only says that the reader is ready, once the window listens."""

    def started() -> bool:
        if flips(store):
            return True
        piano(0, 60)
        time.sleep(0.3)
        return flips(store) > 0

    until(started)


def test_a_round_is_played_over_jack_by_another_process(tmp_path, display, piano):
    store = tmp_path / "store.db"
    game = window(display, store)
    try:
        until(lambda: kept(store))
        press_until_started(store, piano)
        prompts = terms().begin().prompts
        for number, prompt in enumerate(prompts):
            until(lambda number=number: flips(store) > number)
            (key,) = prompt.slots[0].keys
            if number == 2:
                press_until_kept(store, piano, 3, key + 12)
            press_until_kept(store, piano, number % 16, key)
        record = until(lambda: (found := kept(store)) and found.state == "finished" and found)
    finally:
        game.send_signal(signal.SIGTERM)
        _out, errors = game.communicate(timeout=20)
    assert b"Traceback" not in errors
    again = record.terms.replay(record.events)
    assert again.complete
    verdicts = [result.verdict.value for result in again.results]
    assert verdicts[2] == "wrong octave"
    assert verdicts.count("right") == COUNT - 1
    assert record.result.mean_points == again.score.mean_points
    assert record.result.accuracy == again.score.accuracy


def test_a_killed_game_has_lost_nothing_that_was_answered(tmp_path, display, piano):
    store = tmp_path / "store.db"
    chance = random.Random(4)
    game = window(display, store)
    answered = 0
    try:
        until(lambda: kept(store))
        press_until_started(store, piano)
        prompts = terms().begin().prompts
        for number in range(3):
            until(lambda number=number: flips(store) > number)
            (key,) = prompts[number].slots[0].keys
            press_until_kept(store, piano, 0, key)
            answered += 1
        until(lambda: len(terms().replay(kept(store).events).results) == answered)
        time.sleep(chance.random() * 0.3)
    finally:
        game.kill()
        game.communicate(timeout=20)
    record = kept(store)
    assert record.state == "open"
    assert len(record.terms.replay(record.events).results) == answered


def test_a_robot_plays_a_round_and_keeps_a_picture_of_every_screen(tmp_path, display):
    shots = tmp_path / "shots"
    game = window(display, tmp_path / "store.db", "--robot", "--shots", str(shots))
    _out, errors = game.communicate(timeout=90)
    assert game.returncode == 0, errors.decode()
    names = {path.stem.partition("-")[2] for path in shots.glob("*.png")}
    assert {"readers", "ladder", "settings", "help", "play", "result"} <= names


def test_the_robot_is_the_same_reader_for_the_same_seed():
    slot = terms().begin().prompts[0].slots[0]
    one = [RobotReader(5).answer(slot, 1.0) for _ in range(3)]
    assert one[0] == one[1] == one[2]
    assert all(isinstance(press, Press) for press in one[0])
