# SPDX-License-Identifier: MIT
"""The heats that a class has ended: each opens its result again."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from game.heats import PlayMode
from game.session.live_heat import titles_of
from game.store import KeptHeat, SchoolClass
from game.ui.list_page import ListPage
from game.ui.widgets import Control
from game.words.dates import local, moment_words
from game.words.text import _, plural

if TYPE_CHECKING:
    from game.ui.stage import Stage


class PastHeats(ListPage):
    """Stateful: the ended heats of a class, newest first."""

    name = "past-heats"
    narrow = 1000
    empty = _("No heat of this class has ended yet.")

    def __init__(self, stage: Stage, one: SchoolClass) -> None:
        super().__init__(stage)
        self._class = one
        self._heats: tuple[KeptHeat, ...] = ()

    def read(self) -> None:
        self._heats = self.stage.store.school.heats(self._class.id)

    @property
    def title(self) -> str:
        return _("Past heats of {name}").format(name=self._class.name)

    @property
    def below_title(self) -> str:
        return _("Choose one for its places, its pages and its heat file.")

    def rows(self) -> list[Control]:
        today = self.stage.clock.today
        return [
            self.row(
                f"heat-{heat.uuid}", _when_what(heat, today), partial(self._open, heat), _how(heat)
            )
            for heat in self._heats
        ]

    def feet(self) -> list[Control]:
        return [self.button("back", _("Back"), self.back)]

    def leave_page(self) -> None:
        self.stage.classroom.open_class(self._class)

    def _open(self, heat: KeptHeat) -> None:
        complaint = self.stage.classroom.review(heat, self)
        if complaint:
            self.say(complaint)


def _when_what(heat: KeptHeat, today: str) -> str:
    _group, title = titles_of(heat)
    when = moment_words(local(heat.started), today)
    return f"{when} · {title or _('a heat')}"


def _how(heat: KeptHeat) -> str:
    """The manner and the length."""
    prompts, seconds = heat.setup.get("prompts"), heat.setup.get("seconds")
    together = heat.setup.get("manner") == PlayMode.TOGETHER
    parts = [_("together") if together else _("in turn")]
    if isinstance(prompts, int):
        parts.append(plural("{n} prompt", "{n} prompts", prompts).format(n=prompts))
    elif isinstance(seconds, int):
        parts.append(_("{n} seconds").format(n=seconds))
    return ", ".join(parts)
