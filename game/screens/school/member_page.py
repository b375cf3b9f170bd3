# SPDX-License-Identifier: MIT
"""Somebody in a class: name, seat, and whether they are still offered."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from game.screens.school.archives import Archives
from game.store import Member, StoreError
from game.ui.list_page import Field
from game.ui.widgets import Control
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.screen import Screen
    from game.ui.stage import Stage


class MemberPage(Archives):
    """Stateful: one member of a class."""

    name = "member"

    def __init__(self, stage: Stage, member: Member, behind: Screen) -> None:
        super().__init__(stage)
        self._member, self._behind = member, behind

    @property
    def title(self) -> str:
        return self._member.name or _("Seat {n}").format(n=self._member.seat)

    @property
    def below_title(self) -> str:
        if self.asked:
            return _("They will be offered no more. Nothing is lost; they can be brought back.")
        if self._member.archived:
            return _("Archived: all they played is kept, and they are not offered.")
        return ""

    def rows(self) -> list[Control]:
        member = self._member
        seat = _("none of their own") if member.seat is None else str(member.seat)
        rows = [
            self.row("rename", _("Name"), self._ask, member.name or _("none is kept")),
            self.row("seat", _("Seat"), lambda: self._turn_seat(1), seat, adjust=self._turn_seat),
        ]
        if member.name:
            rows.append(self.row("forget", _("Keep only the seat's number"), self._forget))
        return [*rows, self.archive_row(_("Archive"), _("Bring back"))]

    def feet(self) -> list[Control]:
        return [self.button("back", _("Back"), self.back, "primary")]

    def leave_page(self) -> None:
        self.stage.go.show(self._behind)

    def _ask(self) -> None:
        self.ask(Field(_("What is the name?"), self._rename, self._member.name))

    def _rename(self, name: str) -> str:
        school = self.stage.store.school
        complaint = self._try(lambda: school.rename_member(self._member.id, name))
        if not complaint:
            self._member = replace(self._member, name=name)
        return complaint

    def _turn_seat(self, by: int) -> None:
        seat = (self._member.seat or 0) + by
        wanted = seat if seat >= 1 else None
        school = self.stage.store.school
        complaint = self._try(lambda: school.seat_member(self._member.id, wanted))
        if complaint:
            self.say(complaint)
        else:
            self._member = replace(self._member, seat=wanted)

    def _forget(self) -> None:
        if self._member.seat is None:
            self.say(_("Give them a seat first: without a name it is all that is left."))
            return
        complaint = self._rename("")
        if complaint:
            self.say(complaint)

    @property
    def is_archived(self) -> bool:
        return self._member.archived

    def archive(self, archived: bool) -> None:
        self.stage.store.school.archive_member(self._member.id, archived)
        self._member = replace(self._member, archived=archived)

    def _try(self, change: Callable[[], None]) -> str:
        self.note = ""
        try:
            change()
        except (StoreError, ValueError) as error:
            return str(error)
        return ""
