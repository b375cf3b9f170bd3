# SPDX-License-Identifier: MIT
"""How fast it is, by hand: ``python tests/studies benchmarks/speed`` (needs a display).

Prints distributions; nothing here is a test. Figures of one machine are in DEVELOPERS.md.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from places import ROOT

FRAME_MS = 1000 / 60


def line(what: str, values: list[float], unit: str = "ms") -> None:
    """One line: p50, p90, p99 and the greatest."""
    values = sorted(values)

    def at(share: float) -> float:
        return values[min(len(values) - 1, int(share * len(values)))]

    print(
        f"{what:<46} n={len(values):<6} p50 {at(0.5):8.3f}  p90 {at(0.9):8.3f}  "
        f"p99 {at(0.99):8.3f}  max {values[-1]:8.3f} {unit}"
    )


def timed(work: Callable[[], object]) -> float:
    """Milliseconds that a piece of work takes."""
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def press_to_verdict() -> None:
    """From a press in the queue (as the MIDI thread leaves it) to its verdict."""
    from game.files.resources import levels_folder
    from game.keyboards import KeyDown, PressQueue
    from game.levels import FULL_COMPASS, read_ladder
    from game.rounds import Flip, Press, Terms, step

    rung = read_ladder(levels_folder()).find("grand-staff")
    now = Terms.counted(rung.level, rung.text, 1, 240, FULL_COMPASS).begin()
    arrived = threading.Event()
    queue = PressQueue(on_arrival=arrived.set)
    verdicts = []

    def play() -> None:
        for prompt in now.prompts:
            time.sleep(0.01)
            queue.put(KeyDown(time.perf_counter(), min(prompt.slots[0].keys), 64, "bench"))

    thread = threading.Thread(target=play)
    thread.start()
    while now.ended is None:
        if now.since is None:
            now = step(now, Flip(0.0)).round
        arrived.wait(1)
        arrived.clear()
        for event in queue.drain():
            if isinstance(event, KeyDown):
                now = step(now, Press(event.t, event.key, event.velocity)).round
                verdicts.append((time.perf_counter() - event.t) * 1000)
    thread.join()
    line("press arriving to verdict, across threads", verdicts)


def store_append() -> None:
    """Keeping one event, in a transaction of its own."""
    from datetime import UTC, datetime

    from game.files.resources import levels_folder
    from game.levels import FULL_COMPASS, read_ladder
    from game.rounds import Press, Terms
    from game.store import Store

    rung = read_ladder(levels_folder()).find("grand-staff")
    terms = Terms.counted(rung.level, rung.text, 1, 240, FULL_COMPASS)
    with tempfile.TemporaryDirectory() as folder:
        store = Store.open(Path(folder) / "bench.db")
        reader = store.add_reader("Bench")
        record = store.begin(reader.id, terms, datetime.now(UTC))
        times = [timed(lambda n=n: store.append(record, Press(n * 0.5, 60))) for n in range(2000)]
        store.close()
    line("keeping a press (one transaction)", times)


def draw(window: Any, engraver: Any, prompt: Any) -> None:
    """One frame with a prompt on it."""
    import pygame

    from game.ui import theme

    window.fill(theme.PAPER)
    window.blit(engraver.surface(prompt, 20, theme.INK), (0, 0))
    pygame.display.flip()


def prompt_change() -> None:
    """Drawing a prompt, prepared and not."""
    import pygame

    from game.engraving import Engraver
    from game.files.resources import levels_folder
    from game.levels import deal, read_ladder
    from game.ui import theme

    pygame.display.init()
    window = pygame.display.set_mode((1280, 720))
    for level_id in ("grand-staff", "signs-hold", "signatures-seven"):
        level = read_ladder(levels_folder()).find(level_id).level
        prompts = deal(level, 1, 200)
        cold, warm = [], []
        engraver = Engraver()
        engraver.surface(prompts[0], 20, theme.INK)
        for prompt in prompts[1:]:
            change = partial(draw, window, engraver, prompt)
            cold.append(timed(change))
            warm.append(timed(change))
        line(f"prompt change, not prepared ({level_id})", cold)
        line(f"prompt change, prepared ({level_id})", warm)
    pygame.quit()
    print(f"{'one frame at 60 Hz':<46} {FRAME_MS:.1f} ms")


_START = """
import time; start = time.perf_counter()
import sys
from game.app.app import App, AppOptions
app = App(AppOptions(store=sys.argv[1]))
app.midi.start()
app.first_screen()
app.go.screen.draw(app.stage.window.canvas)
import pygame; pygame.display.flip()
print(time.perf_counter() - start)
app.midi.close(); app.stage.store.close()
"""


def start_up() -> None:
    """From the interpreter's first line to the first screen on display."""
    times = []
    with tempfile.TemporaryDirectory() as folder:
        for _ in range(7):
            out = subprocess.run(
                [sys.executable, "-c", _START, str(Path(folder) / "s.db")],
                cwd=ROOT,
                capture_output=True,
                text=True,
                check=True,
            )
            times.append(float(out.stdout.split()[-1]) * 1000)
    line("start to first screen", times)


def idle() -> None:
    """Share of a core that the game uses while it waits for a key."""
    with tempfile.TemporaryDirectory() as folder:
        environment = os.environ | {"STAVEWISE_STORE": str(Path(folder) / "s.db")}
        game = subprocess.Popen([sys.executable, "-m", "game"], cwd=ROOT, env=environment)
        time.sleep(4)
        shares = []
        for _ in range(5):
            before = _cpu_seconds(game.pid)
            time.sleep(2)
            shares.append((_cpu_seconds(game.pid) - before) / 2 * 100)
        game.terminate()
        game.wait()
    print(f"{'idle, share of a core':<46} median {statistics.median(shares):.1f} %")


def _cpu_seconds(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


if __name__ == "__main__":
    press_to_verdict()
    store_append()
    prompt_change()
    start_up()
    idle()
