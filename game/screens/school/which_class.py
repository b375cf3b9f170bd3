# SPDX-License-Identifier: MIT
"""A list that names another class than the one that it was given to: which is meant?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from game.ui.list_page import ListPage
from game.ui.widgets import Control
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.screen import Screen
    from game.ui.stage import Stage

_NAMED = 3  # of the classes, in full


class WhichClass(ListPage):
    """Stateful: the question. Until it is answered, nothing is kept.

    Args:
        stage: as for all screens.
        behind: the page of the class that the list was given to.
        file: the list's name.
        here: that class.
        others: those that the list names.
        into_here: takes the list in here; only one class can be meant to be another.
        into_others: takes it in where it says.
    """

    name = "which-class"
    narrow = 900

    def __init__(
        self,
        stage: Stage,
        behind: Screen,
        file: str,
        here: str,
        others: Sequence[str],
        into_here: Callable[[], None],
        into_others: Callable[[], None],
    ) -> None:
        super().__init__(stage)
        self._behind, self._file, self._here, self._others = behind, file, here, others
        self._into_here, self._into_others = into_here, into_others

    @property
    def title(self) -> str:
        return _("Which class is meant?")

    @property
    def below_title(self) -> str:
        named = ", ".join(self._others[:_NAMED])
        if len(self._others) > _NAMED:
            named = _("{names} and {n} more").format(names=named, n=len(self._others) - _NAMED)
        words = _("{file} names {others}, and you gave it to {here}. Nothing is stored yet.")
        return words.format(file=self._file, others=named, here=self._here)

    def rows(self) -> list[Control]:
        rows = []
        if len(self._others) == 1:
            (other,) = self._others
            rows.append(self._answer("others", _("Into {name}, as the list says"), other))
            rows.append(self._answer("here", _("Into {name}, where I gave it"), self._here))
        else:
            rows.append(self._answer("others", _("Into the classes that the list names"), ""))
        return [*rows, self.row("none", _("Into none: leave the list alone"), self.back)]

    def _answer(self, which: str, words: str, name: str) -> Control:
        act = self._into_here if which == "here" else self._into_others
        return self.row(which, words.format(name=name), lambda: self._then(act))

    def _then(self, act: Callable[[], None]) -> None:
        self.stage.go.show(self._behind)
        act()

    def leave_page(self) -> None:
        self.stage.go.show(self._behind)
