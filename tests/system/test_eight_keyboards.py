# SPDX-License-Identifier: MIT
"""Eight keyboards over JACK at one heat: every press reaches its own seat, in order.

A short run; ``python tests/studies benchmarks/eight_keyboards`` is the long one, with its figures.
"""

from __future__ import annotations

import os
import shutil

import pytest
from eight_keyboards import Room, sequence
from jack_keyboard import server

from game.midi.backend import Backend, BackendError

pytestmark = pytest.mark.jack
HUMAN, ABSURD = 5.0, 1000.0


@pytest.fixture(scope="module")
def own_server():
    """A JACK server that waits for its clients; without jackd, the one that runs."""
    if shutil.which("jackd") is None:
        yield None
        return
    name = f"stavewise-eight-{os.getpid()}"
    with server(name):
        yield name


@pytest.fixture
def room(own_server, monkeypatch, tmp_path):
    monkeypatch.setenv("STAVEWISE_MIDI", "mido.backends.rtmidi/UNIX_JACK")
    if own_server is not None:
        monkeypatch.setenv("JACK_DEFAULT_SERVER", own_server)
    try:
        Backend().close()
    except BackendError as error:
        if os.environ.get("STAVEWISE_REQUIRE_JACK"):
            pytest.fail(f"STAVEWISE_REQUIRE_JACK is set, and there is {error}")
        pytest.skip(f"needs jackd, or a JACK server that is running: {error}")
    made = Room(tmp_path / "store.db")
    yield made
    made.close()


@pytest.mark.parametrize("rate", [HUMAN, ABSURD])
def test_every_press_reaches_its_own_seat_in_order(room, rate):
    outcome = room.during(lambda: room.play(rate, 2.0))
    expected = sequence(0, round(rate * 2.0))
    assert outcome.heard == dict.fromkeys(range(1, 9), expected)
    assert outcome.strays == 0


def test_a_keyboard_that_comes_back_as_another_port_is_its_seats_again(room):
    def happens() -> None:
        room.play(HUMAN, 1.0)
        room.replug(3, "Another port")
        room.play(HUMAN, 1.0)

    outcome = room.during(happens)
    assert outcome.bindings[3] == "Another port:keys"
    assert outcome.heard == outcome.sent
    assert len(outcome.heard[3]) == 2 * round(HUMAN)
