# SPDX-License-Identifier: MIT
"""A heat under way, kept line by line, and gone on with after the window was closed."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from typing import Any

from game.heats import (
    Heat,
    HeatEvent,
    HeatPhase,
    HeatSetup,
    HeatStep,
    Join,
    begin,
    event_from_json,
    event_to_json,
    step,
)
from game.heats.chain import hash_after, hash_of_line, line
from game.heats.standings import Shows
from game.rounds import Pause, Tick
from game.store import HeatEntry, HeatTaken, KeptHeat, School

_SILENT_S = 5.0  # of the clock, the most that is lost when the process is killed


@dataclass(frozen=True)
class HeatOptions:
    """How a heat is shown and led. Nothing here changes what anybody's answers are worth.

    Args:
        shows: what the projector shows of the standings.
        pulled: a keyboard that is pulled out pauses the heat; else it goes on for the others.
        title: of the class.
        best: the class's best mean score in earlier heats of the kind; None for none.
    """

    shows: Shows = Shows.PODIUM
    pulled: bool = True
    title: str = ""
    best: float | None = None

    @classmethod
    def from_json(cls, data: object) -> HeatOptions:
        """What was kept; whatever is unknown or missing is as usual."""
        kept = data if isinstance(data, Mapping) else {}
        good: dict[str, Any] = {
            name: kept[name]
            for name, kind in (("pulled", bool), ("title", str), ("best", float))
            if isinstance(kept.get(name), kind)
        }
        if kept.get("shows") in tuple(Shows):
            good["shows"] = Shows(kept["shows"])
        return cls(**good)


def titles_of(kept: KeptHeat) -> tuple[str, str]:
    """What its class was called and what its level; empty where it does not say."""
    tables = (kept.setup.get("manners"), kept.setup.get("level"))
    titles = [table.get("title") if isinstance(table, dict) else "" for table in tables]
    group, level = (title if isinstance(title, str) else "" for title in titles)
    return group, level


def events_of(kept: KeptHeat) -> list[HeatEvent]:
    """The events of a heat, from its lines.

    Raises:
        ValueError: a line is damaged; the message says which.
    """
    events = []
    for entry in kept.entries:
        try:
            events.append(event_from_json(json.loads(entry.line)))
        except (ValueError, RecursionError) as error:
            raise ValueError(f"its line {entry.seq} is damaged ({error})") from None
    return events


class LiveHeat:
    """Stateful: a heat being played, on a clock of its own, and its record in the store.

    The heat's clock starts at 0 with the heat; :meth:`time` reads it from the game's clock. Every
    event is taken in first; :meth:`keep` then writes all that came since, in one transaction. The
    screens call it after every turn of their loop, so that nothing waits for a next event. The
    hashes are those of :mod:`game.heats.chain`; names stand in the lines, and outside the hashes.
    """

    def __init__(
        self, school: School, name: str, setup: HeatSetup, manners: HeatOptions, zero: float
    ) -> None:
        self.school, self.name = school, name
        self.setup, self.manners = setup, manners
        self.class_id: int | None = None
        self.began = datetime.now(UTC)
        self.heat: Heat = begin(setup)
        self._zero = zero
        self.chain = hash_after("", setup.nameless.to_json())
        self.events: list[HeatEvent] = []
        self._lines = 0
        self._unkept: list[HeatEntry] = []
        self.forsaken = False
        """Another copy of the game goes on with it: nothing more is written here."""

    @classmethod
    def begin(
        cls,
        setup: HeatSetup,
        manners: HeatOptions,
        school: School,
        now: float,
        class_id: int | None = None,
    ) -> LiveHeat:
        """A new heat.

        Raises:
            LevelFaults, EmptyPool: it cannot be dealt.
            StoreError: the store cannot be written.
        """
        live = cls(school, str(uuid.uuid4()), setup, manners, now)
        kept = setup.to_json() | {"manners": asdict(manners)}
        live.class_id = class_id
        school.begin_heat(live.name, kept, live.began, class_id)
        return live

    @classmethod
    def resume(cls, kept: KeptHeat, school: School, now: float) -> LiveHeat:
        """A heat that was broken off, from its lines; its clock waits at the last.

        Raises:
            ValueError, LevelFaults, EmptyPool: what was kept is damaged.
        """
        setup = HeatSetup.from_json(kept.setup)
        live = cls(school, kept.uuid, setup, HeatOptions.from_json(kept.setup.get("manners")), now)
        live.class_id, live.began = kept.class_id, kept.started
        last = 0.0
        for entry, event in zip(kept.entries, events_of(kept), strict=True):
            live.heat = step(live.heat, event).heat
            last = max(last, event.t)
            live.events.append(event)
            live._lines, live.chain = entry.seq + 1, entry.hash
        live._zero = now - last
        if live.heat.phase in (HeatPhase.RUNNING, HeatPhase.COUNT_IN) and live.heat.paused is None:
            live.feed(Pause(last))  # the clock waits until the class is ready
            live.keep()
        return live

    def time(self, now: float) -> float:
        """The heat's clock, seconds, when the game's clock says `now`."""
        return max(0.0, now - self._zero)

    def feed(self, event: HeatEvent) -> HeatStep:
        """Take in an event; of the ticks that changed nothing, one is kept now and then."""
        done = step(self.heat, event)
        if isinstance(event, Tick) and done.heat is self.heat and not self._silent(event.t):
            return done
        self.heat = done.heat
        self.events.append(event)
        text = bare = line(event_to_json(event))
        if isinstance(event, Join):
            bare = line(event_to_json(replace(event, seat=event.seat.nameless)))
        self.chain = hash_of_line(self.chain, bare)
        self._unkept.append(HeatEntry(self._lines, text, self.chain))
        self._lines += 1
        return done

    def _silent(self, t: float) -> bool:
        """Whether the clock has run so long without a line that a kill would turn it back."""
        return self._runs and t - self.events[-1].t >= _SILENT_S

    @property
    def _runs(self) -> bool:
        return self.heat.phase is HeatPhase.RUNNING and self.heat.paused is None

    def leave(self, now: float) -> None:
        """The window goes on to something else, or is closed: the clock stops here.

        Raises:
            StoreError: what came before could not be written.
        """
        with suppress(HeatTaken):  # then the clock is another window's
            self.keep()
            if self._runs:
                self.feed(Pause(self.time(now)))
                self.keep()

    def keep(self) -> None:
        """Write what came since the last time; what cannot be written now waits in the store."""
        if self._unkept and not self.forsaken:
            entries, self._unkept = self._unkept, []
            self.school.append_heat_entries(self.name, entries)

    def finish(self, result: Any) -> None:
        """Keep the result of the ended heat."""
        self.keep()
        self.school.finish_heat(self.name, result)
