# SPDX-License-Identifier: MIT
"""The question before the game is closed while something that was played is on no disk."""

from __future__ import annotations

from typing import TYPE_CHECKING

from game.ui import theme
from game.ui.screen import Screen
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage


class NotKept(Screen):
    """Stateful: shown until what waits is kept, or is given up."""

    name = "not-kept"

    def __init__(self, stage: Stage, behind: Screen) -> None:
        """
        Args:
            stage: the running game, in whose store something waits.
            behind: the screen that was in view.
        """
        super().__init__(stage)
        self._behind = behind
        self._tried = False

    @property
    def _waits(self) -> bool:
        return self.stage.store.unsaved > 0

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        column = self._column(canvas)
        y, wide, high, gap = canvas.height - px(130), px(230), px(52), px(20)
        rects = [Rect(column.x + number * (wide + gap), y, wide, high) for number in range(3)]
        if not self._waits:
            return [
                Control("close", rects[0], _("Close"), self.stage.go.close, "primary"),
                Control("back", rects[1], _("Go back"), self.back),
            ]
        return [
            Control("again", rects[0], _("Try again"), self._again, "primary"),
            Control("back", rects[1], _("Go back"), self.back),
            Control("close", rects[2], _("Close and lose it"), self.stage.go.close),
        ]

    @staticmethod
    def _column(canvas: Canvas) -> Rect:
        width = min(canvas.px(860), canvas.width - canvas.px(80))
        return Rect((canvas.width - width) // 2, 0, width, canvas.height)

    def paint(self, canvas: Canvas) -> None:
        px, column = canvas.px, self._column(canvas)
        title = _("Not everything is kept yet") if self._waits else _("Now everything is kept")
        canvas.text(title, (column.x, px(96)), size=38, face="title", anchor="midleft")
        if self._waits:
            y = canvas.paragraph(
                self.stage.store.waits or "", (column.x, px(150)), column.width, size=21
            )
            words = _(
                "If the game is closed now, this is lost. It is tried again every few seconds, as "
                "long as the game is open."
            )
            y = canvas.paragraph(words, (column.x, y + px(14)), column.width, size=21)
            if self._tried:
                words = _("Tried again: not yet.")
                canvas.text(
                    words, (column.x, y + px(18)), size=18, face="strong", colour=theme.WRONG
                )
        canvas.hints(self.menu_hints())

    def _again(self) -> None:
        self.stage.keeper.try_again(at_once=True)
        self._tried = True

    def back(self) -> None:
        self.stage.go.show(self._behind)
