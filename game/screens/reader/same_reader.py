# SPDX-License-Identifier: MIT
"""A new reader has the name of one who is here: are they the same?"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from game.session.class_lists import told_apart
from game.store import Reader, StoreError
from game.ui.list_page import ListPage
from game.ui.widgets import Control
from game.words.dates import moment_words
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage


class SameReader(ListPage):
    """Stateful: the question. Until it is answered, nothing is kept.

    Args:
        stage: as for all screens.
        there: who has the name, perhaps archived.
        name: as it was typed.
    """

    name = "same-reader"

    def __init__(self, stage: Stage, there: Reader, name: str) -> None:
        super().__init__(stage)
        self._there = there
        self._last = self._other = ""
        self._typed = name

    def read(self) -> None:
        store = self.stage.store
        self._other = told_apart(self._typed, (one.name for one in store.readers(True)))
        last = next(iter(store.records(self._there.id, limit=1)), None)
        self._last = _("nothing read yet")
        if last is not None:
            when = moment_words(last.started.astimezone(), self.stage.clock.today)
            self._last = _("last read {when}").format(when=when)

    @property
    def title(self) -> str:
        return _("Is that you, {name}?").format(name=self._there.name)

    @property
    def below_title(self) -> str:
        if self._there.archived:
            return _("This reader is archived. All they played is saved.")
        return _("Somebody of this name reads here already.")

    def rows(self) -> list[Control]:
        yes = _("Yes: bring me back") if self._there.archived else _("Yes: go on as before")
        no = _("No: I am somebody else")
        return [
            self.row("same", yes, self._same, self._last),
            self.row("other", no, self._add, _("as {name}").format(name=self._other)),
        ]

    def feet(self) -> list[Control]:
        return [self.button("back", _("Back"), self.back)]

    def _same(self) -> None:
        try:
            if self._there.archived:
                self.stage.store.archive_reader(self._there.id, archived=False)
        except StoreError as error:
            self.say(str(error))
        else:
            self.stage.rounds.greet(replace(self._there, archived=False))

    def _add(self) -> None:
        try:
            reader = self.stage.store.add_reader(self._other)
        except (StoreError, ValueError) as error:
            self.say(str(error))
        else:
            self.stage.rounds.greet(reader)
