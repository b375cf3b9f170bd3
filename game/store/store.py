# SPDX-License-Identifier: MIT
"""The store: readers, settings, and every round press by press."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict, fields
from datetime import UTC, date, datetime, tzinfo
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar

from sqlalchemy import (
    Connection,
    Row,
    RowMapping,
    Update,
    exc,
    func,
    insert,
    select,
    update,
)

from game import __version__
from game.reader.names import clean_name, folded
from game.rounds import Event, Terms
from game.store.connections import Connections
from game.store.delivery import Item, round_target
from game.store.errors import StoreError
from game.store.journal import Journal, no_round
from game.store.life import Life
from game.store.naming import naming
from game.store.opening import open_connections
from game.store.outbox import Outbox
from game.store.place import find_place
from game.store.rows import (
    aware,
    change_row,
    event_from_row,
    figures_from_row,
    name_of,
    new_id,
    nothing,
    record_from_row,
)
from game.store.school import School
from game.store.settings import KeptSettings
from game.store.tables import EVENTS, READERS, RECORDS
from game.store.trial import StoreTrial, try_place
from game.store.values import (
    Best,
    Reader,
    Record,
    ResultSummary,
    RoundFigures,
    RoundState,
    terms_to_json,
)
from game.words.dates import local

_OF_BEST = RECORDS.c.mean_points.desc(), RECORDS.c.started, RECORDS.c.id
_OF_A_BEST = [RECORDS.c[name] for name in ("id", "level_id", "kind", "mean_points", "started")]
_MOST_POINTS = 1e9
_ASIDE = "It stays in the store, and is left out."
_T = TypeVar("_T")
_NEWEST_FIRST = RECORDS.c.started.desc(), RECORDS.c.id.desc()
_FIGURES = [RECORDS.c[field.name] for field in fields(RoundFigures)]


class Store(KeptSettings):
    """Stateful: holds connections, and the events that could not be written yet.

    Use one from one thread at a time. Several copies of the game may have one store open at
    once. Every method raises :class:`StoreError` when the database refuses.
    """

    def __init__(
        self,
        connections: Connections,
        outbox: Outbox,
        now: Callable[[], datetime],
    ) -> None:
        super().__init__(connections)
        self._outbox = outbox
        self._journal = Journal(connections, outbox)
        self.school = School(connections, outbox)
        """Classes and heats."""
        self.life = Life(connections)
        """What is under way."""
        self._now = now

    @classmethod
    def open(
        cls,
        url_or_path: str | Path | None = None,
        now: Callable[[], datetime] | None = None,
        *,
        renew: bool = True,
    ) -> Store:
        """Open a store, or begin one where there is none.

        Args:
            url_or_path: None for what STAVEWISE_STORE says, else the user's data folder.
            now: the time, UTC; it names a file that is kept aside and dates new readers.
            renew: whether a damaged file is kept aside and a fresh one begun in its place.

        Raises:
            StoreError: it cannot be opened, is locked, or a newer game made it. A damaged
                file is no error, unless `renew` is false: see :attr:`notices`.
        """
        now = now or (lambda: datetime.now(UTC))
        connections = open_connections(find_place(url_or_path), now, renew)
        try:
            return cls(connections, Outbox(connections, now), now)
        except BaseException:
            connections.close()
            raise

    def tried(self) -> StoreTrial:
        """Whether something can be written where this store is, and read back.

        Raises:
            StoreError: it cannot.
        """
        return try_place(self._connections.place)

    @property
    def place(self) -> str:
        """Where it is, as shown to people."""
        return self._connections.place.name

    @property
    def notices(self) -> tuple[str, ...]:
        """Sentences to show on screen: what is damaged and was set aside, events that wait."""
        waiting = self._outbox.notice
        return (*self._connections.said, *(() if waiting is None else (waiting,)))

    def tell(self, hear: Callable[[str], object]) -> None:
        """Call this with every sentence that is added to the notices from now on."""
        self._connections.tell = hear

    @property
    def pending(self) -> int:
        """How many events wait because they cannot be written now."""
        return len(self._outbox)

    @property
    def unsaved(self) -> int:
        """How many of these are in memory alone, and would be lost with the process."""
        return self._outbox.unsaved

    @property
    def waits(self) -> str | None:
        """A sentence about what waits, and where."""
        return self._outbox.notice

    def try_again(self) -> None:
        """Write what waits, if that is possible at once.

        Raises:
            RoundTaken: as :meth:`append`.
        """
        self._outbox.try_again()

    def close(self) -> None:
        """Write what waits, and close. What waits in a file outlives it.

        Raises:
            StoreError: something cannot be written; the store stays open, to try again.
        """
        self._outbox.close()
        self.life.close()
        self._connections.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    # Readers

    def add_reader(self, name: str, created: datetime | None = None) -> Reader:
        """A new reader; `created` is now unless given.

        Raises:
            NameRefused: the name is taken (capitals aside), or cannot be one.
        """
        name = clean_name(name)
        row = {
            "name": name,
            "folded": folded(name),
            "created": aware(created or self._now()),
        }
        with naming(name, "a reader"), self._connections.transaction() as connection:
            number = new_id(connection, insert(READERS).values(row))
        return Reader(number, name)

    def readers(self, include_archived: bool = False) -> tuple[Reader, ...]:
        """The readers, in the order they came."""
        query = select(READERS).order_by(READERS.c.id)
        if not include_archived:
            query = query.where(~READERS.c.archived)
        with self._connections.transaction() as connection:
            return tuple(
                Reader(row.id, name_of(row, "Reader"), bool(row.archived))
                for row in connection.execute(query)
            )

    def rename_reader(self, reader_id: int, name: str) -> None:
        """Give a reader another name.

        Raises:
            NameRefused: as :meth:`add_reader`.
        """
        name = clean_name(name)
        with naming(name, "a reader"):
            change_row(self._connections, READERS, reader_id, name=name, folded=folded(name))

    def archive_reader(self, reader_id: int, archived: bool = True) -> None:
        """Offer a reader no longer, or again; no record is lost."""
        change_row(self._connections, READERS, reader_id, archived=archived)

    # Rounds

    def begin(self, reader_id: int, terms: Terms, started: datetime) -> int:
        """Begin the record of a round; its number."""
        row = {
            "reader": reader_id,
            "level_id": terms.level_id,
            "kind": terms.kind,
            "terms": terms_to_json(terms),
            "state": RoundState.OPEN,
            "started": aware(started),
            "app_version": __version__,
        }
        try:
            with self._connections.transaction() as connection:
                number = new_id(connection, insert(RECORDS).values(row))
        except exc.IntegrityError:
            raise nothing("reader", reader_id, self._connections) from None
        self._journal.go_on_after(number, 0)
        return number

    def append(self, record_id: int, event: Event) -> bool:
        """Keep an event. True: it is written, and outlives a kill of the process.

        False: it cannot be written now (the disk is full or gone, another program holds the
        store), nor to a spare file on another disk. It waits in memory, in order, for the next
        append, :meth:`finish`, :meth:`try_again` or :meth:`close`; :attr:`notices` says so.
        Where the store is on a server, "written" is to this machine's disk, and a thread
        delivers it: nobody who plays waits for a network.

        Raises:
            RoundTaken: another copy of the game has gone on with the same round.
            StoreError: there is no such round.
            ValueError: the event's time is no finite number.
        """
        return self._journal.add(record_id, event)

    def finish(self, record_id: int, summary: ResultSummary) -> None:
        """Write what waits, then the result. After an error it may be tried again."""
        figures = asdict(summary)
        if any(isinstance(n, float) and not math.isfinite(n) for n in figures.values()):
            raise ValueError(f"figures are finite numbers; found {summary}")
        values = {"state": RoundState.FINISHED, **figures}
        if not self._journal.end(record_id, values):
            self._outbox.flush(round_target(record_id))
            self._change_record(record_id, update(RECORDS).values(values))

    def discard(self, record_id: int) -> None:
        """Offer a round no longer. A finished one stays as it is."""
        values = {"state": RoundState.DISCARDED}
        if not self._journal.end(record_id, values):
            self._journal.forget(record_id)
            unfinished = RECORDS.c.state != RoundState.FINISHED
            self._change_record(record_id, update(RECORDS).where(unfinished).values(values))

    def _change_record(self, record_id: int, change: Update) -> None:
        this = RECORDS.c.id == record_id
        with self._connections.transaction() as connection:
            if connection.execute(change.where(this)).rowcount:
                return
            if connection.scalar(select(RECORDS.c.id).where(this)) is None:
                raise no_round(record_id, self._connections)

    def open_rounds(self, reader_id: int | None = None) -> tuple[Record, ...]:
        """The unfinished rounds with their events, newest first; None: of all readers.

        A damaged one is set aside: it stays in the store, discarded.
        """
        query = select(RECORDS).where(RECORDS.c.state == RoundState.OPEN).order_by(*_NEWEST_FIRST)
        if reader_id is not None:
            query = query.where(RECORDS.c.reader == reader_id)
        with self._connections.transaction() as connection:
            rows = connection.execute(query).all()
            waiting = {row.id: self._journal.waiting(row.id) for row in rows}
            found, damaged = [], []
            for row in rows:
                try:
                    found.append(self._with_events(connection, row, waiting[row.id]))
                except StoreError as error:
                    damaged.append((row.id, error.what))
        for number, why in damaged:
            self.set_aside_round(number, why)
        return tuple(found)

    def set_aside_round(self, record_id: int, why: object) -> None:
        """Offer a round that cannot go on no longer, and say so."""
        self.discard(record_id)
        self._connections.say(f"Round {record_id} cannot go on: {why}. {_ASIDE}")

    def record(self, record_id: int) -> Record:
        """A round with its events, those that still wait included."""
        waiting = self._journal.waiting(record_id)
        with self._connections.transaction() as connection:
            query = select(RECORDS).where(RECORDS.c.id == record_id)
            row = connection.execute(query).one_or_none()
            if row is None:
                raise no_round(record_id, self._connections)
            return self._with_events(connection, row, waiting)

    def records(
        self,
        reader_id: int,
        level_id: str | None = None,
        limit: int | None = 100,
        state: RoundState | None = RoundState.FINISHED,
    ) -> tuple[Record, ...]:
        """A reader's rounds without their events, newest first.

        Args:
            reader_id: whose.
            level_id: of this level only.
            limit: at most so many; None for all.
            state: in this state only; None for any.
        """
        query = select(RECORDS).where(RECORDS.c.reader == reader_id)
        if level_id is not None:
            query = query.where(RECORDS.c.level_id == level_id)
        if state is not None:
            query = query.where(RECORDS.c.state == state)
        with self._connections.transaction() as connection:
            rows = connection.execute(query.order_by(*_NEWEST_FIRST).limit(limit)).all()
        return tuple(self._sound(rows, self._checked))

    def figures(self, reader_id: int) -> tuple[RoundFigures, ...]:
        """The figures of a reader's finished rounds, oldest first; neither terms nor events."""
        query = (
            select(*_FIGURES)
            .where(RECORDS.c.reader == reader_id, RECORDS.c.state == RoundState.FINISHED)
            .order_by(RECORDS.c.started, RECORDS.c.id)
        )
        with self._connections.transaction() as connection:
            rows = connection.execute(query).all()
        return tuple(self._sound(rows, figures_from_row))

    def _sound(self, rows: Iterable[Row[Any]], make: Callable[[Row[Any]], _T]) -> Iterator[_T]:
        """What is made of rows of rounds; a damaged one is left out, and said."""
        for row in rows:
            try:
                yield make(row)
            except (StoreError, ValueError):
                self._connections.say(f"Round {row.id} is damaged. {_ASIDE}")

    def _with_events(
        self, connection: Connection, row: Row[Any], waiting: tuple[Item, ...]
    ) -> Record:
        query = select(EVENTS).where(EVENTS.c.record == row.id).order_by(EVENTS.c.seq)
        rows = connection.execute(query).mappings().all()
        return self._checked(row, rows, self._journal.go_on_after(row.id, len(rows), waiting))

    def _checked(
        self, row: Row[Any], rows: Iterable[RowMapping] = (), waiting: tuple[Event, ...] = ()
    ) -> Record:
        try:
            return record_from_row(row, [*map(event_from_row, rows), *waiting])
        except ValueError as error:
            raise StoreError(
                self.place,
                f"round {row.id} is damaged: {error}",
                "It is left out; to have it again, put a copy of the store in its place.",
            ) from error

    # Bests

    def best(self, reader_id: int, level_id: str, kind: str) -> Best | None:
        """A reader's best on a level in rounds of one kind; None before the first.

        The finished and complete round with the highest mean points. Of equals the earlier
        one stays the best (by its start, then by its number): a best must be beaten.
        """
        return self.bests(reader_id, level_id).get((level_id, kind))

    def bests(self, reader_id: int, level_id: str | None = None) -> Mapping[tuple[str, str], Best]:
        """A reader's bests by (level id, kind), by the rule of :meth:`best`."""
        place = func.row_number().over(
            partition_by=(RECORDS.c.level_id, RECORDS.c.kind), order_by=_OF_BEST
        )
        points = RECORDS.c.mean_points
        ranked = select(*_OF_A_BEST, place.label("place")).where(
            RECORDS.c.reader == reader_id,
            RECORDS.c.state == RoundState.FINISHED,
            RECORDS.c.complete,
            points.between(-_MOST_POINTS, _MOST_POINTS),  # in SQLite a damaged text is above all
        )
        if level_id is not None:
            ranked = ranked.where(RECORDS.c.level_id == level_id)
        inner = ranked.subquery()
        with self._connections.transaction() as connection:
            rows = connection.execute(select(inner).where(inner.c.place == 1)).all()
        return {
            (row.level_id, row.kind): Best(row.id, row.mean_points, row.started)
            for row in rows
            if row.started is not None
        }

    def pass_days(self, reader_id: int, zone: tzinfo | None = None) -> Mapping[str, int]:
        """On how many different days a reader passed each level; levels never passed are absent.

        Args:
            reader_id: whose.
            zone: whose days; None for this machine's.
        """
        query = select(RECORDS.c.level_id, RECORDS.c.started).where(
            RECORDS.c.reader == reader_id,
            RECORDS.c.state == RoundState.FINISHED,
            RECORDS.c.passed,
        )
        days: defaultdict[str, set[date]] = defaultdict(set)
        with self._connections.transaction() as connection:
            for level_id, started in connection.execute(query):
                if started is not None:
                    days[level_id].add(local(started, zone).date())
        return {level_id: len(dates) for level_id, dates in days.items()}
