# SPDX-License-Identifier: MIT
"""What the two pages that take a class list have in common: what was done with it, and undone."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from game.files.nearby import shown
from game.heats.roster import ClassList, RosterFaults
from game.screens.school.list_files import ListFiles
from game.screens.school.take_in import TakeIn
from game.screens.school.told_page import MessagePage
from game.session.class_lists import Foreseen, is_list, read_list, scattered
from game.store import Imported, StoreError
from game.ui.list_page import ListPage
from game.ui.widgets import Control
from game.words.text import _, plural

_MANY = 40  # readers that a list adds, above which it is told before
_LONG = 24  # characters of a file's name on a button


@dataclass(frozen=True)
class ImportedList:
    """A list that was taken in last, which can be undone.

    Args:
        what: the file, or what was typed.
        done: what became of it in each class.
        notices: what is to be known of how it was read.
    """

    what: str
    done: tuple[Imported, ...]
    notices: tuple[str, ...] = ()


class ListTaker(ListPage):
    """Stateful: a page that takes lists. A subclass says which class they are for."""

    @property
    def usual(self) -> str:
        """The class of those for whom a list names none; where it is empty, the file's name."""
        return ""

    @abstractmethod
    def sort_in(self, path: Path, roster: ClassList) -> str:
        """Take a list in; a complaint where it cannot be."""

    def dropped(self, path: Path) -> bool:
        """A file was dropped on the window: a list of names."""
        if not is_list(path):
            return False
        self.field = None
        self.take(path)
        return True

    def take(self, path: Path) -> None:
        """Take a list from a file, or tell why not."""
        self.note = ""
        try:
            complaint = self.sort_in(path, read_list(path, self.usual))
        except RosterFaults as error:
            if len(error.faults) > 1:
                title = _("Nothing was taken from this list")
                self.stage.go.show(MessagePage(self.stage, title, error.faults, self))
                return
            complaint = str(error)
        if complaint:
            self.say(complaint)

    def ask_first(
        self, path: Path, roster: ClassList, found: Sequence[Foreseen], then: Callable[[], None]
    ) -> bool:
        """Whether a list is told before it is taken in, since it makes classes, brings some back
        or adds many; if so, the page that tells it is shown, and does `then` when it is to be."""
        many = sum(one.added for one in found) > _MANY
        if not (many or roster.unknown or any(one.new or one.archived for one in found)):
            return False
        doubtful = bool(roster.unknown) or scattered(found)
        page = TakeIn(self.stage, self, shown(path), found, roster.notices, then, doubtful=doubtful)
        self.stage.go.show(page)
        return True

    def did(self, taken: ImportedList, words: str) -> None:
        """A list was taken in: say so, and offer to undo it."""
        self.stage.classroom.taken = taken
        self.look_again()
        self.say(" ".join([words, *(f"{line.rstrip('.')}." for line in taken.notices)]), good=True)

    # What is offered

    def list_rows(self) -> list[Control]:
        """For the side of the page: the way to a file, and what is to be known of the last one."""
        rows = [self.row("file", _("Add from a file"), self._ask_file, mark="+")]
        taken = self.stage.classroom.taken
        if taken is not None and len(taken.notices) > 1 and self.concerns(taken):
            label = _("About {file}").format(file=taken.what)
            rows.append(self.row("told", label, partial(self._tell, taken)))
        return rows

    def undo_buttons(self) -> list[Control]:
        """The undoing of the last list, where it is of this page."""
        taken = self.stage.classroom.taken
        if taken is None or not self.concerns(taken):
            return []
        what = taken.what if len(taken.what) <= _LONG else f"{taken.what[:_LONG]}…"
        return [self.button("undo", _("Undo {file}").format(file=what), self._undo)]

    def concerns(self, taken: ImportedList) -> bool:
        """Whether a list that was taken can be undone from here."""
        return True

    def _ask_file(self) -> None:
        self.stage.go.show(ListFiles(self.stage, self, self.usual, self.take))

    def _tell(self, taken: ImportedList) -> None:
        self.stage.go.show(MessagePage(self.stage, taken.what, taken.notices, self))

    def _undo(self) -> None:
        taken = self.stage.classroom.taken
        if taken is None:
            return
        try:
            self.stage.store.school.undo_imports(taken.done)
        except StoreError as error:
            self.say(str(error))
            return
        self.stage.classroom.taken = None
        self.undone(_("Undone: all is as it was before {file}.").format(file=taken.what))

    def undone(self, words: str) -> None:
        """Say that a list was undone."""
        self.look_again()
        self.say(words, good=True)


def counted(done: Sequence[Imported]) -> list[str]:
    """What a list changed of those who were there already, in words."""
    seats = sum(len(one.reseated) for one in done)
    back = sum(len(one.returned) for one in done)
    words = []
    if seats:
        told = plural("{n} seat number changed", "{n} seat numbers changed", seats)
        words.append(told.format(n=seats))
    if back:
        words.append(_("{n} back from the archive").format(n=back))
    return words
