# SPDX-License-Identifier: MIT
"""A teacher at the game with a class of keyboards, and with the clock in hand."""

from __future__ import annotations

import pygame
from player import Player

from game.heats import HeatPhase, PlayMode
from game.keyboards import KeyDown, KeyUp
from game.screens.school.heat_screen import HeatScreen
from game.screens.school.seat_staff import SeatStage
from game.session.live_heat import LiveHeat


class Teacher(Player):
    """Stateful: a teacher, and whoever sits at the keyboards."""

    # Words and files

    def say(self, words: str) -> None:
        """Type a line, and Enter."""
        for character in words:
            event = pygame.event.Event(pygame.TEXTINPUT, text=character)
            self.app.loop.from_window(event)
        self.type(pygame.K_RETURN)

    def drop(self, path) -> None:
        """Let a file fall on the window."""
        self.app.loop.from_window(pygame.event.Event(pygame.DROPFILE, file=str(path)))
        self.look()

    def ids(self) -> list[str]:
        """What can be chosen now."""
        return [control.id for control in self.screen.controls]

    def labels(self) -> list[str]:
        """What the rows and buttons say."""
        return [control.label for control in self.screen.controls]

    def new_class(self, name: str, *members: str) -> None:
        """From the start page to a class with these names."""
        self.click_on("classes")
        self.click_on("new")
        self.say(name)
        self.click_on("add")
        for member in members:
            self.say(member)
        self.say("")

    # Keyboards

    def press(self, label: str, key: int) -> None:
        """A key of a keyboard goes down and up, and the loop turns once."""
        self.app.loop.from_queue(KeyDown(self.clock, key, 70, label))
        self.app.loop.from_queue(KeyUp(self.clock, key, label))
        self.settle()

    def share(self, label: str, at: int) -> None:
        """Who is asked for a key shares this keyboard with the one who has it, from a key up."""
        self.click_on("share")
        self.press(label, at)

    def settle(self) -> None:
        """The loop turns once."""
        self.screen.tick(self.clock)
        self.look()

    def pass_time(self, seconds: float, step: float = 0.1) -> None:
        """Time passes, in small steps."""
        for _ in range(round(seconds / step)):
            self.wait(step)

    # A heat

    @property
    def live(self) -> LiveHeat:
        return self.screen.live

    @property
    def heat(self):
        return self.live.heat

    def round(self, number: int):
        """The round of a seat."""
        return self.heat.chair(number).round

    def begin(self, manner: PlayMode = PlayMode.IN_TURN, **choices: object) -> None:
        """From a class to the heat, or to the keyboards."""
        self.click_on("start")
        self.screen._change(manner=manner, **choices)
        self.look()
        self.click_on("on")

    def go_on(self) -> None:
        """Go on with the heat that was broken off last."""
        self.click_on(next(name for name in self.ids() if name.startswith("heat-")))
        self.click_on("resume")

    def start(self) -> None:
        """Count in, and wait until the clock runs."""
        self.type(pygame.K_SPACE)
        self.pass_time(3.1)
        assert self.heat.phase is HeatPhase.RUNNING

    def answer_seat(self, number: int, label: str, *, off: int = 0, after: float = 0.5) -> None:
        """A seat plays the keys of its slot, or keys that are off; the next prompt comes."""
        self.clock += after
        for key in sorted(self.round(number).expected):
            self.press(label, key + off)
        while self.screen.staves[number].moment is SeatStage.SETTLING:
            self.wait(0.1)

    def play_out(self, number: int, label: str) -> None:
        """A seat plays to the end of its round."""
        while self.round(number) is not None and self.round(number).ended is None:
            self.answer_seat(number, label)
        self.pass_time(0.3)

    def at_heat(self) -> bool:
        return isinstance(self.screen, HeatScreen)
