# SPDX-License-Identifier: MIT
"""The first page: who is reading."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import pygame

from game.keyboards import KeyDown, KeyUp
from game.screens import theme
from game.screens.asked_twice import AskedTwice
from game.screens.last_exit import LastExit
from game.screens.school.classes import heat_words
from game.screens.text import _
from game.screens.widgets import Canvas, Control, Rect
from game.store import Reader, StoreError

if TYPE_CHECKING:
    from game.screens.stage import Stage

_LONGEST = 40
_APART = 36  # between the readers and the heats of the classes, of a window 720 high


class Readers(LastExit):
    """Stateful: the list of readers, and the line where a new name is typed."""

    name = "readers"

    def __init__(self, stage: Stage) -> None:
        super().__init__(stage)
        self._typing: str | None = None
        self._offered = False  # the name was not typed: the first key replaces it
        self._renamed: Reader | None = None  # whose name is being typed; None: a new reader's
        self._last: Reader | None = None  # the one looked at last
        self._note = ""
        self._first = 0
        self._readers: tuple[Reader, ...] = ()
        self._unread = False  # the list could not be read: it is offered to try again
        self._archived: Reader | None = None  # has the name being typed, and is offered again
        self._done = ""  # what has just been done
        self._twice = AskedTwice(stage.now)
        if stage.visit.reader is not None:
            self.focus = f"reader-{stage.visit.reader.id}"
        self._read()

    def _read(self) -> None:
        self._heats = self.stage.classroom.unfinished()
        notices = self.stage.visit.notices
        try:
            self._readers = self.stage.store.readers()
        except StoreError as error:
            self._unread, self._note = True, str(error)
            return
        if self._unread:
            notices[:] = [notice for notice in notices if notice != self._note]
            self._unread, self._note = False, ""

    def wait(self, now: float) -> float | None:
        return self._twice.left

    def layout(self, canvas: Canvas) -> list[Control]:
        if self.focus != "archive":
            self._twice.drop()  # whoever turns to something else has thought better of it
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
        items = self.other_keyboard(Rect(x, 0, width, row))
        if self._unread:
            again = Rect(x, 0, width, row)
            items.append(Control("again", again, _("Try again"), self._read, "row", mark="›"))
        items += [
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
        readers, apart = len(items), px(_APART) if self._heats else 0
        items += [
            Control(
                f"heat-{heat.uuid}",
                Rect(x, 0, width, row),
                heat_words(heat, self.stage.today),
                partial(self.stage.classroom.offer, heat, self.stage.open_readers),
                "row",
                _("go on"),
            )
            for heat in self._heats
        ]
        room = max(2, (canvas.height - px(120) - y - apart) // row)
        place = next((n for n, item in enumerate(items) if item.id == self.focus), 0)
        self._first = max(0, min(self._first, place, len(items) - room))
        self._first = max(self._first, place - room + 1)
        for number, item in enumerate(items):
            item.rect.y = y + (number - self._first) * row + (apart if number >= readers else 0)
        visible = items[self._first : self._first + room]
        foot = [
            ("help", _("Help"), self.stage.open_help),
            ("settings", _("Settings"), self.stage.open_settings),
            ("classes", _("Class challenge"), self.stage.classroom.open),
            ("quit", _("Close"), self.stage.quit),
        ]
        looked_at = next((r for r in self._readers if self.focus == f"reader-{r.id}"), None)
        self._last = looked_at or self._last or next(iter(self._readers), None)
        if self._last is not None:
            name = self._last.name
            archive = _("Sure? Archive {name}") if self._twice.open else _("Archive {name}")
            foot[:0] = [
                ("rename", _("Rename {name}").format(name=name), self._rename),
                ("archive", archive.format(name=name), self._archive),
            ]
        broad = ("rename", "archive", "classes")
        width = min(px(860), canvas.width - px(40))
        x, y = (canvas.width - width) // 2, canvas.height - px(92)
        share = width // sum(2 if name in broad else 1 for name, _label, _act in foot)
        for name, label, act in foot:
            wide = 2 * share if name in broad else share
            visible.append(Control(name, Rect(x, y, wide, px(36)), label, act, "quiet"))
            x += wide
        return visible

    def paint(self, canvas: Canvas) -> None:
        px, middle = canvas.px, canvas.width // 2
        canvas.text("Stavewise", (middle, px(84)), size=56, face="title", anchor="center")
        calm = self.close_line or ("" if self._note else self._done)
        notice = calm or self._note or next(iter(self.stage.visit.notices), "")
        lines = theme.wrapped(notice, "strong", px(16), canvas.width - px(120)) if notice else []
        for number, line in enumerate(lines[:3]):  # in the place of the motto
            canvas.text(
                line,
                (middle, px(132) + number * px(21)),
                size=16,
                face="strong",
                colour=theme.INK if calm else theme.WRONG,
                anchor="center",
            )
        if not notice:
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
            heat = next((one for one in self.controls if one.id.startswith("heat-")), None)
            if heat is not None:
                canvas.text(
                    _("A class heat was broken off"),
                    (heat.rect.x + px(14), heat.rect.top - px(5)),
                    size=15,
                    colour=theme.MUTED,
                    anchor="bottomleft",
                )
        canvas.hints(self.menu_hints(), message=self.stage.keyboard_line)

    def key(self, event: pygame.event.Event) -> None:
        if self._typing is not None and event.key == pygame.K_BACKSPACE:
            self._note = ""
            self._typing = "" if self._offered else self._typing[:-1]
            self._offered = False
        elif self._typing is not None and event.key == pygame.K_SPACE:
            pass  # arrives as text
        else:
            super().key(event)

    def dropped(self, path: Path) -> bool:
        return self.stage.classroom.receive(path)

    def text_typed(self, words: str) -> None:
        if self._typing is not None and words.isprintable():
            before, self._offered = "" if self._offered else self._typing, False
            self._typing = (before + words)[:_LONGEST]
            self.focus, self._note = "keep", ""
            if len(before + words) > _LONGEST:
                self._note = _("A name has at most {n} characters.").format(n=_LONGEST)

    def piano(self, event: KeyDown | KeyUp) -> None:
        typed = self._typing
        super().piano(event)
        if typed is None and self._typing is not None:
            self.focus = "drop"  # a second press, by whoever only tries the keys, makes no reader

    @property
    def backs_by_piano(self) -> bool:
        return self._typing is not None

    @property
    def back_says(self) -> str:
        return super().back_says if self._typing is None else _("back")

    def back(self) -> None:
        if self._typing is None:
            super().back()
        else:
            self._typing, self._note, self._renamed = None, "", None

    def _new(self) -> None:
        """A name is there already, so that a piano alone is enough."""
        self._done, self._archived = "", None
        self._typing = free_name(self.stage.store.readers(include_archived=True))
        self._offered = True

    def _rename(self) -> None:
        if self._last is not None:
            self._typing, self._offered, self._renamed = self._last.name, True, self._last

    def _archive(self) -> None:
        """Offer a reader no longer; all that is kept of them stays."""
        if self._last is None or not self._twice.sure(self._last.id):
            return
        name = self._last.name
        self.stage.store.archive_reader(self._last.id)
        self._readers, self._last, self.focus = self.stage.store.readers(), None, ""
        self._note = ""
        self._done = _(
            "{name} is archived. “New reader” with the same name brings it back."
        ).format(name=name)

    def _keep(self) -> None:
        name = " ".join((self._typing or "").split())
        store = self.stage.store
        try:
            if self._renamed is not None:
                store.rename_reader(self._renamed.id, name)
                self._readers, self._last = store.readers(), None
                self.focus = f"reader-{self._renamed.id}"
                self.back()
                return
            taken = store.readers(include_archived=True)
            same = [one for one in taken if one.archived and one.name.casefold() == name.casefold()]
            if same and self._archived in same:
                store.archive_reader(same[0].id, archived=False)
                reader = replace(same[0], archived=False)
            elif same:
                self._archived = same[0]
                self._note = _("{name} is archived. “Use this name” again brings it back.").format(
                    name=same[0].name
                )
                return
            else:
                reader = store.add_reader(name)
        except (ValueError, StoreError) as error:
            self._note = str(error)
            return
        self.stage.greet(reader)


def free_name(taken: Iterable[Reader]) -> str:
    """A name for a reader who has not typed one."""
    names = {reader.name for reader in taken}
    number = 1
    while _("Reader {number}").format(number=number) in names:
        number += 1
    return _("Reader {number}").format(number=number)
