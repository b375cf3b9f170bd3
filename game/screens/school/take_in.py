# SPDX-License-Identifier: MIT
"""What a list would make of the classes, told before anything is stored."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from game.class_lists import Foreseen
from game.screens import theme
from game.screens.school.list_page import ListPage
from game.screens.text import _, plural
from game.screens.widgets import Canvas, Control

if TYPE_CHECKING:
    from game.screens.screen import Screen
    from game.screens.stage import Stage


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

    def feet(self) -> list[Control]:
        take, leave = ("button", "primary") if self._doubtful else ("primary", "button")
        return [
            self.button("take", _("Take it in"), self._take, take),
            self.button("leave", _("Leave it"), self.back, leave),
        ]

    def _take(self) -> None:
        self.stage.show(self._behind)
        self._then()

    def leave_page(self) -> None:
        self.stage.show(self._behind)

    def paint(self, canvas: Canvas) -> None:
        super().paint(canvas)
        px, area = canvas.px, self._area(canvas)
        y, end = area.y - px(18), area.bottom
        for line in self._notices[:_NOTICES]:
            colour = theme.WRONG if self._doubtful else theme.MUTED
            y = canvas.paragraph(f"{line}.", (area.x, y), area.width, size=17, colour=colour)
            y += px(5)
        more = len(self._notices) - _NOTICES
        if more > 0:
            words = _("and {n} more").format(n=more)
            y = canvas.paragraph(words, (area.x, y), area.width, size=17, colour=theme.MUTED)
        y += px(10) if self._notices else 0
        step = px(30)
        fit = max(1, (end - y) // step)
        shown = self._found if len(self._found) <= fit else self._found[: fit - 1]
        for one in shown:
            value = canvas.text(
                words_of(one), (area.right, y), size=18, colour=theme.MUTED, anchor="topright"
            )
            canvas.text(one.name, (area.x, y), size=18, width=value.left - area.x - px(16))
            y += step
            canvas.rule(area.x, y - px(4), area.width)
        left = len(self._found) - len(shown)
        if left:
            words = _("and {n} more").format(n=left)
            canvas.text(words, (area.x, y), size=18, colour=theme.MUTED)


def words_of(one: Foreseen) -> str:
    """What would become of a class, in a few words."""
    if one.new:
        count = plural("{n} reader", "{n} readers", one.added).format(n=one.added)
        return _("a new class, {readers}").format(readers=count)
    words = _("{new} new, {old} here before").format(new=one.added, old=one.here)
    return _("back from the archive, {what}").format(what=words) if one.archived else words


_NOTICES = 3  # that are told here; all of them once the list is taken in
