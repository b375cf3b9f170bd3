# SPDX-License-Identifier: MIT
"""Frames of a long round, by hand: ``python tests/studies benchmarks/frames [SECONDS]``.

Needs a display. A robot reads for five minutes; each frame is timed from the loop's wake to the end
of its flip, which is also how long after a press its feedback is on the screen; and the part of
that time in which the game itself computed. Prints distributions, and the resident memory along the
way. Figures of one machine are in DEVELOPERS.md.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import pygame
from speed import line

from game.app.app import App
from game.app.launch import AppOptions, RobotSettings
from game.files.resources import levels_folder
from game.levels import read_ladder
from game.screens.play.play import Play
from game.session.options import Options
from game.store import Store

LEVELS = ("grand-staff", "signs-hold")
MOMENTS = 6  # at which memory is looked at


class Timed(App):
    """Stateful: the game, with a stop watch at its loop."""

    def __init__(self, how: AppOptions) -> None:
        super().__init__(how)
        self.frames: dict[str, list[float]] = {}
        self.computed: list[float] = []
        self.memory: list[tuple[float, float]] = []
        self._woke_at = self.now()
        self._computed = time.thread_time()
        self._began: float | None = None
        self._flip, pygame.display.flip = pygame.display.flip, self._timed_flip

    def run(self) -> int:
        try:
            return super().run()
        finally:
            pygame.display.flip = self._flip

    def _wait(self) -> list[pygame.event.Event]:
        happened = super()._wait()
        self._woke_at, self._computed = self.now(), time.thread_time()
        self._before = self._state()
        return happened

    def _state(self) -> tuple[object, ...]:
        if not isinstance(self.screen, Play):
            return (self.screen,)
        now = self.screen.live.round
        return (self.screen, self.screen._view.prompt, len(now.results), len(now.presses))

    def _timed_flip(self) -> None:
        self._flip()
        now = self.now()
        if isinstance(self.screen, Play) and hasattr(self, "_before"):
            before, after = self._before, self._state()
            if before[0] is not after[0]:
                return
            what = "another prompt" if before[1] is not after[1] else "no change"
            what = "after a press" if before[2:] != after[2:] else what
            self.frames.setdefault(what, []).append((now - self._woke_at) * 1000)
            self.computed.append((time.thread_time() - self._computed) * 1000)
            self._remember(now)

    def _remember(self, now: float) -> None:
        self._began = now if self._began is None else self._began
        each = (self._how.seconds or 60) / MOMENTS
        if now - self._began >= len(self.memory) * each:
            self.memory.append((now - self._began, resident_mb()))


def resident_mb() -> float:
    """Resident memory of this process, in megabytes."""
    text = Path("/proc/self/status").read_text()
    return next(int(row.split()[1]) for row in text.splitlines() if "VmRSS" in row) / 1024


def robot_round(level_id: str, seconds: int, motion: str) -> None:
    """One round, and its figures."""
    rung = read_ladder(levels_folder()).find(level_id)
    with tempfile.TemporaryDirectory() as folder:
        place = str(Path(folder) / "frames.db")
        with Store.open(place) as store:
            options = replace(Options(), pace="60 a minute", motion=motion, screen_piano="always")
            store.set_setting("options", options.kept())
        robot = RobotSettings(speed_s=0.6, spread=0.3, error_rate=0.1, seed=1)
        how = AppOptions(store=place, rung=rung, seed=1, seconds=seconds, robot=robot)
        app, used = Timed(how), time.process_time()
        app.run()
    print(f"{level_id}, {seconds} s, motion {motion}")
    for what, values in sorted(app.frames.items()):
        line(f"  frame, {what}", values)
    line("  all frames, computing alone", app.computed)
    share = (time.process_time() - used) / seconds * 100
    print("  resident MB: " + "  ".join(f"{at:.0f} s {mb:.1f}" for at, mb in app.memory))
    print(f"  share of a core: {share:.0f} %")


if __name__ == "__main__":
    length = sys.argv[1] if len(sys.argv) > 1 else "300"
    if len(sys.argv) == 4:
        robot_round(sys.argv[2], int(length), sys.argv[3])
    else:
        for name in LEVELS:
            for motion in ("full", "less"):  # a window, its fonts and its caches: a process each
                subprocess.run([sys.executable, __file__, length, name, motion], check=True)
