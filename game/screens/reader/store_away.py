# SPDX-License-Identifier: MIT
"""The store cannot be opened: why, and the choice to try again, to play unsaved or to quit."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from game.store import StoreError, Unreachable
from game.ui import theme
from game.ui.button_row import button, in_rows
from game.ui.screen import Screen
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage


class StoreAway(Screen):
    """Stateful: shown instead of the game while there is no store to play with."""

    name = "store-away"

    def __init__(
        self,
        stage: Stage,
        error: StoreError,
        again: Callable[[], StoreError | None],
        unsaved: Callable[[], None],
    ) -> None:
        """
        Args:
            stage: the running game, whose store is not to be asked for anything.
            error: why the store cannot be opened.
            again: tries once more; it goes on into the game, or returns why it cannot.
            unsaved: goes on into a game that keeps nothing.
        """
        super().__init__(stage)
        self.error = error
        self._again, self._unsaved = again, unsaved
        self._tries = self._drawn = False
        self._tried = ""  # when it was tried last, as shown

    def layout(self, canvas: Canvas) -> list[Control]:
        label = _("Trying …") if self._tries else _("Try again")
        buttons = [
            button("again", label, self._try, "primary"),
            button("unsaved", _("Play without saving"), self._unsaved),
            button("quit", _("Quit"), self.back),
        ]
        room = self._column(canvas)
        room.height = canvas.height - canvas.px(78)
        in_rows(canvas, buttons, room, least=200)
        return buttons

    @staticmethod
    def _column(canvas: Canvas) -> Rect:
        width = min(canvas.px(860), canvas.width - canvas.px(80))
        return Rect((canvas.width - width) // 2, 0, width, canvas.height)

    def paint(self, canvas: Canvas) -> None:
        px, column = canvas.px, self._column(canvas)
        away = isinstance(self.error, Unreachable)
        title = _("The server is away") if away else _("The store cannot be opened")
        canvas.text(
            title, (column.x, px(96)), size=38, face="title", anchor="midleft", width=column.width
        )
        y = px(150)
        for line in theme.broken(self.error.place, "strong", px(19), column.width):
            canvas.text(line, (column.x, y), size=19, face="strong", colour=theme.WRONG)
            y += px(27)
        what = self.error.what
        words = f"{what[:1].upper()}{what[1:]}."
        y = canvas.paragraph(words, (column.x, y + px(10)), column.width, size=21)
        y = canvas.paragraph(self.error.mend, (column.x, y + px(14)), column.width, size=21)
        words = _("Nothing saved so far is lost. Until this is mended, no round can be saved.")
        y = canvas.paragraph(
            words, (column.x, y + px(14)), column.width, size=18, colour=theme.MUTED
        )
        if self._tried and not self._tries:
            words = _("Tried again at {time}: not yet.").format(time=self._tried)
            canvas.text(words, (column.x, canvas.height - px(172)), size=18, face="strong")
        canvas.hints(self.menu_hints())

    def _try(self) -> None:
        self._tries, self._drawn = True, False

    def shown(self, now: float) -> None:
        self._drawn = self._tries  # a server that hangs takes seconds: the button says so first

    def wait(self, now: float) -> float | None:
        return 0.0 if self._tries else None

    def tick(self, now: float) -> None:
        if not (self._tries and self._drawn):
            return
        error = self._again()
        self._tries = False
        if error is not None:
            self.error, self._tried = error, datetime.now().strftime("%H:%M:%S")

    def dropped(self, path: Path) -> bool:
        return True  # there is nothing yet to take it

    def back(self) -> None:
        self.stage.go.quit()

    @property
    def back_says(self) -> str:
        return _("quit")
