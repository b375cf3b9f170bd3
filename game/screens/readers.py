# SPDX-License-Identifier: MIT
"""The first page: who is reading."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import pygame

from game.screens import theme
from game.screens.screen import Screen
from game.screens.text import _
from game.screens.widgets import Canvas, Control, Rect
from game.store import StoreError

if TYPE_CHECKING:
    from game.screens.stage import Stage

_LONGEST = 40


class Readers(Screen):
    """Stateful: the list of readers, and the line where a new name is typed."""

    name = "readers"

    def __init__(self, stage: Stage) -> None:
        super().__init__(stage)
        self._typing: str | None = None
        self._offered = False  # the name was not typed: the first key replaces it
        self._note = ""
        self._first = 0
        try:
            self._readers = stage.store.readers()
        except StoreError as error:
            self._readers, self._note = (), str(error)

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        width = min(px(520), canvas.width - px(80))
        x, y, row = (canvas.width - width) // 2, px(250), px(46)
        if self._typing is not None:
            half = (width - px(16)) // 2
            top = y + px(70)
            return [
                Control(
                    "keep", Rect(x, top, half, px(48)), _("Use this name"), self._keep, "primary"
                ),
                Control("drop", Rect(x + half + px(16), top, half, px(48)), _("Back"), self.back),
            ]
        items = [
            Control(
                f"reader-{reader.id}",
                Rect(x, 0, width, row),
                reader.name,
                partial(self.stage.greet, reader),
                "row",
            )
            for reader in self._readers
        ]
        items.append(
            Control("new", Rect(x, 0, width, row), _("New reader"), self._new, "row", mark="+")
        )
        room = max(2, (canvas.height - px(120) - y) // row)
        place = next((n for n, item in enumerate(items) if item.id == self.focus), 0)
        self._first = max(0, min(self._first, place, len(items) - room))
        self._first = max(self._first, place - room + 1)
        for number, item in enumerate(items):
            item.rect.y = y + (number - self._first) * row
        visible = items[self._first : self._first + room]
        foot, third = canvas.height - px(92), width // 3
        visible.append(
            Control("help", Rect(x, foot, third, px(36)), _("Help"), self.stage.open_help, "quiet")
        )
        visible.append(
            Control(
                "settings",
                Rect(x + third, foot, third, px(36)),
                _("Settings"),
                self.stage.open_settings,
                "quiet",
            )
        )
        visible.append(
            Control(
                "quit",
                Rect(x + 2 * third, foot, third, px(36)),
                _("Close"),
                self.stage.quit,
                "quiet",
            )
        )
        return visible

    def paint(self, canvas: Canvas) -> None:
        px, middle = canvas.px, canvas.width // 2
        canvas.text("Stavewise", (middle, px(84)), size=56, face="title", anchor="center")
        canvas.text(
            _("Read the note, press the key."),
            (middle, px(136)),
            size=20,
            face="serif",
            colour=theme.MUTED,
            anchor="center",
        )
        if self._typing is not None:
            canvas.text(
                _("What is your name?"), (middle, px(212)), size=24, face="title", anchor="center"
            )
            field = Rect(0, 0, min(px(520), canvas.width - px(80)), px(52))
            field.midtop = (middle, px(244))
            canvas.panel(field)
            canvas.text(
                self._typing + "▏",
                (field.x + px(14), field.centery),
                size=22,
                anchor="midleft",
                width=field.width - px(28),
            )
        else:
            canvas.text(
                _("Who is reading?"), (middle, px(212)), size=24, face="title", anchor="center"
            )
        notice = self._note or next(iter(self.stage.visit.notices), "")
        if notice:
            lines = theme.wrapped(notice, "text", px(16), canvas.width - px(120))
            for number, line in enumerate(lines[:2]):
                canvas.text(
                    line,
                    (middle, px(166) + number * px(20)),
                    size=16,
                    face="strong",
                    colour=theme.WRONG,
                    anchor="center",
                )
        canvas.hints(self.menu_hints(), message=self.stage.keyboard_line)

    def key(self, event: pygame.event.Event) -> None:
        if self._typing is not None and event.key == pygame.K_BACKSPACE:
            self._typing = "" if self._offered else self._typing[:-1]
            self._offered = False
        elif self._typing is not None and event.key == pygame.K_SPACE:
            pass  # arrives as text
        else:
            super().key(event)

    def text_typed(self, words: str) -> None:
        if self._typing is not None and words.isprintable():
            before, self._offered = "" if self._offered else self._typing, False
            self._typing = (before + words)[:_LONGEST]

    def back(self) -> None:
        if self._typing is None:
            self.stage.quit()
        else:
            self._typing, self._note = None, ""

    def _new(self) -> None:
        """A name is there already, so that a piano alone is enough."""
        taken = {reader.name for reader in self.stage.store.readers(include_archived=True)}
        number = 1
        while _("Reader {number}").format(number=number) in taken:
            number += 1
        self._typing = _("Reader {number}").format(number=number)
        self._offered = True

    def _keep(self) -> None:
        name = " ".join((self._typing or "").split())
        try:
            reader = self.stage.store.add_reader(name)
        except (ValueError, StoreError) as error:
            self._note = str(error)
            return
        self.stage.greet(reader)
