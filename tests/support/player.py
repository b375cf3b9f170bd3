# SPDX-License-Identifier: MIT
"""A person at the game, with the clock in hand, for the tests of the screens."""

from __future__ import annotations

from dataclasses import replace

import pygame

from game.app.app import App
from game.keyboards import Keyboards, KeyDown, KeyUp
from game.screens.play.play import Play
from game.screens.reader.readers import Readers
from game.ui.asked_twice import HASTE_S


class Player:
    """Stateful: a person at the game, with the clock in hand."""

    def __init__(self, app: App) -> None:
        self.app, self.stage = app, app.stage
        self.clock = 100.0
        app.stage.clock.seconds = lambda: self.clock
        app.stage.go.show(Readers(app.stage))
        self.look()

    @property
    def screen(self):
        return self.app.go.screen

    def look(self) -> None:
        for _ in range(2):  # a draw may lead to another screen or prompt
            self.screen.draw(self.app.stage.window.canvas)
            self.screen.shown(self.clock)

    def wait(self, seconds: float) -> None:
        self.clock += seconds
        self.screen.tick(self.clock)
        self.look()

    def piano(self, *keys: int) -> None:
        for key in keys:
            self.app.loop.from_queue(KeyDown(self.clock, key, 70, "piano"))
            self.app.loop.from_queue(KeyUp(self.clock, key, "piano"))
            self.look()

    def plug(self, *labels: str) -> None:
        """MIDI keyboards are plugged in, one after the other."""
        for label in labels:
            self.keyboards_are(*self.app.stage.piano.keyboards.heard, label)

    def pull(self, label: str) -> None:
        """One of them is pulled out."""
        self.keyboards_are(*(one for one in self.app.stage.piano.keyboards.heard if one != label))

    def keyboards_are(self, *labels: str, **also: object) -> None:
        """The MIDI keyboards that are heard now, whatever was heard before."""
        before = self.app.stage.piano.keyboards.heard
        event = Keyboards(
            self.clock,
            heard=labels,
            gone=tuple(label for label in before if label not in labels),
            came=tuple(label for label in labels if label not in before),
            there=labels,
        )
        self.app.loop.from_queue(replace(event, **also))
        self.screen.tick(self.clock)
        self.look()

    def type(self, *keys: int) -> None:
        for key in keys:
            event = pygame.event.Event(pygame.KEYDOWN, key=key, mod=0, unicode="", scancode=0)
            self.app.loop.from_window(event)
            self.look()

    def sure(self, key: int) -> None:
        """Press a key, and again when it has asked."""
        self.type(key)
        self.wait(HASTE_S)
        self.type(key)

    def click(self, where: tuple[int, int]) -> None:
        for kind in (pygame.MOUSEBUTTONDOWN, pygame.MOUSEBUTTONUP):
            self.app.loop.from_window(pygame.event.Event(kind, pos=where, button=1))
            self.look()

    def click_on(self, control_id: str) -> None:
        """Click on something, once the wheel has brought it into view."""
        for up in (1, -1):
            for _ in range(100):
                control = next(item for item in self.screen.controls if item.id == control_id)
                if control.seen:
                    self.click(control.rect.center)
                    return
                self.wheel(up, control.view.center)
        raise AssertionError(f"{control_id} cannot be seen")

    def wheel(self, up: int, where: tuple[int, int]) -> None:
        self.move(where)
        self.app.loop.from_window(pygame.event.Event(pygame.MOUSEWHEEL, x=0, y=up))
        self.look()

    def move(self, where: tuple[int, int]) -> None:
        """The mouse comes to a place."""
        for at in ((0, 0), where):
            self.app.loop.from_window(pygame.event.Event(pygame.MOUSEMOTION, pos=at, rel=(1, 1)))
        self.look()

    def right_keys(self) -> list[int]:
        return sorted(self.screen.live.round.expected)

    def answer(self) -> None:
        self.clock += 0.5
        self.piano(*self.right_keys())
        if isinstance(self.screen, Play):
            self.wait(1.0)
