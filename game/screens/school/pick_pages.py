# SPDX-License-Identifier: MIT
"""Lists that a heat is prepared with: the levels, the lengths, and who is here today."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING

from game.heats.setup import MOST_SEATS
from game.ui.list_page import Field, ListPage
from game.ui.widgets import Control
from game.words.text import _

if TYPE_CHECKING:
    from game.screens.school.heat_choices import HeatChoices
    from game.store import Member
    from game.ui.stage import Stage


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
        return _("The ladder with your own levels; sheet music becomes one.")

    def rows(self) -> list[Control]:
        return [
            self.row(
                f"level-{rung.level.id}",
                rung.level.title,
                partial(self._take, rung.level.id),
                rung.level.stage,
                mark="✓" if rung.level.id == self._behind.choices.level else "",
            )
            for rung in self.stage.levels.ladder.rungs
        ]

    def feet(self) -> list[Control]:
        music = self.button("music", _("Sheet music"), self._open_music)
        return [self.button("back", _("Back"), self.back), music]

    def _open_music(self) -> None:
        from game.screens.reader.music_files import MusicFiles  # here: few visits need it

        take = partial(self.stage.rounds.open_piece, after=self.takes_level)
        self.stage.go.show(MusicFiles(self.stage, self, take))

    @property
    def takes_level(self) -> Callable[[str], None]:
        return self._behind.takes_level

    def _take(self, level_id: str) -> None:
        self._behind.choose_level(level_id)
        self.leave_page()

    def leave_page(self) -> None:
        self.stage.go.show(self._behind)


class PickLength(ListPage):
    """Stateful: the lengths that a heat can have.

    Args:
        stage: as for all screens.
        behind: the heat being prepared.
        offers: of each length its words, what chooses it, and whether it is the one chosen now.
    """

    name = "pick-length"
    narrow = 820
    columns = 2

    def __init__(
        self,
        stage: Stage,
        behind: HeatChoices,
        offers: Sequence[tuple[str, Callable[[], None], bool]],
    ) -> None:
        super().__init__(stage)
        self._behind, self._offers = behind, tuple(offers)
        now = (place for place, (_words, _take, chosen) in enumerate(offers) if chosen)
        self.focus = f"length-{next(now, 0)}"

    @property
    def title(self) -> str:
        return _("How long?")

    @property
    def below_title(self) -> str:
        return _("As many prompts for everybody, or as many seconds.")

    def rows(self) -> list[Control]:
        return [
            self.row(f"length-{n}", words, partial(self._take, take), mark="✓" if chosen else " ")
            for n, (words, take, chosen) in enumerate(self._offers)
        ]

    def feet(self) -> list[Control]:
        return [self.button("back", _("Back"), self.back)]

    def _take(self, take: Callable[[], None]) -> None:
        take()
        self.leave_page()

    def leave_page(self) -> None:
        self.stage.go.show(self._behind)


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
        here, all_ = len(self._behind.here), len(self._behind.members)
        words = _("{here} of {all}, remembered for today. Whoever comes later can still join.")
        if here > MOST_SEATS:
            words = _(
                "{here} of {all}. A heat has at most {most} seats: choose a range for this one, "
                "and the others for the next."
            )
        return words.format(here=here, all=all_, most=MOST_SEATS)

    def rows(self) -> list[Control]:
        return [
            self.row(
                f"member-{member.id}",
                member.name or _("Seat {n}").format(n=member.seat),
                partial(self._turn, member),
                str(place),  # what a range is made of
                mark="✓" if member.id in self._behind.here else "–",
            )
            for place, member in enumerate(self._behind.members, 1)
        ]

    def feet(self) -> list[Control]:
        return [
            self.button("back", _("Done"), self.back, "primary"),
            self.button("all", _("Everybody"), self._everybody),
            self.button("none", _("Nobody"), self._behind.here.clear),
            self.button("range", _("A range …"), self._ask_range),
        ]

    def _turn(self, member: Member) -> None:
        self._behind.here ^= {member.id}

    def _everybody(self) -> None:
        self._behind.here |= {member.id for member in self._behind.members}

    def _ask_range(self) -> None:
        words = _("Who plays? Their numbers in the list, such as 1-100 or 1-30, 41.")
        self.ask(Field(words, self._take_range, self._next_range()))

    def _next_range(self) -> str:
        """As many as a heat takes, after those that are chosen now; from the first where nobody
        or everybody is."""
        members, here = self._behind.members, self._behind.here
        chosen = [place for place, one in enumerate(members, 1) if one.id in here]
        first = chosen[-1] + 1 if chosen and chosen[-1] < len(members) else 1
        return f"{first}-{min(first + MOST_SEATS - 1, len(members))}"

    def _take_range(self, words: str) -> str:
        members = self._behind.members
        try:
            places = places_of(words, len(members))
        except ValueError as error:
            return str(error)
        self._behind.here.clear()
        self._behind.here.update(members[place - 1].id for place in places)
        self.focus, self.note = "back", ""
        return ""

    def leave_page(self) -> None:
        self.stage.go.show(self._behind)
        self._behind.keep_here()


def places_of(words: str, count: int) -> frozenset[int]:
    """The places of a list that ``1-30, 41`` means.

    Raises:
        ValueError: it means none of a list of `count`; the message says what does.
    """
    wrong = _("Numbers from 1 to {n}, such as 1-30, 41.").format(n=count)
    found = set[int]()
    for part in words.replace(",", " ").replace(";", " ").split():
        match = _RANGE.fullmatch(part)
        first, last = (int(match[1]), int(match[2] or match[1])) if match else (0, 0)
        if not 1 <= first <= last <= count:
            raise ValueError(wrong)
        found.update(range(first, last + 1))
    if not found:
        raise ValueError(wrong)
    return frozenset(found)


_RANGE = re.compile(r"([0-9]{1,6})(?:[-\u2013]([0-9]{1,6}))?")  # also with an en dash
