# SPDX-License-Identifier: MIT
"""The first page: who is reading."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from game.keyboards import KeyDown, KeyUp
from game.reader.names import clean_name, folded, free_name
from game.screens.reader.same_reader import SameReader
from game.screens.school.classes import heat_words
from game.store import KeptHeat, Reader, StoreError
from game.ui import theme
from game.ui.asked_twice import AskedTwice
from game.ui.button_row import in_rows
from game.ui.last_exit import LastExit
from game.ui.list_page import Field, ListPage
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage

_LONGEST = 40
_ON_BUTTON = 16  # characters of a name


class Readers(LastExit, ListPage):
    """Stateful: the list of readers, or of those who are archived."""

    name = "readers"
    narrow = 520
    high = 46
    top = 238

    def __init__(self, stage: Stage) -> None:
        super().__init__(stage)
        self._archived = False
        self._readers: tuple[Reader, ...] = ()
        self._heats: tuple[KeptHeat, ...] = ()
        self._last: Reader | None = None  # the one looked at last
        self._twice = AskedTwice(stage.clock.now)
        if stage.sitting.reader is not None:
            self.focus = f"reader-{stage.sitting.reader.id}"

    def read(self) -> None:
        self._heats = self.stage.classroom.unfinished()
        self._readers = self.stage.store.readers(include_archived=True)

    def look_again(self) -> None:
        trouble = self.note if self.unread else ""
        super().look_again()
        if trouble and self.unread is None:
            notices = self.stage.notices
            notices[:] = [notice for notice in notices if notice != trouble]

    @property
    def _listed(self) -> list[Reader]:
        return [one for one in self._readers if one.archived is self._archived]

    def wait(self, now: float) -> float | None:
        return self._twice.left

    def rows(self) -> list[Control]:
        if self._archived:
            back = self.row("back-to", _("Show the others"), self._turn)
            rows = [
                self.row(
                    f"reader-{one.id}", one.name, partial(self._bring_back, one), _("bring back")
                )
                for one in self._listed
            ]
            return [*rows, back]
        rows = self.other_keyboard(Rect(0, 0, 1, 1))
        rows += [
            self.row(f"reader-{one.id}", one.name, partial(self.stage.rounds.greet, one))
            for one in self._listed
        ]
        rows.append(self.row("new", _("New reader"), self._new, mark="+"))
        if any(one.archived for one in self._readers):
            rows.append(self.row("archived", _("Show those archived"), self._turn))
        if self._heats:
            rows.append(self.words(_("A class heat was broken off")))
        for heat in self._heats:
            offer = partial(self.stage.classroom.offer, heat, self.stage.go.open_readers)
            words = heat_words(heat, self.stage.clock.today)
            rows.append(self.row(f"heat-{heat.uuid}", words, offer, _("go on")))
        return rows

    def feet(self) -> list[Control]:
        items = [
            self.button("help", _("Help"), self.stage.go.open_help, "quiet"),
            self.button("settings", _("Settings"), self.stage.go.open_settings, "quiet"),
            self.button("classes", _("Class challenge"), self.stage.classroom.open, "quiet"),
            self.button("quit", _("Close"), self.stage.go.quit, "quiet"),
        ]
        if self._last is not None and not self._archived:
            name = self._last.name
            name = name if len(name) <= _ON_BUTTON else f"{name[: _ON_BUTTON - 1]}…"
            archive = _("Sure? Archive {name}") if self._twice.open else _("Archive {name}")
            rename = _("Rename {name}").format(name=name)
            items[:0] = [
                self.button("rename", rename, self._rename, "quiet"),
                self.button("archive", archive.format(name=name), self._archive, "quiet"),
            ]
        return items

    def layout(self, canvas: Canvas) -> list[Control]:
        if self.focus != "archive":
            self._twice.drop()  # whoever turns to something else has thought better of it
        self.top = 168 if canvas.height < canvas.px(640) else 238
        looked_at = next((r for r in self._listed if self.focus == f"reader-{r.id}"), None)
        there = self._last if self._last in self._listed else None
        self._last = looked_at or there or next(iter(self._listed), None)
        return super().layout(canvas)

    def _feet(self, canvas: Canvas, room: Rect) -> list[Control]:
        items, px = self.feet(), canvas.px
        wide = Rect(px(40), room.y, canvas.width - px(80), room.height)
        in_rows(canvas, items, wide, least=60, high=36, centred=True)
        return items

    def heading(self, canvas: Canvas) -> None:
        px, middle = canvas.px, canvas.width // 2
        canvas.text(
            "Stavewise", (middle, px(self.top * 0.32)), size=56, face="title", anchor="center"
        )
        calm = self.close_line or (self.note if self.good else "")
        notice = calm or self.note or next(iter(self.stage.notices), "")
        lines = theme.wrapped(notice, "strong", px(16), canvas.width - px(120)) if notice else []
        for number, line in enumerate(lines[:3]):  # in the place of the motto
            canvas.text(
                line,
                (middle, px(self.top * 0.52) + number * px(21)),
                size=16,
                face="strong",
                colour=theme.INK if calm else theme.WRONG,
                anchor="center",
            )
        if not notice:
            canvas.text(
                _("Read the note, press the key."),
                (middle, px(self.top * 0.54)),
                size=20,
                face="serif",
                colour=theme.MUTED,
                anchor="center",
            )
        if self.field is None:
            words = _("Who comes back?") if self._archived else _("Who is reading?")
            canvas.text(words, (middle, px(self.top - 34)), size=24, face="title", anchor="center")

    def dropped(self, path: Path) -> bool:
        return self.stage.classroom.receive(path)

    def piano(self, event: KeyDown | KeyUp) -> None:
        before = self.field
        super().piano(event)
        if before is None and self.field is not None:
            self.focus = "drop"  # a second press, by whoever only tries the keys, makes no reader

    @property
    def backs_by_piano(self) -> bool:
        return self._within

    @property
    def back_says(self) -> str:
        return _("back") if self._within else super().back_says

    @property
    def _within(self) -> bool:
        """Whether there is something on this page to go back from."""
        return self.field is not None or self._archived

    def back(self) -> None:
        if self.field is not None:
            self.field, self.note = None, ""
        elif self._archived:
            self._turn()
        else:
            super().back()

    # What is done with readers

    def _turn(self) -> None:
        self._archived, self.note = not self._archived, ""

    def _bring_back(self, reader: Reader) -> None:
        self.stage.store.archive_reader(reader.id, archived=False)
        self._archived = False
        self.look_again()
        self.focus = f"reader-{reader.id}"
        self.say(_("{name} is back.").format(name=reader.name), good=True)

    def _new(self) -> None:
        """A name is there already, so that a piano alone is enough."""
        taken = (reader.name for reader in self._readers)
        self._ask(self._add, free_name(_("Reader {number}"), taken))

    def _rename(self) -> None:
        if self._last is not None:
            self._ask(self._renamed, self._last.name)

    def _ask(self, keep: Callable[[str], str], name: str) -> None:
        asks, does = _("What is your name?"), _("Use this name")
        self.ask(Field(asks, keep, name, longest=_LONGEST, does=does, offered=True))

    def _archive(self) -> None:
        """Offer a reader no longer; all that is kept of them stays."""
        if self._last is None or not self._twice.sure(self._last.id):
            return
        name = self._last.name
        self.stage.store.archive_reader(self._last.id)
        self._last, self.focus = None, ""
        self.look_again()
        words = _("{name} is archived. “Show those archived” brings them back.")
        self.say(words.format(name=name), good=True)

    def _renamed(self, name: str) -> str:
        assert self._last is not None
        try:
            self.stage.store.rename_reader(self._last.id, name)
        except (ValueError, StoreError) as error:
            return str(error)
        self.focus = f"reader-{self._last.id}"
        self.look_again()
        return ""

    def _add(self, name: str) -> str:
        """Add somebody, unless one of this name is there: then it is asked who they are."""
        store = self.stage.store
        try:
            name = clean_name(name)
            every = store.readers(include_archived=True)
            same = next((one for one in every if folded(one.name) == folded(name)), None)
            reader = None if same else store.add_reader(name)
        except (ValueError, StoreError) as error:
            return str(error)
        if same is not None:
            self.stage.go.show(SameReader(self.stage, same, name))
        elif reader is not None:
            self.stage.rounds.greet(reader)
        return ""
