# SPDX-License-Identifier: MIT
"""Offers a round that was broken off: go on with it, or discard it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from game.dates import local, moment_words
from game.rounds import Round
from game.screens import theme
from game.screens.asked_twice import AskedTwice
from game.screens.screen import Screen
from game.screens.text import _
from game.screens.widgets import Canvas, Control, Rect
from game.store import Record

if TYPE_CHECKING:
    from game.screens.stage import Stage


_FRESH_S = 120.0  # a round played so lately may be under way in another copy of the game


class ResumeOffer(Screen):
    """Stateful: one unfinished round of the reader."""

    name = "resume"

    def __init__(self, stage: Stage, record: Record, state: Round) -> None:
        super().__init__(stage)
        self._record = record
        self._title = record.terms.level().title
        self._answered = len(state.results)
        self._reached = stage.compass.reaches(state.prompts[state.prompt :])
        self._twice = AskedTwice(stage.now)
        last = record.started.timestamp() + max((event.t for event in record.events), default=0.0)
        self._fresh = abs(datetime.now(UTC).timestamp() - last) < _FRESH_S

    @property
    def _asked(self) -> bool:
        return self._twice.open is not None

    def wait(self, now: float) -> float | None:
        return self._twice.left

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        if self.focus != "discard":
            self._twice.drop()  # whoever turns to something else has thought better of it
        discard = _("Sure? Discard it") if self._asked else _("Discard it")
        width, middle, y = px(250), canvas.width // 2, round(canvas.height * 0.58)
        return [
            Control(
                "resume",
                Rect(middle - width - px(10), y, width, px(52)),
                _("Go on with it"),
                self._resume,
                "primary",
            ),
            Control("discard", Rect(middle + px(10), y, width, px(52)), discard, self._discard),
        ]

    def paint(self, canvas: Canvas) -> None:
        px, middle = canvas.px, canvas.width // 2
        y = round(canvas.height * 0.3)
        canvas.text(
            _("A round was broken off"), (middle, y), size=36, face="title", anchor="center"
        )
        words = _("{level}: {done} answered, {when}.").format(
            level=self._title,
            done=self._answered,
            when=moment_words(local(self._record.started), self.stage.today),
        )
        canvas.text(
            words, (middle, y + px(60)), size=20, anchor="center", width=canvas.width - px(80)
        )
        said, colour = _("Nothing that you answered is lost."), theme.MUTED
        if not self._reached:
            said = _("Your keyboard lacks some of its keys. Nothing that you answered is lost.")
        if self._fresh:
            said = _("It was played a moment ago: if it is open in another window, go on there.")
        if self._asked:
            said, colour = _("What you answered in it will not count."), theme.WRONG
        canvas.text(said, (middle, y + px(92)), size=18, colour=colour, anchor="center")
        canvas.hints(self.menu_hints())

    def back(self) -> None:
        if self._asked:
            self._twice.drop()
        else:
            self.stage.open_readers()

    def _resume(self) -> None:
        self.stage.resume(self._record)

    def _discard(self) -> None:
        if not self._twice.sure("discard"):
            return
        self.stage.store.discard(self._record.id)
        assert self.stage.visit.reader is not None
        self.stage.greet(self.stage.visit.reader)
