# SPDX-License-Identifier: MIT
"""A class: who is in it, and what a teacher does with the list."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from game.heats.roster import Member as RosterMember
from game.heats.roster import Roster, roster_csv
from game.resources import documents_folder
from game.screens.school.files import is_list, read_roster, unused_path
from game.screens.school.heat_choices import HeatChoices
from game.screens.school.list_page import Field, ListPage
from game.screens.school.member_page import MemberPage
from game.screens.school.past_heats import PastHeats
from game.screens.text import _, plural
from game.screens.widgets import Control
from game.store import Member, SchoolClass, StoreError

if TYPE_CHECKING:
    from game.screens.stage import Stage

_MOST_SEATS = 100


class ClassPage(ListPage):
    """Stateful: the members of a class."""

    name = "class"
    narrow = 800
    columns = 2
    empty = _(
        "Nobody yet. Type the names one after another, drop a CSV file with them on this window, "
        "or take numbered seats, which keep no names."
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
            self.row("seats", _("Add numbered seats"), self._ask_seats, mark="+"),
            self.row("past", _("Past heats"), self._past),
            self.row("rename", _("Rename the class"), self._ask_class),
            self.row("export", _("Save as CSV"), self.export),
        ]
        if self._archived:
            items.append(self.row("back-to", _("Show the others"), self._turn))
        elif any(member.archived for member in self._members):
            items.append(self.row("archived", _("Show those archived"), self._turn))
        label = _("Bring the class back") if self.one.archived else _("Archive the class")
        items.append(self.row("archive", label, self._archive))
        return items

    def feet(self) -> list[Control]:
        start = self.button("start", _("Prepare a heat"), self._start, "primary")
        start.enabled = bool(self.here) and not self.one.archived
        return [start, self.button("back", _("Back"), self.back)]

    def leave_page(self) -> None:
        if self._archived:
            self._turn()
        else:
            self.stage.classroom.open()

    def _turn(self) -> None:
        self._archived, self.note = not self._archived, ""

    def _choose_member(self, member: Member) -> None:
        self.stage.show(MemberPage(self.stage, member, self))

    def _start(self) -> None:
        self.stage.show(HeatChoices(self.stage, self.one, self.here))

    def _past(self) -> None:
        self.stage.show(PastHeats(self.stage, self.one))

    # What changes the class

    def _ask_names(self) -> None:
        words = _("A name, then Enter; the next one follows. Enter alone ends it.")
        self.ask(Field(words, self._add, again=True))

    def _add(self, name: str) -> str:
        try:
            self.stage.store.school.add_member(self.one.id, name)
        except (StoreError, ValueError) as error:
            return str(error)
        self.look_again()
        self.say(_("{name} is in the class.").format(name=name), good=True)
        return ""

    def _ask_seats(self) -> None:
        words = _("How many seats, 1 to {n}? Their numbers are kept, and no names.")
        self.ask(Field(words.format(n=_MOST_SEATS), self._add_seats, digits=True))

    def _add_seats(self, words: str) -> str:
        count = int(words) if words.isdecimal() else 0
        if not 1 <= count <= _MOST_SEATS:
            return _("A number from 1 to {n}.").format(n=_MOST_SEATS)
        try:
            rows = [("", seat) for seat in range(1, count + 1)]
            done = self.stage.store.school.import_members(self.one.id, rows)
        except (StoreError, ValueError) as error:
            return str(error)
        self.look_again()
        made = len(done.added)
        self.say(plural("{n} seat added.", "{n} seats added.", made).format(n=made), good=True)
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

    def _archive(self) -> None:
        archived = not self.one.archived
        try:
            self.stage.store.school.archive_class(self.one.id, archived)
        except StoreError as error:
            self.say(str(error))
            return
        self.one = SchoolClass(self.one.id, self.one.name, archived)
        if archived:
            self.say(_("Archived. Nothing is lost; here you can bring it back."), good=True)

    # Files

    def dropped(self, path: Path) -> bool:
        """A file was dropped on the window: a list of names."""
        if not is_list(path):
            return False
        self.field = None
        try:
            found = read_roster(path)
            groups = found.groups
            several = len(groups) > 1
            mine = [m for m in found.members if not several or m.group in ("", self.one.name)]
            rows = [(member.name, member.number) for member in mine]
            done = self.stage.store.school.import_members(self.one.id, rows)
        except (StoreError, ValueError) as error:
            self.say(str(error))
            return True
        self.look_again()
        words = _("{file}: {new} added, {old} here before.")
        said = [words.format(file=path.name, new=len(done.added), old=len(done.kept))]
        left = len(found.members) - len(mine)
        if left:
            words = _("{n} of other classes left out: drop the file on the list of classes.")
            said.append(words.format(n=left))
        self.say(" ".join([*said, *found.notices]), good=True)
        return True

    def export(self) -> None:
        """Write the class as CSV, those archived left out."""
        listed = (RosterMember(m.name, m.seat, self.one.name) for m in self.here)
        text = roster_csv(Roster(tuple(listed)))
        try:
            path = unused_path(documents_folder(), self.one.name, ".csv")
            path.write_bytes(text.encode("utf-8-sig"))
        except OSError as error:
            self.say(_("The list cannot be written: {why}.").format(why=error.strerror))
            return
        self.say(_("Written to {path}").format(path=path), good=True)


def member_title(member: Member) -> str:
    """Who it is: the name, or the seat's number."""
    return member.name or _("Seat {n}").format(n=member.seat)
