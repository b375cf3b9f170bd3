# SPDX-License-Identifier: MIT
"""A page from which something is archived and brought back: the first is asked once more."""

from __future__ import annotations

from abc import abstractmethod
from math import inf
from typing import TYPE_CHECKING

from game.keyboards import KeyDown, KeyUp
from game.store import StoreError
from game.ui.asked_twice import HASTE_S, AskedTwice
from game.ui.list_page import ListPage
from game.ui.screen import PIANO_YES
from game.ui.widgets import Canvas, Control
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage


class Archives(ListPage):
    """Stateful: whether it was asked for. A piano, which plays by itself while hands look for its
    keys, archives nothing."""

    def __init__(self, stage: Stage) -> None:
        super().__init__(stage)
        self._twice = AskedTwice(stage.clock.now)
        self._turned_at = -inf

    @property
    def asked(self) -> bool:
        """Whether the question stands."""
        return self._twice.open is not None

    def wait(self, now: float) -> float | None:
        return self._twice.left

    @property
    @abstractmethod
    def is_archived(self) -> bool:
        """Whether what the page is about is archived now."""

    @abstractmethod
    def archive(self, archived: bool) -> None:
        """Archive it, or bring it back.

        Raises:
            StoreError, ValueError: it cannot be.
        """

    def archive_row(self, away: str, back: str) -> Control:
        """The control, in the words for archiving and for bringing back."""
        words = back if self.is_archived else away
        if self.asked:
            words = _("Sure? {what}").format(what=away)
        return self.row("archive", words, self._turn_archived)

    def layout(self, canvas: Canvas) -> list[Control]:
        if self.focus != "archive":
            self._twice.drop()  # whoever turns to something else has thought better of it
        return super().layout(canvas)

    def piano(self, event: KeyDown | KeyUp) -> None:
        yes = isinstance(event, KeyDown) and event.key == PIANO_YES and self.focus == "archive"
        if yes and not self.is_archived:
            self._twice.drop()
            self.say(_("The piano archives nothing: click it, or press Enter."))
        else:
            super().piano(event)

    def back(self) -> None:
        if self.asked:
            self._twice.drop()
        else:
            super().back()

    def _turn_archived(self) -> None:
        now = self.stage.clock.now()
        if now - self._turned_at < HASTE_S:  # the other half of the click that archived it
            return
        self.note, away = "", not self.is_archived
        if away and not self._twice.sure("archive"):
            return
        self._turned_at = now
        try:
            self.archive(away)
        except (StoreError, ValueError) as error:
            self.say(str(error))
