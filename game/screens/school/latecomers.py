# SPDX-License-Identifier: MIT
"""Who may still join a heat, and which of them is being chosen, or typed."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

import pygame

from game.heats import Seat
from game.heats.roster import MOST_NUMBER
from game.reader.names import NameRefused, clean_name, folded
from game.screens.school.called import called
from game.screens.school.heat_controls import Does
from game.store import StoreError
from game.ui.clipboard import pasted, pastes
from game.words.text import _

_LONGEST = 60  # characters that are typed
_SEEN = 28  # of them, on the strip


class Latecomers:
    """Stateful: those of the class who were not here at the beginning.

    Args:
        absent: as seats, whose numbers change where they are taken.
        enrol: adds a name to the class, and says what the class knows its reader by; it raises
            StoreError where it cannot.
    """

    def __init__(self, absent: tuple[Seat, ...], enrol: Callable[[str], str | None]) -> None:
        self._absent, self._enrol = absent, enrol
        self._there: tuple[Seat, ...] = ()
        self._offered: list[Seat] = []
        self._place = 0
        self._words: str | None = None  # what is typed
        self._complaint = ""  # about that
        self._unlisted = ""  # whose name the class could not take

    @property
    def choosing(self) -> bool:
        """Whether one is being chosen or typed."""
        return bool(self._offered)

    @property
    def typing(self) -> bool:
        """Whether letters are those of a name now."""
        return self._words is not None

    def choose(self, there: Iterable[Seat]) -> None:
        """Begin to choose among those who are not there; a seat with no name comes last."""
        self.drop()
        self._there = tuple(there)
        members = {seat.member for seat in self._there if seat.member is not None}
        free, taken = self._free, self._taken
        self._offered = [
            seat if seat.number not in taken else replace(seat, number=free)
            for seat in self._absent
            if seat.member not in members
        ]
        self._offered.append(Seat(free))

    @property
    def _taken(self) -> set[int]:
        return {seat.number for seat in self._there}

    @property
    def _free(self) -> int:
        """A number that no seat has had, also none that was left out."""
        return max(self._taken, default=0) + 1

    def take(self) -> Seat | None:
        """The one who is chosen or typed; None where nobody is, or cannot be."""
        if not self._offered:
            return None
        seat = self._offered[self._place] if self._words is None else self._typed(self._words)
        if seat is not None:
            self.drop()
        return seat

    def _typed(self, words: str) -> Seat | None:
        words = " ".join(words.split())
        if words.isdecimal():
            number = int(words)
            if not 1 <= number <= MOST_NUMBER:
                self._complaint = _("A number from 1 to {n}").format(n=MOST_NUMBER)
            elif number in self._taken:
                self._complaint = _("Seat {n} is taken").format(n=number)
            else:
                return Seat(number)
            return None
        try:
            name = clean_name(words)
        except NameRefused:
            self._complaint = _("A name, or the number of a seat")
            return None
        if any(folded(seat.name) == folded(name) for seat in self._there):
            self._complaint = _("{name} is here already").format(name=name)
            return None
        for seat in self._offered:
            if folded(seat.name) == folded(name):
                return seat
        if self._unlisted == name:
            return Seat(self._free, name)
        try:
            return Seat(self._free, name, self._enrol(name))
        except StoreError:
            self._unlisted = name
            words = _("Class out of reach. Enter: {name} in this heat only")
            self._complaint = words.format(name=_end(name))
            return None

    def drop(self) -> None:
        """Choose nobody."""
        self._offered, self._place, self._words = [], 0, None
        self._complaint = self._unlisted = ""

    # What the teacher sees and does

    def said(self, composing: str) -> tuple[str, bool]:
        """What is asked, with what is being put together, and whether it is a complaint."""
        if self._complaint:
            return self._complaint, True
        if self._words is None:
            return _("Late: {name}").format(name=called(self._offered[self._place])), False
        words = _end(self._words + composing) or _("name or number")
        return _("Late: {name}").format(name=f"{words} ▏"), False

    def does(self, take_in: Callable[[], None]) -> list[Does]:
        """What the teacher can do now."""
        if self._words is not None:
            return [
                Does(_("Take in"), "Enter", take_in),
                Does(_("Nobody"), "Esc", self.drop),
            ]
        name = called(self._offered[self._place])
        return [
            Does(_("Take in {name}").format(name=name), "Enter", take_in),
            Does(_("Somebody else"), "→", lambda: self._turn(1)),
            Does(_("Type a name"), _("Tab"), self._type),
            Does(_("Nobody"), "Esc", self.drop),
        ]

    def key(self, event: pygame.event.Event, take_in: Callable[[], None]) -> None:
        """A key went down while one is being chosen."""
        enter = event.key in (pygame.K_RETURN, pygame.K_KP_ENTER)
        if event.key == pygame.K_ESCAPE:
            self.drop()
        elif enter or (event.key == pygame.K_SPACE and self._words is None):
            self._complaint = ""
            take_in()
        elif self._words is not None:
            if pastes(event):
                self.text_typed(pasted())
            elif event.key == pygame.K_BACKSPACE:
                self._words, self._complaint = self._words[:-1], ""
        elif event.key == pygame.K_TAB:
            self._type()
        elif event.key in (pygame.K_RIGHT, pygame.K_DOWN):
            self._turn(1)
        elif event.key in (pygame.K_LEFT, pygame.K_UP):
            self._turn(-1)

    def text_typed(self, words: str) -> None:
        """Characters more of a name."""
        if self._words is not None and words.isprintable():
            self._words, self._complaint = (self._words + words)[:_LONGEST], ""

    def _turn(self, by: int) -> None:
        self._place = (self._place + by) % len(self._offered)

    def _type(self) -> None:
        self._words = ""


def _end(words: str) -> str:
    """The end of what is typed, as much as can be seen on the strip."""
    return words if len(words) <= _SEEN else f"…{words[-_SEEN:]}"
