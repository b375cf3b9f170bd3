# SPDX-License-Identifier: MIT
"""Offers what was broken off, and says so where it is under way somewhere else."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import TYPE_CHECKING

import pygame

from game.store import SignOfLife, StoreError
from game.ui import theme
from game.ui.asked_twice import AskedTwice
from game.ui.screen import Screen
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage

_ASKING = "resume", "discard"


class Offer(Screen, ABC):
    """Stateful: a round or heat that has no end yet, and what was asked about it."""

    broken_off = under_way_now = lost = ""
    """The titles; and what comes of discarding it."""

    def __init__(self, stage: Stage, target: str) -> None:
        """
        Args:
            stage: the running game.
            target: as the store's signs of life name it.
        """
        super().__init__(stage)
        self._target = target
        self._sign = self._look()
        self._twice = AskedTwice(stage.clock.now)

    def _look(self) -> SignOfLife | None:
        try:
            return self.stage.store.life.signs([self._target]).get(self._target)
        except StoreError:
            return None

    @property
    def _elsewhere(self) -> bool:
        return self._sign is not None and self._sign.alive

    @property
    @abstractmethod
    def words(self) -> str:
        """Which it is."""

    @property
    def comfort(self) -> str:
        """What is said below it while nothing is asked."""
        return _("Nothing that was answered is lost.")

    @abstractmethod
    def resume(self) -> None:
        """Go on with it."""

    @abstractmethod
    def discard(self) -> None:
        """Offer it no more."""

    @abstractmethod
    def behind(self) -> None:
        """Leave it as it is."""

    def wait(self, now: float) -> float | None:
        return self._twice.left

    def layout(self, canvas: Canvas) -> list[Control]:
        if self.focus not in _ASKING:
            self._twice.drop()  # whoever turns to something else has thought better of it
        items = [
            ("resume", _("Go on with it"), self._resume),
            ("discard", _("Discard it"), self._discard),
        ]
        if self._elsewhere:
            items = [("resume", _("Take it over"), self._resume)]
        items.append(("back", _("Back"), self.back))
        if self._elsewhere:
            items.reverse()
        px, gap = canvas.px, canvas.px(20)
        width = min(px(260), (canvas.width - px(80)) // len(items) - gap)
        x = (canvas.width - len(items) * (width + gap) + gap) // 2
        return [
            Control(
                name,
                Rect(x + at * (width + gap), round(canvas.height * 0.6), width, px(52)),
                _("Sure? {what}").format(what=label) if self._twice.open == name else label,
                act,
                "button" if at else "primary",
            )
            for at, (name, label, act) in enumerate(items)
        ]

    def paint(self, canvas: Canvas) -> None:
        px, middle, wide = canvas.px, canvas.width // 2, canvas.width - canvas.px(80)
        y = round(canvas.height * 0.3)
        title = self.under_way_now if self._elsewhere else self.broken_off
        canvas.text(title, (middle, y), size=36, face="title", anchor="center", width=wide)
        canvas.text(self.words, (middle, y + px(60)), size=20, anchor="center", width=wide)
        said, colour = self.comfort, theme.MUTED
        if self._sign is not None:
            said = _("It is played {where}. If you take it over, it stops there.")
            if not self._elsewhere:
                said = _("It was played {where}, which closed without saving its place.")
            said = said.format(where=where_words(self._sign))
        if self._twice.open == "discard":
            said, colour = self.lost, theme.WRONG
        canvas.text(said, (middle, y + px(92)), size=18, colour=colour, anchor="center", width=wide)
        canvas.hints(self.menu_hints())

    def key(self, event: pygame.event.Event) -> None:
        if event.key not in (pygame.K_RETURN, pygame.K_KP_ENTER, pygame.K_SPACE, pygame.K_ESCAPE):
            self._twice.drop()
        super().key(event)

    def back(self) -> None:
        if self._twice.open is not None:
            self._twice.drop()
        else:
            self.behind()

    def _resume(self) -> None:
        was, self._sign = self._elsewhere, self._look()
        if was and not self._twice.sure("resume"):
            return
        if self._elsewhere and not was:
            return  # somebody has just gone on with it: the page says so now
        self.resume()

    def _discard(self) -> None:
        if self._twice.sure("discard"):
            self.discard()


def where_words(sign: SignOfLife | None) -> str:
    """Where something is played."""
    if sign is None:
        return _("somewhere else")
    if sign.here:
        return _("in another window on this computer")
    return _("on the computer {name}").format(name=sign.computer)
