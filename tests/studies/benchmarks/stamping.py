# SPDX-License-Identifier: MIT
"""How far stamps lie from the sender's clock: ``python tests/studies benchmarks/stamping``.

Needs a JACK server (``jackd -S -r -d dummy -r 48000 -p 128``; without ``-S`` a busy machine
that gives JACK no real-time priority loses messages) and Linux, where perf_counter is
CLOCK_MONOTONIC and so the same clock in both processes. A second process plays; this one runs
a 60 Hz loop that is busy with Python for a part of every frame, as a game that draws is, and holds
the interpreter now and then, as a library does that works long. Every figure includes the way
through JACK, up to two of its periods.
"""

from __future__ import annotations

import argparse
import ctypes
import json
import os
import subprocess
import sys
import time
from collections.abc import Sequence

from places import MODULES

from game.keyboards import Keyboards, KeyDown, MidiKeyboards, PressQueue

FRAME_S = 1 / 60
SENDER = """
import json, random, sys, time
from jack_keyboard import output
out = output("Stamping sender")
sys.stdin.readline()
chance, sent = random.Random(1), []
for n in range(int(sys.argv[1])):
    time.sleep(0.01 + 0.03 * chance.random())
    sent.append(time.perf_counter())
    out.send_message([0x90, n % 128, 64])
print(json.dumps(sent), flush=True)
sys.stdin.readline()
"""


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--presses", type=int, default=1000)
    options.add_argument("--busy-ms", type=float, default=6.0, help="of Python in every frame")
    options.add_argument("--hold-ms", type=float, default=70.0, help="every tenth frame")
    args = options.parse_args()
    hold = ctypes.PyDLL(None).usleep  # called so, it does not let go of the interpreter
    os.environ["STAVEWISE_MIDI"] = "mido.backends.rtmidi/UNIX_JACK"
    queue = TimedQueue()
    midi = MidiKeyboards(queue)
    midi.start()
    sender = subprocess.Popen(
        [sys.executable, "-c", SENDER, str(args.presses)],
        env=os.environ | {"PYTHONPATH": MODULES},
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    seen: list[tuple[KeyDown, float, float]] = []
    frame, frames = time.perf_counter(), 0
    give_up = frame + 5 + args.presses * 0.03
    while len(seen) < args.presses and frame < give_up:
        while time.perf_counter() < frame + args.busy_ms / 1000:
            sum(range(50))
        frames += 1
        if frames % 10 == 0:
            hold(round(args.hold_ms * 1000))
        frame = max(frame + FRAME_S, time.perf_counter() - FRAME_S)
        time.sleep(max(0.0, frame - time.perf_counter()))
        polled = time.perf_counter()
        for event, put in queue.drain():
            if isinstance(event, Keyboards) and "Stamping sender:keys" in event.came:
                sender.stdin.write("play\n")
                sender.stdin.flush()
            elif isinstance(event, KeyDown):
                seen.append((event, put, polled))
    midi.close()
    if not seen:
        print("nothing arrived")
        sender.kill()
        return 1
    sent = json.loads(sender.stdout.readline())
    sender.communicate()
    print(f"{len(sent)} presses, {len(sent) - len(seen)} lost by JACK; ", end="")
    print(f"the loop is busy {args.busy_ms} ms of every {FRAME_S * 1000:.1f} ms")
    print(f"{'stamp minus time of sending, ms':<34}" + "".join(f"{n:>9}" for n in PLACES))
    times = [(event.t, put, polled) for event, put, polled in seen]
    kept = matched([event.key for event, _, _ in seen], sent)
    for what, stamps in zip(STAMPS, zip(*times, strict=True), strict=True):
        table(what, stamps, kept)
    return 0


class TimedQueue(PressQueue):
    """Stateful: a queue that keeps with each event when it was put in."""

    def put(self, event) -> None:
        super().put((event, time.perf_counter()))


def matched(keys: list[int], sent: list[float]) -> list[float]:
    """When each arrived press was sent: its key is its number, counted in 128s."""
    times, number = [], 0
    for key in keys:
        number += (key - number) % 128
        times.append(sent[number])
        number += 1
    return times


STAMPS = (
    "stamped on arrival (the game's)",
    "when our thread took it",
    "when the next frame polled",
)
PLACES = {"p50": 0.5, "p90": 0.9, "p99": 0.99, "max": 1.0}


def table(what: str, stamps: Sequence[float], sent: list[float]) -> None:
    """One line of the distribution."""
    errors = sorted((t - s) * 1000 for t, s in zip(stamps, sent, strict=True))
    at = (errors[min(len(errors) - 1, int(share * len(errors)))] for share in PLACES.values())
    print(f"{what:<34}" + "".join(f"{value:>9.2f}" for value in at))


if __name__ == "__main__":
    raise SystemExit(main())
