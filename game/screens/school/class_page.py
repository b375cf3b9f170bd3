# SPDX-License-Identifier: MIT
"""A class: who is in it, and what a teacher does with the list."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from game.files.nearby import shown
from game.files.private import new_file
from game.files.resources import documents_folder
from game.heats.roster import ClassList
from game.reader.names import folded
from game.screens.school.archives import Archives
from game.screens.school.files import NAMED, unused_path
from game.screens.school.heat_choices import HeatChoices
from game.screens.school.list_taker import ImportedList, ListTaker, counted
from game.screens.school.member_page import MemberPage
from game.screens.school.past_heats import PastHeats
from game.screens.school.which_class import WhichClass
from game.session.class_lists import class_csv, foreseen, others_in, told_apart
from game.store import Member, SchoolClass, StoreError
from game.ui.list_page import Field
from game.ui.widgets import Control
from game.words.text import _, plural

if TYPE_CHECKING:
    from game.ui.stage import Stage

_MOST_SEATS = 100
_SEATS = 8  # offered at first: as many tiles as a projector shows well


class ClassPage(Archives, ListTaker):
    """Stateful: the members of a class."""

    name = "class"
    narrow = 800
    columns = 2
    empty = _(
        "Nobody yet. Type the names one after another, give a CSV file with them (also by "
        "dropping it here), or take numbered seats, which keep no names."
    )

    def __init__(self, stage: Stage, one: SchoolClass) -> None:
        super().__init__(stage)
        self.one = one
        self._archived = False
        self._members: tuple[Member, ...] = ()

    def read(self) -> None:
        school = self.stage.store.school
        self._members = school.members(self.one.id, include_archived=True)

    @property
    def here(self) -> tuple[Member, ...]:
        """Those who are not archived."""
        return tuple(member for member in self._members if not member.archived)

    @property
    def title(self) -> str:
        return self.one.name

    @property
    def below_title(self) -> str:
        if self.asked:
            return _("It will be offered no more. Nothing is lost, and it can be brought back.")
        if self.one.archived:
            return _("This class is archived: all it had is kept, and it is not offered.")
        if self._archived:
            return _("Archived readers. Choose one to bring them back.")
        count = len(self.here)
        return plural("{n} reader", "{n} readers", count).format(n=count)

    def rows(self) -> list[Control]:
        return [
            self.row(
                f"member-{member.id}",
                member_title(member),
                partial(self._choose_member, member),
                _("seat {n}").format(n=member.seat) if member.name and member.seat else "",
            )
            for member in self._members
            if member.archived is self._archived
        ]

    def beside(self) -> list[Control]:
        items = [
            self.row("add", _("Add names"), self._ask_names, mark="+"),
            *self.list_rows(),
            self.row("seats", _("Add numbered seats"), self._ask_seats, mark="+"),
            self.row("past", _("Past heats"), self._past),
            self.row("rename", _("Rename the class"), self._ask_class),
            self.row("export", _("Save as CSV"), self.export),
        ]
        if self._archived:
            items.append(self.row("back-to", _("Show the others"), self._turn))
        elif any(member.archived for member in self._members):
            items.append(self.row("archived", _("Show those archived"), self._turn))
        words = _("Archive the class"), _("Bring the class back")
        return [*items, self.archive_row(*words)]

    def feet(self) -> list[Control]:
        start = self.button("start", _("Prepare a heat"), self._start, "primary")
        start.enabled = bool(self.here) and not self.one.archived
        start.why = "" if self.one.archived else _("A heat needs somebody in the class.")
        return [start, self.button("back", _("Back"), self.back), *self.undo_buttons()]

    def leave_page(self) -> None:
        if self._archived:
            self._turn()
        else:
            self.stage.classroom.open()

    def _turn(self) -> None:
        self._archived, self.note = not self._archived, ""

    def _choose_member(self, member: Member) -> None:
        self.stage.go.show(MemberPage(self.stage, member, self))

    def _start(self) -> None:
        self.stage.go.show(HeatChoices(self.stage, self.one, self.here))

    def _past(self) -> None:
        self.stage.go.show(PastHeats(self.stage, self.one))

    # What changes the class

    def _ask_names(self) -> None:
        words = _("A name, then Enter. Enter alone finishes.")
        self.ask(Field(words, self._add, again=True))

    def _add(self, name: str) -> str:
        """Add somebody: of two of one name, the second is told apart as in a list."""
        school = self.stage.store.school
        try:
            there = school.members(self.one.id, include_archived=True)
            same = {folded(one.name): one for one in there}.get(folded(name))
            own = name if same is None else told_apart(name, (one.name for one in there))
            school.add_member(self.one.id, own)
        except (StoreError, ValueError) as error:
            return str(error)
        self.look_again()
        words = _("{name} is in the class.")
        if same is not None and same.archived:
            words = _("{other} is among those archived; this one is {name}.")
        elif same is not None:
            words = _("{other} is in the class already; this one is {name}.")
        self.say(words.format(name=own, other=name if same is None else same.name), good=True)
        return ""

    def _ask_seats(self) -> None:
        words = _("How many seats, 1 to {n}? Their numbers are kept, and no names.")
        offer = str(min(_MOST_SEATS, max(_SEATS, len(self.here) + 1)))
        words = words.format(n=_MOST_SEATS)
        self.ask(Field(words, self._add_seats, offer, digits=True, offered=True))

    def _add_seats(self, words: str) -> str:
        count = int(words) if words.isdecimal() else 0
        if not 1 <= count <= _MOST_SEATS:
            return _("A number from 1 to {n}.").format(n=_MOST_SEATS)
        try:
            named = {member.seat for member in self.here if member.name}
            rows = [("", seat) for seat in range(1, count + 1) if seat not in named]
            done = self.stage.store.school.import_members(self.one.id, rows)
        except (StoreError, ValueError) as error:
            return str(error)
        made = len(done.added)
        words = plural("{n} seat added.", "{n} seats added.", made).format(n=made)
        self.did(ImportedList(_("the numbered seats"), (done,)), words)
        return ""

    def _ask_class(self) -> None:
        self.ask(Field(_("What is the class called?"), self._rename, self.one.name))

    def _rename(self, name: str) -> str:
        school = self.stage.store.school
        try:
            school.rename_class(self.one.id, name)
            all_classes = school.classes(include_archived=True)
        except (StoreError, ValueError) as error:
            return str(error)
        self.one = next(one for one in all_classes if one.id == self.one.id)
        return ""

    @property
    def is_archived(self) -> bool:
        return self.one.archived

    def archive(self, archived: bool) -> None:
        self.stage.store.school.archive_class(self.one.id, archived)
        self.one = SchoolClass(self.one.id, self.one.name, archived)

    # Files

    @property
    def usual(self) -> str:
        return self.one.name

    def sort_in(self, path: Path, roster: ClassList) -> str:
        """A list of names; of one that names several classes, this one's."""
        others = others_in(roster, self.one.name)
        if others and others == roster.groups:
            self.stage.go.show(
                WhichClass(
                    self.stage,
                    self,
                    shown(path),
                    self.one.name,
                    others,
                    partial(self._take_in, path, roster, others),
                    partial(self.stage.classroom.share_out, path, roster),
                )
            )
            return ""
        mine = tuple(group for group in roster.groups if group not in others)
        rows = [(one.name, one.number) for one in roster.members if one.group in mine]
        try:
            found = foreseen(self.stage.store.school, [(self.one.name, rows)])
        except StoreError as error:
            return f"{shown(path)}: {error}"
        if self.ask_first(path, roster, found, partial(self._take_in, path, roster, mine)):
            return ""
        return self._taken_in(path, roster, mine)

    def _take_in(self, path: Path, roster: ClassList, groups: tuple[str, ...]) -> None:
        complaint = self._taken_in(path, roster, groups)
        if complaint:
            self.say(complaint)

    def _taken_in(self, path: Path, roster: ClassList, groups: tuple[str, ...]) -> str:
        """Take in those of some classes; a complaint where it cannot be."""
        mine = [member for member in roster.members if member.group in groups]
        try:
            rows = [(member.name, member.number) for member in mine]
            done = self.stage.store.school.import_members(self.one.id, rows)
        except (StoreError, ValueError) as error:
            return f"{shown(path)}: {error}"
        self._archived = False
        words = _("{file}: {new} added, {old} here before")
        words = words.format(file=shown(path), new=len(done.added), old=len(done.kept))
        words = ", ".join([words, *counted([done])]) + "."
        left = len(roster.members) - len(mine)
        if left:
            more = _("{n} of other classes left out: give the file to the list of classes.")
            words = f"{words} {more.format(n=left)}"
        self.did(ImportedList(shown(path), (done,), roster.notices), words)
        return ""

    def concerns(self, taken: ImportedList) -> bool:
        return any(one.of.id == self.one.id for one in taken.done)

    def undone(self, words: str) -> None:
        """The class itself may have gone with the list."""
        try:
            there = self.stage.store.school.classes(include_archived=True)
        except StoreError as error:
            self.say(str(error))
            return
        same = [one for one in there if one.id == self.one.id]
        if not same:
            self.stage.classroom.open(words, good=True)
            return
        (self.one,) = same
        super().undone(words)

    def export(self) -> None:
        """Write the class as CSV, those archived left out."""
        try:
            named = NAMED if any(member.name for member in self.here) else ""
            path = unused_path(documents_folder(), self.one.name, f"{named}.csv")
            with new_file(path) as file:
                file.write(class_csv(self.one.name, self.here))
        except OSError as error:
            self.say(_("The list cannot be written: {why}.").format(why=error.strerror))
            return
        self.say(_("Written to {path}").format(path=path), good=True)


def member_title(member: Member) -> str:
    """Who it is: the name, or the seat's number."""
    return member.name or _("Seat {n}").format(n=member.seat)
