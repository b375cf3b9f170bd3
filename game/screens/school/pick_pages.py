# SPDX-License-Identifier: MIT
"""Two lists that a heat is prepared with: the levels, and who is here today."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from game.screens.school.list_page import ListPage
from game.screens.text import _
from game.screens.widgets import Control

if TYPE_CHECKING:
    from game.screens.school.heat_choices import HeatChoices
    from game.screens.stage import Stage
    from game.store import Member


class PickLevel(ListPage):
    """Stateful: the ladder as a list, to choose the level of a heat."""

    name = "pick-level"
    narrow = 820

    def __init__(self, stage: Stage, behind: HeatChoices) -> None:
        super().__init__(stage)
        self._behind = behind
        self.focus = f"level-{behind.choices.level}"

    @property
    def title(self) -> str:
        return _("Which level?")

    @property
    def below_title(self) -> str:
        return _("The ladder with your own levels; a piece becomes a level when it is dropped.")

    def rows(self) -> list[Control]:
        return [
            self.row(
                f"level-{rung.level.id}",
                rung.level.title,
                partial(self._take, rung.level.id),
                rung.level.stage,
                mark="✓" if rung.level.id == self._behind.choices.level else "",
            )
            for rung in self.stage.ladder.rungs
        ]

    def feet(self) -> list[Control]:
        return [self.button("back", _("Back"), self.back)]

    @property
    def takes_level(self) -> Callable[[str], None]:
        return self._behind.takes_level

    def _take(self, level_id: str) -> None:
        self._behind.choose_level(level_id)
        self.leave_page()

    def leave_page(self) -> None:
        self.stage.show(self._behind)


class Here(ListPage):
    """Stateful: who is here today."""

    name = "here"
    narrow = 1000
    columns = 3

    def __init__(self, stage: Stage, behind: HeatChoices) -> None:
        super().__init__(stage)
        self._behind = behind

    @property
    def title(self) -> str:
        return _("Who is here today?")

    @property
    def below_title(self) -> str:
        words = _("{here} of {all}. Whoever comes later can still join the heat.")
        return words.format(here=len(self._behind.here), all=len(self._behind.members))

    def rows(self) -> list[Control]:
        return [
            self.row(
                f"member-{member.id}",
                member.name or _("Seat {n}").format(n=member.seat),
                partial(self._turn, member),
                mark="✓" if member.id in self._behind.here else "–",
            )
            for member in self._behind.members
        ]

    def feet(self) -> list[Control]:
        return [
            self.button("back", _("Done"), self.back, "primary"),
            self.button("all", _("Everybody"), self._everybody),
            self.button("none", _("Nobody"), self._behind.here.clear),
        ]

    def _turn(self, member: Member) -> None:
        self._behind.here ^= {member.id}

    def _everybody(self) -> None:
        self._behind.here |= {member.id for member in self._behind.members}

    def leave_page(self) -> None:
        self.stage.show(self._behind)
