# SPDX-License-Identifier: MIT
"""Events on their way into the store."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from sqlalchemy import exc, func, insert, select

from game.rounds import Event
from game.store.connections import Connections
from game.store.errors import StoreError, explain
from game.store.rows import event_from_row, event_to_row
from game.store.tables import EVENTS, RECORDS

_INSERT = insert(EVENTS)


class RoundTaken(StoreError):
    """Another copy of the game has gone on with the round."""


class _Numbered(NamedTuple):
    record: int
    seq: int
    event: Event


class Journal:
    """Stateful: numbers the events of each round, and holds those that are not yet written.

    The number is given here and not by the database. So an event whose commit went through
    but was not confirmed is not written twice, and two copies of the game that go on with
    the same round cannot mix their events: the second one is told.
    """

    def __init__(self, connections: Connections) -> None:
        self._connections = connections
        self._next: dict[int, int] = {}  # by record
        self._waiting: list[_Numbered] = []
        self.trouble: StoreError | None = None
        """Why events wait; None when none do."""

    def __len__(self) -> int:
        """How many events wait."""
        return len(self._waiting)

    def add(self, record_id: int, event: Event) -> bool:
        """Write an event, after those that wait; False when it has to wait too.

        Raises:
            RoundTaken: another copy has gone on with the round; the event is dropped.
            StoreError: there is no such round.
            ValueError: the event's time is no finite number.
        """
        if record_id not in self._next:
            self._next[record_id] = self._count(record_id)
        numbered = _Numbered(record_id, self._next[record_id], event)
        event_to_row(*numbered)
        self._waiting.append(numbered)
        self._next[record_id] += 1
        try:
            self.flush(hasty=True)
        except RoundTaken:
            raise
        except StoreError:
            return False
        return True

    def flush(self, *, hasty: bool = False) -> None:
        """Write all that waits, in one transaction.

        Raises:
            RoundTaken: as :meth:`add`.
            StoreError: it cannot be written now, and goes on waiting.
        """
        if not self._waiting:
            return
        try:
            self._write(hasty)
        except RoundTaken:
            raise
        except StoreError as error:
            self.trouble = error
            raise

    def _write(self, hasty: bool) -> None:
        rows = [event_to_row(*numbered) for numbered in self._waiting]
        try:
            with self._connections.transaction(hasty=hasty) as connection:
                connection.execute(_INSERT, rows)
        except exc.IntegrityError as error:
            if not self._settle(hasty):
                raise explain(error, self._connections.place.name) from error
            self._write(hasty)
        else:
            self._keep(lambda numbered: False)

    def go_on_after(self, record_id: int, stored: int) -> tuple[Event, ...]:
        """Told how many events of a round are stored, give those that follow and still wait."""
        waiting = tuple(
            event for record, seq, event in self._waiting if record == record_id and seq >= stored
        )
        self._next[record_id] = stored + len(waiting)
        return waiting

    def forget(self, record_id: int) -> None:
        """Drop what waits for a round."""
        self._keep(lambda numbered: numbered.record != record_id)
        self._next.pop(record_id, None)

    def _keep(self, wanted: Callable[[_Numbered], bool]) -> None:
        self._waiting = [numbered for numbered in self._waiting if wanted(numbered)]
        if not self._waiting:
            self.trouble = None

    def _count(self, record_id: int) -> int:
        with self._connections.transaction() as connection:
            found = connection.scalar(select(RECORDS.c.id).where(RECORDS.c.id == record_id))
            if found is None:
                raise no_round(record_id, self._connections.place.name)
            count = select(func.count()).where(EVENTS.c.record == record_id)
            return connection.execute(count).scalar_one()

    def _settle(self, hasty: bool) -> bool:
        """Some waiting event's number is in use: by itself, already written, or by another's.

        True when something was already written, so that the rest may be tried again.
        """
        written: set[_Numbered] = set()
        taken: set[int] = set()
        with self._connections.transaction(hasty=hasty) as connection:
            for numbered in self._waiting:
                same = EVENTS.c.record == numbered.record, EVENTS.c.seq == numbered.seq
                row = connection.execute(select(EVENTS).where(*same)).mappings().one_or_none()
                if row is None:
                    continue
                if event_from_row(row) == numbered.event:
                    written.add(numbered)
                else:
                    taken.add(numbered.record)
        for record_id in taken:
            self.forget(record_id)
        self._keep(lambda numbered: numbered not in written)
        if taken:
            raise RoundTaken(
                self._connections.place.name,
                "another copy of the game has gone on with this round",
                "Go on with it there; this copy leaves it.",
            )
        return bool(written)


def no_round(record_id: int, place: str) -> StoreError:
    """The error of a round's number that is not in the store."""
    return StoreError(
        place,
        f"there is no round {record_id}",
        "The number of a round stands at the foot of its result page.",
    )
