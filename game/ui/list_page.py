# SPDX-License-Identifier: MIT
"""A page that is a list: rows that scroll, things to do beside and below them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import pygame

from game.store import StoreError
from game.ui import theme
from game.ui.button_row import button, in_rows
from game.ui.clipboard import pasted, pastes
from game.ui.screen import Screen
from game.ui.scroll import Scroll, stacked
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage

LONGEST = 60  # characters of a name that is typed
_COLUMN = 240  # the least width of a column of rows, of a window of 1280


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
        offered: the words are an offer, which the first key replaces.
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
        offered: bool = False,
    ) -> None:
        self.asks, self.words, self.again = asks, words, again
        self._offered = offered
        self._keep, self._digits, self._longest = keep, digits, longest
        self.does = does or (_("Add") if again else _("Keep"))

    def typed(self, words: str) -> str:
        """Characters more; a complaint where there are too many."""
        if words.isprintable() and (words.isdigit() or not self._digits):
            words = words if self._offered else self.words + words
            self._offered, self.words = False, words[: self._longest]
        if len(words) > self._longest:
            return _("At most {n} characters.").format(n=self._longest)
        return ""

    def shown(self, composing: str) -> str:
        """The line with what an input method puts together, which takes the place of an offer."""
        return composing if composing and self._offered else self.words + composing

    def erase(self) -> None:
        """The last character goes, or the whole offer."""
        self._offered, self.words = False, "" if self._offered else self.words[:-1]

    def keep(self) -> str:
        """Hand the line over; the complaint about it, if any."""
        tidy = self._longest <= LONGEST  # a path may have two blanks together
        complaint = self._keep(" ".join(self.words.split()) if tidy else self.words.strip())
        if not complaint:
            self.words = ""
        return complaint


def row(
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


def words(label: str, value: str = "", *, mark: str = "") -> Control:
    """A row that is only to be read, not yet placed; a page breaks a long one into lines."""
    row = Rect(0, 0, 1, 1)
    return Control("", row, label, lambda: None, "words", value, mark=mark, enabled=False)


class ListPage(Screen):
    """Stateful: a list with what can be done with it. A subclass gives its rows and words."""

    narrow = 720  # width of the list, of a window of 1280
    high = 42  # height of a row, of a window 720 high
    columns = 1
    top = 138  # where the list begins, of a window 720 high

    def __init__(self, stage: Stage) -> None:
        super().__init__(stage)
        self.field: Field | None = None
        self.note = ""  # what went wrong, or what was done
        self.good = False  # whether the note is of something done
        self.unread: StoreError | None = None  # why the list could not be read
        self.area = Rect(0, 0, 0, 0)  # the list and what is beside it
        self._rows_list, self._beside_list = self.lists = Scroll(), Scroll()

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
        px, self.area = canvas.px, self._room(canvas)
        if self.field is not None:
            keep = button("keep", self.field.does, self._keep, "primary")
            drop = button("drop", _("Done") if self.field.again else _("Back"), self.back)
            foot = Rect(self.area.topleft, (self.area.width, px(158)))
            in_rows(canvas, [keep, drop], foot, least=200)
            return [keep, drop]
        feet = self._feet(canvas, self.area)
        top = min((item.rect.y for item in feet), default=self.area.bottom)
        self.area.height = top - px(16) - self.area.y
        return [*self._rows(canvas, self.area), *self._beside(canvas, self.area), *feet]

    def _room(self, canvas: Canvas) -> Rect:
        """All between the heading and the foot of the page."""
        px = canvas.px
        wide = px(self.narrow) + (px(300) if self.beside() else 0)
        width = min(wide, canvas.width - px(80))
        top, bottom = px(self.top), canvas.height - px(58)
        return Rect((canvas.width - width) // 2, top, width, bottom - top)

    def _list(self, canvas: Canvas, area: Rect) -> Rect:
        side = canvas.px(300) if self.beside() else 0
        return Rect(area.x, area.y, area.width - side, area.height)

    def _rows(self, canvas: Canvas, area: Rect) -> list[Control]:
        px, rows = canvas.px, self.rows()
        if self.unread is not None:
            rows.insert(0, self.row("again", _("Try again"), self.look_again, mark="›"))
        view = self._list(canvas, area)
        rows = [line for item in rows for line in self._broken(canvas, item, view.width)]
        columns = max(1, min(self.columns, view.width // px(_COLUMN)))
        stacked(rows, view, px(self.high), columns, px(16))
        return self._rows_list.place(canvas, rows, view, self.focus)

    @staticmethod
    def _broken(canvas: Canvas, item: Control, width: int) -> list[Control]:
        """A row; of words that are only read, each line is one."""
        if item.style != "words" or item.value:
            return [item]
        lines = theme.wrapped(item.label, "text", canvas.px(17), width - canvas.px(40))
        first, *more = [replace(item, label=line) for line in lines]
        return [first, *(replace(line, mark="") for line in more)]

    def _beside(self, canvas: Canvas, area: Rect) -> list[Control]:
        px, items = canvas.px, self.beside()
        view = Rect(area.right - px(268), area.y, px(268), area.height)
        stacked(items, view, px(42))
        return self._beside_list.place(canvas, items, view, self.focus)

    def _feet(self, canvas: Canvas, room: Rect) -> list[Control]:
        items = self.feet()
        in_rows(canvas, items, room)
        return items

    def paint(self, canvas: Canvas) -> None:
        px, area = canvas.px, self.area
        self.heading(canvas)
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
        self._paint_why(canvas, area)
        canvas.hints(self.hints(), message=self.message(canvas))

    def heading(self, canvas: Canvas) -> None:
        """The title, and the line below it or what there is to say."""
        px, area = canvas.px, self.area
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
            keys = [(_("Enter"), self.field.does.lower()), (_("Esc"), leave)]
            return [*self.piano_hints(), *keys]
        return self.menu_hints()

    def message(self, canvas: Canvas) -> str:
        """The quiet words at the right of the foot, in half the width."""
        return self.stage.piano.line

    def _paint_field(self, canvas: Canvas, area: Rect) -> None:
        assert self.field is not None
        px = canvas.px
        canvas.text(self.field.asks, (area.x, area.y), size=22, face="title", width=area.width)
        box = self._field_box(canvas)
        canvas.panel(box)
        words, room = f"{self.field.shown(self.composing)}▏", box.width - px(28)
        if theme.text_width(words, "text", px(22)) > room:  # what is typed now is at the end
            words = theme.fitted(words[::-1], "text", px(22), room)[::-1]
        line = canvas.text(words, (box.x + px(14), box.centery), size=22, anchor="midleft")
        if self.composing:
            wide = min(line.width, theme.text_width(f"{self.composing}▏", "text", px(22)))
            canvas.rule(line.right - wide, line.bottom, wide, theme.ACCENT)

    def _field_box(self, canvas: Canvas) -> Rect:
        px, area = canvas.px, self.area
        return Rect(area.x, area.y + px(40), min(area.width, px(560)), px(52))

    # Typing

    @property
    def types_at(self) -> Rect | None:
        return None if self.field is None else self._field_box(self.stage.window.canvas)

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
            self.text_typed(pasted())
        elif event.key == pygame.K_BACKSPACE:
            self.field.erase()
            self.note = ""
        elif event.key in (pygame.K_RETURN, pygame.K_KP_ENTER) and self.focus != "drop":
            self._keep()
        elif event.key != pygame.K_SPACE:  # arrives as text
            super().key(event)

    def text_typed(self, words: str) -> None:
        if self.field is not None:
            self.focus, self.note, self.good = "keep", self.field.typed(words), False

    def back(self) -> None:
        if self.field is not None:
            self.field = None
        else:
            self.leave_page()

    def leave_page(self) -> None:
        """Where Escape leads when nothing is being typed."""
        self.stage.go.open_readers()

    row = staticmethod(row)
    words = staticmethod(words)
    button = staticmethod(button)
