# SPDX-License-Identifier: MIT
"""A page that is a list: rows that scroll with the focus, things to do beside and below them."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pygame

from game.screens import theme
from game.screens.clipboard import pasted, pastes
from game.screens.screen import Screen
from game.screens.text import _
from game.screens.widgets import Canvas, Control, Rect
from game.store import StoreError

if TYPE_CHECKING:
    from game.screens.stage import Stage

LONGEST = 60  # characters of a name that is typed


class Field:
    """Stateful: a line being typed.

    Args:
        asks: what is typed here.
        keep: called with the line, its blanks tidied, when Enter is pressed. It returns a
            complaint, or nothing.
        words: what stands there at first.
        again: after a line was kept, the next one can be typed.
        digits: only these may be typed.
        longest: how many characters.
        does: what Enter does, in a word or two.
    """

    def __init__(
        self,
        asks: str,
        keep: Callable[[str], str],
        words: str = "",
        *,
        again: bool = False,
        digits: bool = False,
        longest: int = LONGEST,
        does: str = "",
    ) -> None:
        self.asks, self.words, self.again = asks, words, again
        self._keep, self._digits, self._longest = keep, digits, longest
        self.does = does or (_("Add") if again else _("Keep"))

    def typed(self, words: str) -> None:
        """Characters more."""
        if words.isprintable() and (words.isdigit() or not self._digits):
            self.words = (self.words + words)[: self._longest]

    def keep(self) -> str:
        """Hand the line over; the complaint about it, if any."""
        tidy = self._longest == LONGEST  # a path may have two blanks together
        complaint = self._keep(" ".join(self.words.split()) if tidy else self.words.strip())
        if not complaint:
            self.words = ""
        return complaint


class ListPage(Screen):
    """Stateful: a list with what can be done with it. A subclass gives its rows and words."""

    narrow = 720  # width of the list, of a window of 1280
    high = 42  # height of a row, of a window 720 high
    columns = 1

    def __init__(self, stage: Stage) -> None:
        super().__init__(stage)
        self.field: Field | None = None
        self.note = ""  # what went wrong, or what was done
        self.good = False  # whether the note is of something done
        self.unread: StoreError | None = None  # why the list could not be read
        self._first = 0

    # What a subclass gives

    @property
    def title(self) -> str:
        """What is on the page."""
        return ""

    @property
    def below_title(self) -> str:
        """A quiet line under it."""
        return ""

    def read(self) -> None:
        """Read from the store what is listed.

        Raises:
            StoreError: it cannot be read.
        """

    @property
    def empty(self) -> str:
        """What stands in the place of rows while there are none."""
        return ""

    def rows(self) -> list[Control]:
        """The list; the page places them."""
        return []

    def beside(self) -> list[Control]:
        """What can be done; shown to the right of the list."""
        return []

    def feet(self) -> list[Control]:
        """The buttons below."""
        return []

    def enter(self) -> None:
        self.look_again()

    def look_again(self) -> None:
        """Read the list; where that fails, the page says so and offers to try again."""
        try:
            self.read()
        except StoreError as error:
            self.unread = error
            self.say(str(error))
            return
        if self.unread is not None:
            self.unread, self.note = None, ""

    # Layout

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        area = self._area(canvas)
        if self.field is not None:
            top, half = area.y + px(112), px(200)
            keep = Rect(area.x, top, half, px(46))
            drop = Rect(area.x + half + px(16), top, half, px(46))
            return [
                Control("keep", keep, self.field.does, self._keep, "primary"),
                Control("drop", drop, _("Done") if self.field.again else _("Back"), self.back),
            ]
        return [*self._rows(canvas, area), *self._beside(canvas, area), *self._feet(canvas, area)]

    def _area(self, canvas: Canvas) -> Rect:
        """The list and what is beside it."""
        px = canvas.px
        wide = px(self.narrow) + (px(300) if self.beside() else 0)
        width = min(wide, canvas.width - px(80))
        top, bottom = px(138), canvas.height - px(120)
        return Rect((canvas.width - width) // 2, top, width, bottom - top)

    def _list(self, canvas: Canvas, area: Rect) -> Rect:
        side = canvas.px(300) if self.beside() else 0
        return Rect(area.x, area.y, area.width - side, area.height)

    def _rows(self, canvas: Canvas, area: Rect) -> list[Control]:
        px, rows = canvas.px, self.rows()
        if self.unread is not None:
            rows.insert(0, self.row("again", _("Try again"), self.look_again, mark="›"))
        space, row, gap = self._list(canvas, area), px(self.high), px(16)
        room = max(2, space.height // row)  # lines
        width = (space.width - gap * (self.columns - 1)) // self.columns
        place = next((n for n, item in enumerate(rows) if item.id == self.focus), 0)
        line, lines = place // self.columns, -(-len(rows) // self.columns)
        self._first = max(0, min(self._first, line, lines - room))
        self._first = max(self._first, line - room + 1)
        for number, item in enumerate(rows):
            down, right = divmod(number, self.columns)
            x = space.x + right * (width + gap)
            item.rect = Rect(x, space.y + (down - self._first) * row, width, row)
        first = self._first * self.columns
        self._hidden = first, max(0, len(rows) - first - room * self.columns)
        return rows[first : first + room * self.columns]

    _hidden = (0, 0)

    def _beside(self, canvas: Canvas, area: Rect) -> list[Control]:
        px, items = canvas.px, self.beside()
        for number, item in enumerate(items):
            item.rect = Rect(area.right - px(268), area.y + number * px(42), px(268), px(42))
        return items

    def _feet(self, canvas: Canvas, area: Rect) -> list[Control]:
        px, x, items = canvas.px, area.x, self.feet()
        for item in items:
            wide = theme.text_width(item.label, "strong", px(18)) + px(44)
            item.rect = Rect(x, canvas.height - px(104), max(px(150), wide), px(46))
            x = item.rect.right + px(16)
        return items

    def paint(self, canvas: Canvas) -> None:
        px, area = canvas.px, self._area(canvas)
        sizes = (34, 30, 26, 22)  # a long name is smaller before it is cut
        fit = (s for s in sizes if theme.text_width(self.title, "title", px(s)) <= area.width)
        canvas.text(
            self.title,
            (area.x, px(48)),
            size=next(fit, sizes[-1]),
            face="title",
            anchor="midleft",
            width=area.width,
        )
        words, colour = self.below_title, theme.MUTED
        if self.note:
            words, colour = self.note, theme.ACCENT if self.good else theme.WRONG
        lines = theme.wrapped(words, "text", px(17), area.width) if words else []
        if len(lines) > 2:
            lines = [lines[0], theme.fitted(" ".join(lines[1:]), "text", px(17), area.width)]
        for number, line in enumerate(lines):
            at = (area.x, px(82) + number * px(22))
            canvas.text(line, at, size=17, colour=colour, width=area.width)
        if self.field is not None:
            self._paint_field(canvas, area)
        elif self.empty and not self.rows():
            place = self._list(canvas, area)
            empty, down = self.empty, px(8)
            if self.unread is not None:
                empty, down = _("The list could not be read. It is not lost."), px(56)
            canvas.paragraph(
                empty,
                (place.x, place.y + down),
                place.width - px(20),
                size=19,
                colour=theme.MUTED,
            )
        above, below = self._hidden
        if self.field is None and (above or below):
            words = _("{above} above, {below} below").format(above=above, below=below)
            at = (self._list(canvas, area).right - px(14), canvas.height - px(112))
            canvas.text(words, at, size=15, colour=theme.MUTED, anchor="midright")
        self._paint_why(canvas, area)
        canvas.hints(self.hints(), message=self.message(canvas))

    def _paint_why(self, canvas: Canvas, area: Rect) -> None:
        """Beside the buttons, what the first of those waits for that cannot be chosen."""
        whys = [item.why for item in self.controls if not item.enabled and item.why]
        if self.field is None and whys:
            feet = {item.id for item in self.feet()}
            last = max(item.rect.right for item in self.controls if item.id in feet)
            x, y = last + canvas.px(20), canvas.height - canvas.px(81)
            room = max(1, area.right - x)
            canvas.text(whys[0], (x, y), size=16, colour=theme.MUTED, anchor="midleft", width=room)

    def hints(self) -> list[tuple[str, str]]:
        """The foot of the page."""
        if self.field is not None:
            leave = _("done") if self.field.again else _("back")
            return [(_("Enter"), self.field.does.lower()), (_("Esc"), leave)]
        return self.menu_hints()

    def message(self, canvas: Canvas) -> str:
        """The quiet words at the right of the foot, in half the width."""
        return self.stage.keyboard_line

    def _paint_field(self, canvas: Canvas, area: Rect) -> None:
        assert self.field is not None
        px = canvas.px
        canvas.text(self.field.asks, (area.x, area.y), size=22, face="title", width=area.width)
        box = Rect(area.x, area.y + px(40), min(area.width, px(560)), px(52))
        canvas.panel(box)
        words, room = f"{self.field.words}▏", box.width - px(28)
        if theme.text_width(words, "text", px(22)) > room:  # what is typed now is at the end
            words = theme.fitted(words[::-1], "text", px(22), room)[::-1]
        canvas.text(words, (box.x + px(14), box.centery), size=22, anchor="midleft")

    # Typing

    def ask(self, field: Field) -> None:
        """Let a line be typed."""
        self.field, self.note, self.focus = field, "", "keep"

    def say(self, words: str, *, good: bool = False) -> None:
        """Tell what went wrong or was done, until the next thing is done."""
        self.note, self.good = words, good

    def _keep(self) -> None:
        assert self.field is not None
        field = self.field
        if not field.words.strip() and field.again:
            self.back()
            return
        complaint = field.keep()
        if complaint:
            self.say(complaint)
        elif not field.again and self.field is field:
            self.field = None

    def key(self, event: pygame.event.Event) -> None:
        if self.field is None:
            super().key(event)
        elif pastes(event):
            self.field.typed(pasted())
        elif event.key == pygame.K_BACKSPACE:
            self.field.words = self.field.words[:-1]
        elif event.key in (pygame.K_RETURN, pygame.K_KP_ENTER) and self.focus != "drop":
            self._keep()
        elif event.key != pygame.K_SPACE:  # arrives as text
            super().key(event)

    def text_typed(self, words: str) -> None:
        if self.field is not None:
            self.field.typed(words)

    def back(self) -> None:
        if self.field is not None:
            self.field = None
        else:
            self.leave_page()

    def leave_page(self) -> None:
        """Where Escape leads when nothing is being typed."""
        self.stage.open_readers()

    def row(
        self,
        name: str,
        label: str,
        act: Callable[[], None],
        value: str = "",
        *,
        mark: str = "",
        adjust: Callable[[int], None] | None = None,
    ) -> Control:
        """A row, not yet placed."""
        return Control(name, Rect(0, 0, 1, 1), label, act, "row", value, adjust, mark)

    def button(
        self, name: str, label: str, act: Callable[[], None], style: str = "button"
    ) -> Control:
        """A button, not yet placed."""
        return Control(name, Rect(0, 0, 1, 1), label, act, style)
