# SPDX-License-Identifier: MIT
"""Eight keyboards over JACK, each a process of its own, at a heat in the game's own window.

The real parts: the window and its loop, the MIDI ports, the heat, and the store. Every keyboard
plays a sequence in which no (key, velocity) comes twice within 11,176 presses, so that what the
store has kept of a seat says of every press whose it is and where it belongs.
"""

from __future__ import annotations

import json
import os
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pygame
from jack_keyboard import JackKeyboard, pressed

from game.app.app import App, AppOptions
from game.files.resources import levels_folder
from game.heats import Binding, CountIn, Forms, HeatSetup, PlayMode, Seat, Start
from game.keyboards import KeyDown
from game.levels import read_ladder
from game.screens.school.heat_together import HeatTogether
from game.session.live_heat import HeatOptions, LiveHeat

SEATS = 8
PATIENCE_S = 60.0
LEVEL, PROMPTS = "grand-staff", 200


def sequence(start: int, count: int) -> list[tuple[int, int]]:
    """(key, velocity) of so many presses of a keyboard, from one of them on."""
    return [pressed(at) for at in range(start, start + count)]


class VirtualKeyboard(JackKeyboard):
    """Stateful: a keyboard that counts what it plays."""

    sent = 0

    def play(self, rate: float, seconds: float) -> None:
        """Begin to play; so many presses a second, the human rates unevenly."""
        self.send(f"play {rate} {seconds}")

    def played(self) -> float:
        """Wait for the end; how many seconds it took."""
        count, seconds = self.process.stdout.readline().split()
        self.sent += int(count)
        return float(seconds)


@dataclass
class Outcome:
    """What came of it.

    Args:
        sent: seat -> what its keyboards played, in order.
        heard: seat -> what the store has kept of it, in order.
        strays: presses that were nobody's.
        took_s: how long the slowest keyboard took.
        waits_ms: from a press's arrival to its verdict.
        kept_s: from the last press sent until all were in the store.
        frames: how often the window was drawn.
        bindings: seat -> its keyboard at the end.
    """

    sent: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    heard: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    strays: int = 0
    took_s: float = 0.0
    waits_ms: list[float] = field(default_factory=list)
    kept_s: float = 0.0
    frames: int = 0
    bindings: dict[int, str] = field(default_factory=dict)


class Room:
    """Stateful: the game with a heat under way, and eight keyboards plugged in."""

    def __init__(self, store: Path, size: tuple[int, int] = (1280, 720)) -> None:
        os.environ["STAVEWISE_MIDI"] = "mido.backends.rtmidi/UNIX_JACK"
        self.outcome = Outcome()
        self.keyboards = {seat: VirtualKeyboard(f"Seat {seat} piano") for seat in range(1, 9)}
        self.app = App(AppOptions(store=str(store), size=size))
        self.app.midi.start()
        labels = {keyboard.label for keyboard in self.keyboards.values()}
        _until(
            lambda: self.app.loop._hear([]) or labels <= set(self.app.stage.piano.keyboards.heard)
        )
        rung = read_ladder(levels_folder()).find(LEVEL)
        seats = tuple(
            Seat(seat, binding=Binding(keyboard.label)) for seat, keyboard in self.keyboards.items()
        )
        setup = HeatSetup(
            LEVEL,
            rung.level.title,
            rung.text,
            1,
            PROMPTS,
            None,
            PlayMode.TOGETHER,
            Forms.OWN,
            seats,
        )
        school = self.app.stage.store.school
        self.live = LiveHeat.begin(
            setup, HeatOptions(pulled=False), school, self.app.stage.clock.now()
        )
        self.app.stage.classroom.open_heat(self.live, ())
        self._watch()

    def _watch(self) -> None:
        screen = self.app.go.screen
        assert isinstance(screen, HeatTogether)
        pressed, shown = screen.pressed, screen.shown

        def timed(event: KeyDown) -> None:
            pressed(event)
            self.outcome.waits_ms.append(1000 * (self.app.stage.clock.now() - event.t))

        def counted(now: float) -> None:
            shown(now)
            self.outcome.frames += 1

        screen.pressed, screen.shown = timed, counted
        screen.feed(CountIn(screen.heat_time))
        screen.feed(Start(screen.heat_time))

    def during(self, happens: Callable[[], None]) -> Outcome:
        """Run the game's loop in this thread while things happen in another one."""
        failed: list[BaseException] = []

        def run() -> None:
            try:
                happens()
                last = time.perf_counter()
                sent = sum(keyboard.sent for keyboard in self._all)
                _until(lambda: len(self.outcome.waits_ms) >= sent, fails=False)
                time.sleep(0.3)  # a press too many would come now
                self.outcome.kept_s = time.perf_counter() - last - 0.3
            except BaseException as error:
                failed.append(error)
            finally:
                pygame.event.post(pygame.event.Event(pygame.QUIT))

        self._all = list(self.keyboards.values())
        thread = threading.Thread(target=run)
        thread.start()
        self.app.loop.run()
        thread.join()
        if failed:
            raise failed[0]
        return self._ended()

    def play(self, rate: float, seconds: float, seats: Sequence[int] = range(1, 9)) -> None:
        """These seats play at once; returns when they have."""
        keyboards = [self.keyboards[seat] for seat in seats]
        before = {seat: self.keyboards[seat].sent for seat in seats}
        for keyboard in keyboards:
            keyboard.play(rate, seconds)
        took = [keyboard.played() for keyboard in keyboards]
        self.outcome.took_s = max(self.outcome.took_s, *took)
        for seat in seats:
            sent = self.keyboards[seat].sent - before[seat]
            self.outcome.sent.setdefault(seat, []).extend(sequence(before[seat], sent))

    def replug(self, seat: int, name: str) -> None:
        """A keyboard is pulled out, and another port comes in its place."""
        old = self.keyboards[seat]
        old.switch_off()
        _until(lambda: old.label not in self.app.stage.piano.keyboards.heard)
        self.keyboards[seat] = VirtualKeyboard(name)
        self._all.append(self.keyboards[seat])
        _until(lambda: self.bindings().get(seat) == self.keyboards[seat].label)

    def bindings(self) -> dict[int, str]:
        """Seat -> the keyboard that the heat has for it."""
        return {chair.seat.number: chair.seat.binding.keyboard for chair in self.live.heat.chairs}

    def _ended(self) -> Outcome:
        outcome = self.outcome
        self.live.keep()
        for entry in self.app.stage.store.school.heat(self.live.name).entries:
            event = json.loads(entry.line)
            if event["kind"] == "press":
                heard = outcome.heard.setdefault(event["seat"] or 0, [])
                heard.append((event["key"], event["velocity"]))
        outcome.strays = self.live.heat.strays
        outcome.bindings = self.bindings()
        return outcome

    def close(self) -> None:
        """Everybody leaves."""
        self.app.midi.close()
        for keyboard in self.keyboards.values():
            keyboard.switch_off()
        self.app.stage.sounds.player.close()
        self.app.stage.store.close()


def _until(condition: Callable[[], bool], *, fails: bool = True) -> None:
    end = time.monotonic() + PATIENCE_S
    while not condition():
        if time.monotonic() > end:
            if fails:
                raise AssertionError("it did not come about in time")
            return
        time.sleep(0.05)
