# SPDX-License-Identifier: MIT
"""A keyboard on JACK, a process of its own: ``python tests/support/jack_keyboard.py NAME``.

A line on its standard input is a message in hexadecimal; or ``off`` and ``on``, the cable; or
``play RATE SECONDS``, so many presses a second, which it answers with their number and how long it
took. It says ``ready`` first.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from contextlib import contextmanager
from typing import Any

from places import ROOT

WISH = "mido.backends.rtmidi/UNIX_JACK"


def output(name: str) -> Any:
    """A client of this name with the output ``keys``."""
    from game.midi.clib import own_jack

    own_jack()
    try:
        import rtmidi

        out = rtmidi.MidiOut(rtmidi.API_UNIX_JACK, name)
    except ModuleNotFoundError:
        import supriya_midi

        out = supriya_midi.MidiOut(supriya_midi.RtMidiAPI.UNIX_JACK, name)
    out.open_virtual_port("keys")
    return out


def pressed(at: int) -> tuple[int, int]:
    """Key and velocity of a press of ``play``: none comes twice within 11,176."""
    return 21 + at % 88, 1 + at // 88 % 127


@contextmanager
def server(name: str):
    """A JACK server of this name."""
    process = subprocess.Popen(
        ["jackd", "-S", "-r", "-n", name, "-d", "dummy", "-r", "48000", "-p", "128"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        until_it_answers(name)
        yield process
    finally:
        # Not killed: a killed server keeps its place in JACK's registry, which has only eight.
        process.terminate()
        process.wait()


def until_it_answers(name: str) -> None:
    """Wait until a client can join the server; a busy machine takes its time."""
    # The client takes its leave, or the server would wait five seconds for it.
    client = f"from game.midi.backend import Backend; Backend({WISH!r}).close()"
    environment = os.environ | {"JACK_DEFAULT_SERVER": name, "JACK_NO_START_SERVER": "1"}
    end = time.monotonic() + 20
    while time.monotonic() < end:
        tried = subprocess.run(
            [sys.executable, "-c", client],
            cwd=ROOT,
            env=environment,
            capture_output=True,
            check=False,
        )
        if tried.returncode == 0:
            return
        time.sleep(0.1)
    raise TimeoutError(f"the JACK server {name} does not answer")


class JackKeyboard:
    """Stateful: such a process.

    Args:
        name: of its client; its port is called ``NAME:keys``.
    """

    def __init__(self, name: str) -> None:
        self.label = f"{name}:keys"
        end = time.monotonic() + 60
        while True:
            self.process = subprocess.Popen(
                [sys.executable, __file__, name],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
            )
            if self.process.stdout.readline().strip() == "ready":
                return
            _out, errors = self.process.communicate()  # a server that is busy may refuse once
            assert time.monotonic() < end, errors

    def send(self, *lines: str) -> None:
        """Tell it what to do."""
        self.process.stdin.write("".join(f"{line}\n" for line in lines))
        self.process.stdin.flush()

    def switch_off(self) -> None:
        """The process ends by itself and takes its leave of the server."""
        self.process.communicate()

    def unplug(self) -> None:
        """The cable is pulled: the process is killed."""
        self.process.kill()
        self.process.communicate()


def main(name: str) -> None:
    out, at = output(name), 0
    print("ready", flush=True)
    for line in sys.stdin:
        match line.split():
            case ["off"]:
                out.delete()
            case ["on"]:
                out = output(name)
            case ["play", rate, seconds]:
                count, start = round(float(rate) * float(seconds)), time.perf_counter()
                chance = random.Random(name)
                for n in range(count):
                    human = 0.0 if float(rate) > 20 else chance.uniform(-0.4, 0.4)
                    due = start + (n + 0.5 + human) / float(rate)
                    while (left := due - time.perf_counter()) > 0:
                        time.sleep(left if left > 0.002 else 0)
                    key, velocity = pressed(at + n)
                    out.send_message([0x90, key, velocity])
                    out.send_message([0x90, key, 0])
                at += count
                print(count, time.perf_counter() - start, flush=True)
            case message:
                out.send_message(list(bytes.fromhex(" ".join(message))))
    time.sleep(0.1)
    out.delete()


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main(sys.argv[1])
