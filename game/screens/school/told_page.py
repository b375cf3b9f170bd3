# SPDX-License-Identifier: MIT
"""All that there is to say of a list, where it is more than a line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from game.screens import theme
from game.screens.school.list_page import ListPage
from game.screens.text import _
from game.screens.widgets import Canvas, Control

if TYPE_CHECKING:
    from game.screens.screen import Screen
    from game.screens.stage import Stage


class Told(ListPage):
    """Stateful: lines to read, as many as there is room for."""

    name = "told"
    narrow = 900

    def __init__(self, stage: Stage, title: str, lines: Sequence[str], behind: Screen) -> None:
        super().__init__(stage)
        self._title, self._lines, self._behind = title, tuple(lines), behind

    @property
    def title(self) -> str:
        return self._title

    def feet(self) -> list[Control]:
        return [self.button("back", _("Back"), self.back, "primary")]

    def leave_page(self) -> None:
        self.stage.show(self._behind)

    def paint(self, canvas: Canvas) -> None:
        super().paint(canvas)
        area = self._area(canvas)
        y, end = canvas.px(92), area.bottom - canvas.px(30)
        for number, line in enumerate(self._lines):
            height = len(theme.wrapped(line, "text", canvas.px(17), area.width)) * canvas.px(24)
            if y + height > end:
                more = _("and {n} more").format(n=len(self._lines) - number)
                canvas.text(more, (area.x, y), size=17, colour=theme.MUTED)
                return
            y = canvas.paragraph(line, (area.x, y), area.width, size=17) + canvas.px(5)
