# SPDX-License-Identifier: MIT
"""The way through the screens of a class: its list, its heats, and what is kept of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from game.files.resources import documents_folder
from game.heats import HeatPhase, PlayMode, Seat
from game.heats.roster import ClassList
from game.heats.standings import SeatOutcome, standings_of
from game.levels import EmptyPool, LevelFaults
from game.screens.school.class_page import ClassPage
from game.screens.school.classes import Classes, broken_off
from game.screens.school.heat_choices import seats_of
from game.screens.school.heat_offer import HeatOffer
from game.screens.school.heat_papers import write_papers
from game.screens.school.heat_result import HeatResult
from game.screens.school.heat_together import HeatTogether
from game.screens.school.heat_turns import HeatTurns
from game.screens.school.here_today import came_today
from game.screens.school.list_taker import ImportedList
from game.screens.school.paper import paper_of
from game.session.class_lists import is_list
from game.session.live_heat import LiveHeat
from game.store import KeptHeat, SchoolClass, StoreError, heat_target
from game.ui.screen import Screen
from game.words.dates import local
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage


class Classroom:
    """The part of the stage that a teacher works with."""

    def __init__(self, stage: Stage) -> None:
        self._stage = stage
        self.taken: ImportedList | None = (
            None  # the list that was taken in last, until a heat begins
        )
        self._under_way: LiveHeat | None = None

    def open(self, note: str = "", *, good: bool = False) -> None:
        """Go to the classes, with a word on what went wrong or was done, if anything."""
        self._seen()
        screen = Classes(self._stage)
        self._stage.go.show(screen)
        if note:
            screen.say(note, good=good)

    def receive(self, path: Path) -> bool:
        """Take a class list that was dropped on the start page; whether it is one."""
        if not is_list(path):
            return False
        screen = Classes(self._stage)
        self._stage.go.show(screen)
        return screen.dropped(path)

    def open_class(self, one: SchoolClass, note: str = "") -> None:
        """Go to a class, with a word on what was done, if anything was."""
        screen = ClassPage(self._stage, one)
        self._stage.go.show(screen)
        if note and screen.unread is None:
            screen.say(note, good=True)

    def share_out(self, path: Path, roster: ClassList) -> None:
        """Take a list into the classes that it names."""
        screen = Classes(self._stage)
        self._stage.go.show(screen)
        sure = len(roster.groups) == 1 and not roster.unknown  # which class was just asked
        complaint = (screen.take_in if sure else screen.sort_in)(path, roster)
        if complaint:
            screen.say(complaint)

    def leave_heat(self, live: LiveHeat, note: str = "") -> None:
        """From a heat back to its class, with a word on it; to the classes where it has none
        that can be read."""
        try:
            classes = self._stage.store.school.classes(include_archived=True)
        except StoreError as error:
            self.open(str(error))
            return
        one = next((one for one in classes if one.id == live.class_id), None)
        if one is None:
            self.open(note)
        else:
            self.open_class(one, note)

    def unfinished(self) -> tuple[KeptHeat, ...]:
        """The heats that were broken off, newest first, and are under way nowhere; none where the
        store cannot be read."""
        store = self._stage.store
        try:
            found = broken_off(store.school)
            signs = store.life.signs(heat_target(heat.uuid) for heat in found)
        except StoreError:
            return ()
        alive = {target for target, sign in signs.items() if sign.alive}
        return tuple(heat for heat in found if heat_target(heat.uuid) not in alive)

    def open_heat(self, live: LiveHeat, late: Sequence[Seat], *, resumed: bool = False) -> None:
        """Go to a heat."""
        self.taken, self._under_way = None, live
        if live.setup.manner is PlayMode.TOGETHER:
            self._stage.go.show(HeatTogether(self._stage, live, late, resumed=resumed))
        else:
            self._stage.go.show(HeatTurns(self._stage, live, late))

    def _seen(self) -> None:
        """Whoever has a seat in the heat that was under way is here today, also who came late."""
        live, self._under_way = self._under_way, None
        if live is not None and live.class_id is not None:
            seats = [chair.seat.member or "" for chair in live.heat.chairs]
            came_today(self._stage, live.class_id, [int(one) for one in seats if one.isdecimal()])

    def offer(self, kept: KeptHeat, behind: Callable[[], None]) -> None:
        """Ask what is to be done with a heat that was broken off; `behind` goes back."""
        self._stage.go.show(HeatOffer(self._stage, kept, behind))

    def resume(self, kept: KeptHeat) -> None:
        """Go on with a heat that was broken off."""
        school = self._stage.store.school
        try:
            whole = school.heat(kept.uuid)
            live = LiveHeat.resume(whole, school, self._stage.clock.now())
            late = () if kept.class_id is None else school.members(kept.class_id)
        except StoreError as error:
            self.open(str(error))
        except (LevelFaults, EmptyPool, ValueError) as error:
            # It stays in the store, and is not offered again.
            school.discard_heat(kept.uuid)
            self.open(_("This heat cannot go on: {why}").format(why=error))
        else:
            if live.heat.phase is HeatPhase.ENDED:
                self.finish(live)
                return
            members = {chair.seat.member for chair in live.heat.chairs}
            absent = [member for member in late if str(member.id) not in members]
            self.open_heat(live, seats_of(absent), resumed=True)

    def finish(self, live: LiveHeat) -> None:
        """A heat has ended: keep its result and show it. One that nobody played is dropped."""
        self._seen()
        standings = standings_of(live.heat)
        absent = SeatOutcome.DID_NOT_PLAY
        if not any(row.score.slots and row.outcome is not absent for row in standings.rows):
            live.keep()
            live.school.discard_heat(live.name)
            self.leave_heat(live, _("Nobody played, so there is no result."))
            return
        live.finish(
            {
                "level": standings.level_id,
                "kind": standings.kind,
                "mean": standings.mean,
                "total": standings.total,
                "standings": standings.to_json(),
                "chain": live.chain,
            }
        )
        screen = HeatResult(self._stage, live)
        self._stage.go.show(screen)
        screen.keep()

    def review(self, kept: KeptHeat, behind: Screen) -> str:
        """Show the result of an ended heat again; a complaint where it cannot be."""
        school = self._stage.store.school
        try:
            live = LiveHeat.resume(school.heat(kept.uuid), school, self._stage.clock.now())
        except StoreError as error:
            return str(error)
        except (LevelFaults, EmptyPool, ValueError) as error:
            return _("This heat cannot be shown: {why}").format(why=error)
        self._stage.go.show(HeatResult(self._stage, live, behind))
        return ""

    def keep_results(self, live: LiveHeat) -> Path:
        """Write the pages of a heat to look at and to print; the folder that they are in.

        Raises:
            OSError: they cannot be written.
            EngravingError, MissingResource: the installation lacks a part.
        """
        stage = self._stage
        when = local(live.began)
        names, paper = stage.settings.now.names, paper_of(stage.store)
        return write_papers(live, stage.engraver, names, when, documents_folder(), paper)
