# SPDX-License-Identifier: MIT
"""A reader's rounds on one level over time, from the figures that were kept."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from game.levels import EmptyPool, LevelFaults
from game.rounds import COMPARED, Round
from game.store import RoundFigures, Store, StoreError
from game.words.dates import local

RECENT_ROUNDS = 10
"""The latest rounds that say which signs are slow now."""

_AHEAD = timedelta(days=1)  # of the clock: beyond, it was wrong then or is wrong now


@dataclass(frozen=True, slots=True)
class Week:
    """The best round of a week.

    Args:
        name: of the week, as ISO 8601 has it: ``2026-W48``.
        rounds: how many were played in it.
        best: the one with the highest score; of equals the earlier. Only whole rounds whose
            points compare count; None where there was none.
        apart: where there was none, the highest of the whole rounds whose points do not compare
            (endless ones, those without a clock), if any.
    """

    name: str
    rounds: int
    best: RoundFigures | None
    apart: RoundFigures | None = None


@dataclass(frozen=True)
class History:
    """A reader's finished rounds on a level.

    Args:
        level_id: of the level.
        rounds: all of them, in order of time.
        weeks: those in which something was played, in order of time.
        ahead: ids of rounds that are dated in the future, as by a clock that was set wrong. They
            are listed, and left out of what is plotted.
    """

    level_id: str
    rounds: tuple[RoundFigures, ...]
    weeks: tuple[Week, ...]
    ahead: frozenset[int] = frozenset()

    @property
    def plotted(self) -> tuple[RoundFigures, ...]:
        """The rounds whose dates can be believed."""
        return tuple(one for one in self.rounds if one.id not in self.ahead)


def compares(figures: RoundFigures) -> bool:
    """Whether the score of a round compares with others: it is whole, and its points are a mean
    over answers against the level's limit (so no endless round, and none without a clock)."""
    return figures.complete and figures.kind.startswith(COMPARED)


def history_of(
    figures: Iterable[RoundFigures], level_id: str, now: datetime, zone: tzinfo | None = None
) -> History:
    """The history of one level.

    Args:
        figures: rounds of one reader, in any order and of any levels.
        level_id: which of them.
        now: UTC.
        zone: whose weeks; None for this machine's.
    """
    found = sorted(
        (one for one in figures if one.level_id == level_id), key=lambda one: (one.started, one.id)
    )
    by_week: dict[str, list[RoundFigures]] = {}
    for one in found:
        by_week.setdefault(week_of(one.started, zone), []).append(one)
    weeks = []
    for name in sorted(by_week):
        comparing = [one for one in by_week[name] if compares(one)]
        best = max(comparing, key=lambda one: one.score, default=None)  # the first of equals
        whole = [one for one in by_week[name] if one.complete and best is None]
        apart = max(whole, key=lambda one: one.score, default=None)
        weeks.append(Week(name, len(by_week[name]), best, apart))
    ahead = frozenset(one.id for one in found if one.started - now > _AHEAD)
    return History(level_id, tuple(found), tuple(weeks), ahead)


def histories_of(
    figures: Iterable[RoundFigures], now: datetime, zone: tzinfo | None = None
) -> tuple[History, ...]:
    """The history of every level, the one played last first."""
    every = list(figures)
    last: dict[str, datetime] = {}
    for one in every:
        last[one.level_id] = max(one.started, last.get(one.level_id, one.started))
    order = sorted(last, key=lambda level_id: (last[level_id], level_id), reverse=True)
    return tuple(history_of(every, level_id, now, zone) for level_id in order)


def day_of(when: datetime, zone: tzinfo | None = None) -> date:
    """The day on which it was."""
    return local(when, zone).date()


def week_of(when: datetime, zone: tzinfo | None = None) -> str:
    """The week of a time, as ISO 8601 has it: weeks begin on Monday, the first has 4 January."""
    year, week, _day = day_of(when, zone).isocalendar()
    return f"{year:04d}-W{week:02d}"


def recent_rounds(store: Store, history: History, number: int = RECENT_ROUNDS) -> tuple[Round, ...]:
    """The latest rounds of a history, played again from their events.

    Those that cannot be read or dealt any more are left out.
    """
    found = []
    for figures in history.rounds[-number:]:
        try:
            record = store.record(figures.id)
            found.append(record.terms.replay(record.events))
        except (LevelFaults, EmptyPool, StoreError):
            continue
    return tuple(found)
