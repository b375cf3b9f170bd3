# SPDX-License-Identifier: MIT
"""A page of several sheets, one of them in view: a title, tabs, what is on the sheet, buttons."""

from __future__ import annotations

from abc import abstractmethod
from functools import partial
from typing import TYPE_CHECKING

from game.ui import theme
from game.ui.button_row import at_head, button, in_rows
from game.ui.screen import Screen
from game.ui.scroll import Scroll
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage

_TITLE = 430  # width of a title that the tabs leave beside them, of a window of 1280
_SAID = 15


class Tabbed(Screen):
    """Stateful: which sheet is in view, how far it is scrolled, and what was done last.

    Args:
        stage: as for all screens.
        tabs: id and title of each sheet.
    """

    def __init__(self, stage: Stage, tabs: tuple[tuple[str, str], ...]) -> None:
        super().__init__(stage)
        self._tabs = tabs
        self._tab = tabs[0][0]
        self._message = ""
        (self._sheet,) = self.lists = (Scroll(),)
        self._said_at = self._title_wide = 0
        self._below = 0  # y of the line below the title

    # What a subclass gives

    @property
    @abstractmethod
    def title(self) -> str:
        """Of the page."""

    @property
    @abstractmethod
    def below_title(self) -> str:
        """A quiet line under it."""

    @abstractmethod
    def sheet(self, canvas: Canvas, room: Rect) -> list[Control]:
        """What is on the sheet in view, laid out from the top of a room on."""

    @abstractmethod
    def feet(self) -> list[Control]:
        """The buttons below."""

    def above_feet(self, canvas: Canvas, rect: Rect) -> list[Control]:
        """A row between the sheet and the buttons; none unless a subclass has one."""
        return []

    # The page

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        tabs = [
            button(f"tab-{name}", title, partial(self._open, name), "quiet")
            for name, title in self._tabs
        ]
        title = min(theme.text_width(self.title, "title", px(30)), px(_TITLE))
        beside = at_head(canvas, tabs, title) < px(62)
        self._title_wide = (tabs[0].rect.left - px(20) if beside else canvas.width - px(40)) - px(
            40
        )
        self._below = px(62) if beside else tabs[-1].rect.bottom + px(6)
        room = Rect(px(40), self._below + px(34), canvas.width - px(80), 0)
        feet = self.feet()
        end = in_rows(canvas, feet, Rect(room.x, 0, room.width, canvas.height - px(60)), least=160)
        self._said_at = end = end - px(12) - px(20) * len(self._said(canvas, room.width))
        row = self.above_feet(canvas, Rect(room.x, end - px(36), room.width, px(36)))
        room.height = end - (px(44) if row else 0) - room.y
        view = Rect(room.topleft, (room.width + px(20), room.height))  # with the bar beside it
        rows = self._sheet.place(canvas, self.sheet(canvas, room), view, self.focus)
        return [*tabs, *rows, *row, *feet]

    def _said(self, canvas: Canvas, width: int) -> list[str]:
        return theme.broken(self._message, "text", canvas.px(_SAID), width)

    def paint(self, canvas: Canvas) -> None:
        px, wide = canvas.px, canvas.width - canvas.px(80)
        at = px(40), px(40)
        canvas.text(self.title, at, size=30, face="title", anchor="midleft", width=self._title_wide)
        at = px(40), self._below
        canvas.text(self.below_title, at, colour=theme.MUTED, width=wide)
        tab = next(one for one in self.controls if one.id == f"tab-{self._tab}").rect
        line = Rect(tab.x + px(8), tab.bottom, tab.width - px(16), px(3))
        canvas.surface.fill(theme.ACCENT, line)
        for number, words in enumerate(self._said(canvas, wide)):
            canvas.text(words, (px(40), self._said_at + px(2) + number * px(20)), size=_SAID)
        canvas.hints(self.menu_hints())

    @property
    def turns(self) -> str:
        return _("page")

    def turn_page(self, by: int) -> None:
        """A page of the sheet, or where it is whole, the next sheet."""
        if self._sheet.long:
            super().turn_page(by)
            return
        names = [name for name, _title in self._tabs]
        self._open(names[(names.index(self._tab) + by) % len(names)])
        self.focus = f"tab-{self._tab}"

    def _open(self, tab: str) -> None:
        self._tab, self._message = tab, ""
