# SPDX-License-Identifier: MIT
"""All that there is to say of a list, where it is more than a line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from game.ui.list_page import ListPage
from game.ui.widgets import Control
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.screen import Screen
    from game.ui.stage import Stage


class MessagePage(ListPage):
    """Stateful: lines to read."""

    name = "told"
    narrow = 900
    high = 27
    top = 84

    def __init__(self, stage: Stage, title: str, lines: Sequence[str], behind: Screen) -> None:
        super().__init__(stage)
        self._title, self._lines, self._behind = title, tuple(lines), behind

    @property
    def title(self) -> str:
        return self._title

    def rows(self) -> list[Control]:
        return [self.words(line) for line in self._lines]

    def feet(self) -> list[Control]:
        return [self.button("back", _("Back"), self.back, "primary")]

    def leave_page(self) -> None:
        self.stage.go.show(self._behind)
