# SPDX-License-Identifier: MIT
"""What a list would make of the classes, told before anything is stored."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from game.session.class_lists import Foreseen
from game.ui.list_page import ListPage
from game.ui.widgets import Control
from game.words.text import _, plural

if TYPE_CHECKING:
    from game.ui.screen import Screen
    from game.ui.stage import Stage


class TakeIn(ListPage):
    """Stateful: the question. Until it is answered, nothing is kept.

    Args:
        stage: as for all screens.
        behind: the page that the list was given to.
        file: the list's name.
        found: what it would make, class by class.
        notices: what is to be known of how it was read.
        then: takes it in, back on that page.
        doubtful: it looks like no class list, so that the answer in focus is to leave it.
    """

    name = "take-in"
    narrow = 900
    high = 30

    def __init__(
        self,
        stage: Stage,
        behind: Screen,
        file: str,
        found: Sequence[Foreseen],
        notices: Sequence[str],
        then: Callable[[], None],
        *,
        doubtful: bool = False,
    ) -> None:
        super().__init__(stage)
        self._behind, self._file, self._then = behind, file, then
        self._found, self._notices, self._doubtful = tuple(found), tuple(notices), doubtful
        self.focus = "leave" if doubtful else "take"

    @property
    def title(self) -> str:
        return _("Is this a class list?") if self._doubtful else _("Take this list in?")

    @property
    def below_title(self) -> str:
        words = _("{file}: {classes}, {readers}. Nothing is stored yet.")
        classes = plural("{n} class", "{n} classes", len(self._found))
        count = sum(one.added + one.here for one in self._found)
        readers = plural("{n} reader", "{n} readers", count)
        return words.format(
            file=self._file,
            classes=classes.format(n=len(self._found)),
            readers=readers.format(n=count),
        )

    def rows(self) -> list[Control]:
        mark = "!" if self._doubtful else ""
        notices = [self.words(f"{line}.", mark=mark) for line in self._notices]
        return [*notices, *(self.words(one.name, words_of(one)) for one in self._found)]

    def feet(self) -> list[Control]:
        take, leave = ("button", "primary") if self._doubtful else ("primary", "button")
        return [
            self.button("take", _("Take it in"), self._take, take),
            self.button("leave", _("Leave it"), self.back, leave),
        ]

    def _take(self) -> None:
        self.stage.go.show(self._behind)
        self._then()

    def leave_page(self) -> None:
        self.stage.go.show(self._behind)


def words_of(one: Foreseen) -> str:
    """What would become of a class, in a few words."""
    if one.new:
        count = plural("{n} reader", "{n} readers", one.added).format(n=one.added)
        return _("a new class, {readers}").format(readers=count)
    words = _("{new} new, {old} here before").format(new=one.added, old=one.here)
    return _("back from the archive, {what}").format(what=words) if one.archived else words
