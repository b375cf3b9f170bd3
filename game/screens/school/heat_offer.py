# SPDX-License-Identifier: MIT
"""Offers a heat that was broken off: go on with it, or discard it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pygame

from game.screens import theme
from game.screens.asked_twice import AskedTwice
from game.screens.school.classes import heat_words
from game.screens.screen import Screen
from game.screens.text import _
from game.screens.widgets import Canvas, Control, Rect
from game.store import KeptHeat

if TYPE_CHECKING:
    from game.screens.stage import Stage

_FRESH = timedelta(hours=1)  # begun so lately, it may be under way in another window or room


class HeatOffer(Screen):
    """Stateful: one unfinished heat, and whether it was asked for to be discarded."""

    name = "heat-offer"

    def __init__(self, stage: Stage, heat: KeptHeat, behind: Callable[[], None]) -> None:
        """
        Args:
            stage: the running game.
            heat: without its lines.
            behind: goes to where it was chosen.
        """
        super().__init__(stage)
        self._heat, self._behind = heat, behind
        self._twice = AskedTwice(stage.now)
        self._fresh = abs(datetime.now(UTC) - heat.started) < _FRESH

    @property
    def _asked(self) -> bool:
        return self._twice.open is not None

    def wait(self, now: float) -> float | None:
        return self._twice.left

    def layout(self, canvas: Canvas) -> list[Control]:
        if self.focus != "discard":
            self._twice.drop()  # whoever turns to something else has thought better of it
        px, gap = canvas.px, canvas.px(20)
        width = min(px(260), (canvas.width - px(80)) // 3 - gap)
        x, y = (canvas.width - 3 * width - 2 * gap) // 2, round(canvas.height * 0.6)
        words = _("Sure? Discard it") if self._asked else _("Discard it")
        items = (
            ("resume", _("Go on with it"), self._resume, "primary"),
            ("discard", words, self._discard, "button"),
            ("back", _("Back"), self.back, "button"),
        )
        return [
            Control(name, Rect(x + at * (width + gap), y, width, px(52)), label, act, style)
            for at, (name, label, act, style) in enumerate(items)
        ]

    def paint(self, canvas: Canvas) -> None:
        px, middle, wide = canvas.px, canvas.width // 2, canvas.width - canvas.px(80)
        y = round(canvas.height * 0.3)
        title = _("A heat was broken off")
        canvas.text(title, (middle, y), size=36, face="title", anchor="center", width=wide)
        words = heat_words(self._heat, self.stage.today)
        canvas.text(words, (middle, y + px(60)), size=20, anchor="center", width=wide)
        said, colour = _("Nothing that was answered is lost."), theme.MUTED
        if self._fresh:
            said = _("It was begun within the hour: if it is open in another window, go on there.")
        if self._asked:
            said, colour = _("It stays in the store, and is not offered again."), theme.WRONG
        canvas.text(said, (middle, y + px(92)), size=18, colour=colour, anchor="center", width=wide)
        canvas.hints(self.menu_hints())

    def key(self, event: pygame.event.Event) -> None:
        if event.key not in (pygame.K_RETURN, pygame.K_KP_ENTER, pygame.K_SPACE, pygame.K_ESCAPE):
            self._twice.drop()
        super().key(event)

    def back(self) -> None:
        if self._asked:
            self._twice.drop()
        else:
            self._behind()

    def _resume(self) -> None:
        self.stage.classroom.resume(self._heat)

    def _discard(self) -> None:
        if not self._twice.sure("discard"):
            return
        self.stage.store.school.discard_heat(self._heat.uuid)
        self._behind()
