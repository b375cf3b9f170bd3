# SPDX-License-Identifier: MIT
"""Windows begun with fresh stores and the keyboard already there, by hand:
``python tests/studies benchmarks/starts --times 200``.

Needs jackd. Four windows at a time make the machine busy; all have the same round, and one
keyboard plays it in all of them. Of each window it says how long it took from its start to its
first press in the store, and which took none within 30 seconds of the first page.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from jack_keyboard import WISH, JackKeyboard, server
from places import ROOT
from test_window import COUNT, LEVEL, SEED, kept, terms

from game.rounds import Flip, Press

AT_ONCE, PATIENCE_S = 4, 30.0


class Window:
    """Stateful: a game of its own."""

    def __init__(self, folder: Path) -> None:
        self.store = folder / "store.db"
        command = [sys.executable, "-m", "game", "play", LEVEL, "--seed", str(SEED)]
        self.began = time.monotonic()
        self.process = subprocess.Popen(
            [*command, "--count", str(COUNT), "--store", str(self.store)],
            cwd=ROOT,
            stderr=subprocess.PIPE,
        )

    def count(self, kind: type) -> int:
        """How many such events of its round are in the store."""
        record = kept(self.store)
        return 0 if record is None else sum(isinstance(one, kind) for one in record.events)


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--times", type=int, default=200)
    times = options.parse_args().times
    name = f"stavewise-starts-{os.getpid()}"
    os.environ |= {
        "JACK_DEFAULT_SERVER": name,
        "STAVEWISE_MIDI": WISH,
        "SDL_VIDEODRIVER": "dummy",
        "SDL_AUDIODRIVER": "dummy",
    }
    took: list[float] = []
    deaf = 0
    with server(name):
        keyboard = JackKeyboard("Start piano")
        while len(took) + deaf < times:
            good = batch(keyboard)
            took += good
            deaf += AT_ONCE - len(good)
            print(f"{len(took)} heard the keyboard, {deaf} did not", flush=True)
        keyboard.switch_off()
    took.sort()
    print(f"seconds to the first press: median {took[len(took) // 2]:.1f}, most {took[-1]:.1f}")
    return deaf > 0


def batch(keyboard: JackKeyboard) -> list[float]:
    """Begin some windows and play; seconds to the first press of those that heard it."""
    (right,) = terms().begin().prompts[0].slots[0].keys
    with tempfile.TemporaryDirectory() as folder:
        folders = [Path(folder) / str(number) for number in range(AT_ONCE)]
        for one in folders:
            one.mkdir()
        windows = [Window(one) for one in folders]
        try:
            while any(kept(window.store) is None for window in windows):
                time.sleep(0.2)
                for window in windows:
                    if window.process.poll() is not None:
                        raise SystemExit(window.process.communicate()[1].decode())
            heard: dict[int, float] = {}
            end = time.monotonic() + PATIENCE_S
            while len(heard) < AT_ONCE and time.monotonic() < end:
                ready = all(window.count(Flip) for window in windows)
                key = right if ready else 21  # "ready" takes any key
                keyboard.send(f"90 {key:02x} 40", f"90 {key:02x} 00")
                time.sleep(0.4)
                for number, window in enumerate(windows):
                    if number not in heard and window.count(Press):
                        heard[number] = time.monotonic() - window.began
            if len(heard) < AT_ONCE:
                subprocess.run(["jack_lsp", "-c"], check=False)
                states = [(one.count(Flip), one.count(Press)) for one in windows]
                print("flips and presses:", states, flush=True)
            return list(heard.values())
        finally:
            for window in windows:
                window.process.terminate()
                window.process.communicate()


if __name__ == "__main__":
    sys.exit(main())
