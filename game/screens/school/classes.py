# SPDX-License-Identifier: MIT
"""The list of classes, and the heats that were broken off."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from game.files.nearby import shown
from game.heats.events import KINDS, CountIn, Start
from game.heats.roster import ClassList
from game.reader.names import free_name
from game.screens.school.class_page import ClassPage
from game.screens.school.list_taker import ImportedList, ListTaker, counted
from game.session.class_lists import by_class, foreseen
from game.session.live_heat import titles_of
from game.store import KeptHeat, School, SchoolClass, SignOfLife, StoreError, heat_target
from game.ui.list_page import Field
from game.ui.offer import where_words
from game.ui.widgets import Control
from game.words.dates import local, moment_words
from game.words.text import _, plural

if TYPE_CHECKING:
    from game.ui.stage import Stage


_BEGUN = tuple(f'"kind":"{name}"' for name, kind in KINDS.items() if kind in (CountIn, Start))
"""In the lines of a heat that begin it for somebody (:func:`game.heats.chain.line`)."""


class Classes(ListTaker):
    """Stateful: the classes of this store."""

    name = "classes"
    empty = _("No class yet. Choose New class and type its name; the readers come next.")

    def __init__(self, stage: Stage) -> None:
        super().__init__(stage)
        self._archived = False
        self._classes: tuple[SchoolClass, ...] = ()
        self._sizes: dict[int, int] = {}
        self._open: tuple[KeptHeat, ...] = ()
        self._signs: dict[str, SignOfLife] = {}

    def read(self) -> None:
        school = self.stage.store.school
        self._classes = school.classes(include_archived=True)
        self._sizes = {one.id: len(school.members(one.id)) for one in self._classes}
        self._open = broken_off(school)
        self._signs = self.stage.store.life.signs(heat_target(heat.uuid) for heat in self._open)
        archived = _("All classes are archived: see beside.")
        self.empty = archived if self._classes else type(self).empty

    @property
    def title(self) -> str:
        return _("Class challenge")

    @property
    def below_title(self) -> str:
        if self._archived:
            return _("Archived classes. One that you open can be brought back there.")
        return _("Choose a class, or give a CSV file with names, also by dropping it here.")

    def rows(self) -> list[Control]:
        rows = []
        if not self._archived:
            for heat in self._open:
                classroom = self.stage.classroom
                offer = partial(classroom.offer, heat, classroom.open)
                sign = self._signs.get(heat_target(heat.uuid))
                alive = sign is not None and sign.alive
                rows.append(
                    self.row(
                        f"heat-{heat.uuid}",
                        heat_words(heat, self.stage.clock.today),
                        offer,
                        _("under way {where}").format(where=where_words(sign))
                        if alive
                        else _("go on"),
                        mark="›",
                    )
                )
        for one in self._classes:
            if one.archived is not self._archived:
                continue
            count = self._sizes.get(one.id, 0)
            size = plural("{n} reader", "{n} readers", count).format(n=count)
            rows.append(self.row(f"class-{one.id}", one.name, partial(self._open_class, one), size))
        return rows

    def beside(self) -> list[Control]:
        archived = any(one.archived for one in self._classes)
        items = [self.row("new", _("New class"), self._new, mark="+"), *self.list_rows()]
        if self._archived:
            items.append(self.row("back-to", _("Show the others"), self._turn))
        elif archived:
            items.append(self.row("archived", _("Show those archived"), self._turn))
        return items

    def feet(self) -> list[Control]:
        return [self.button("back", _("Back"), self.back), *self.undo_buttons()]

    def _turn(self) -> None:
        self._archived, self.note = not self._archived, ""

    def _new(self) -> None:
        offer = free_name(_("Class {number}"), (one.name for one in self._classes))
        self.ask(Field(_("What is the class called?"), self._add, offer, offered=True))

    def _add(self, name: str) -> str:
        try:
            made = self.stage.store.school.add_class(name)
        except (StoreError, ValueError) as error:
            return str(error)
        self.stage.go.show(ClassPage(self.stage, made))
        return ""

    def sort_in(self, path: Path, roster: ClassList) -> str:
        """A list of one class or several; of what it would make, it is told first."""
        try:
            found = foreseen(self.stage.store.school, by_class(roster))
        except StoreError as error:
            return f"{shown(path)}: {error}"
        if self.ask_first(path, roster, found, partial(self._then, path, roster)):
            return ""
        return self.take_in(path, roster)

    def _then(self, path: Path, roster: ClassList) -> None:
        complaint = self.take_in(path, roster)
        if complaint:
            self.say(complaint)

    def take_in(self, path: Path, roster: ClassList) -> str:
        """Take a list in; a complaint where it cannot be."""
        try:
            done = self.stage.store.school.import_classes(by_class(roster))
        except (StoreError, ValueError) as error:
            return f"{shown(path)}: {error}"
        self._archived = False
        added = sum(len(one.added) for one in done)
        words = plural("{file}: {n} reader added", "{file}: {n} readers added", added)
        words = words.format(file=shown(path), n=added)
        words = ", ".join([words, *counted(done)]) + "."
        self.did(ImportedList(shown(path), done, roster.notices), words)
        return ""

    def _open_class(self, one: SchoolClass) -> None:
        self.stage.go.show(ClassPage(self.stage, one))


def broken_off(school: School) -> tuple[KeptHeat, ...]:
    """The heats that were broken off, newest first. One that nobody was counted into is none of
    them: nothing is lost with it.

    Raises:
        StoreError: they cannot be read.
    """
    return tuple(
        heat
        for heat in school.open_heats()
        if any(school.has_line(heat.uuid, words) for words in _BEGUN)
    )


def heat_words(heat: KeptHeat, today: str) -> str:
    """A heat that was broken off, as it is offered again `today`."""
    name, title = titles_of(heat)
    when = moment_words(local(heat.started), today)
    return " · ".join(part for part in (name, title or _("a heat"), when) if part)
