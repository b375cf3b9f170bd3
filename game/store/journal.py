# SPDX-License-Identifier: MIT
"""Events of rounds on their way into the store."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import func, select

from game.rounds import Event
from game.store.connections import Connections
from game.store.delivery import ContinuedElsewhere, Item, round_target
from game.store.errors import StoreError
from game.store.outbox import Outbox
from game.store.rows import event_from_row, event_to_row, nothing
from game.store.tables import EVENTS, RECORDS


class Journal:
    """Stateful: numbers the events of the rounds that are under way here.

    The number is given here and not by the database. So an event whose commit went through
    but was not confirmed is not written twice, and two copies of the game that go on with
    the same round cannot mix their events: the second one is told.
    """

    def __init__(self, connections: Connections, outbox: Outbox) -> None:
        self._connections = connections
        self._outbox = outbox
        self._next: dict[int, int] = {}  # by record

    def add(self, record_id: int, event: Event) -> bool:
        """Write an event, after those that wait; False when it has to wait in memory too.

        Raises:
            RoundTaken: another copy has gone on with the round; the event is kept apart.
            StoreError: there is no such round.
            ValueError: the event's time is no finite number.
        """
        if record_id not in self._next:
            waiting = self.waiting(record_id)
            self.go_on_after(record_id, self._count(record_id), waiting)
        seq = self._next[record_id]
        item = Item("event", round_target(record_id), seq, event_to_row(record_id, seq, event))
        self._next[record_id] += 1
        try:
            return self._outbox.put(item)
        except ContinuedElsewhere:
            self._next.pop(record_id, None)
            raise

    def end(self, record_id: int, values: Mapping[str, Any]) -> bool:
        """Send the end of a round after its events; False when the caller has to write it."""
        if self._outbox.direct or record_id not in self._next:
            return False
        body = {"id": record_id, **values}
        self._outbox.put(Item("end", round_target(record_id), self._next[record_id], body))
        return True

    def waiting(self, record_id: int) -> tuple[Item, ...]:
        """What waits for a round. Ask before the store is read: it may be delivered meanwhile."""
        return self._outbox.waiting(round_target(record_id))

    def go_on_after(
        self, record_id: int, stored: int, waiting: Iterable[Item] = ()
    ) -> tuple[Event, ...]:
        """Told how many events of a round are stored, give those that follow and still wait."""
        self._outbox.go_on(round_target(record_id))
        events: list[Event] = []
        for item in waiting:
            if item.kind == "event" and item.seq == stored + len(events):
                events.append(event_from_row(item.body))
        self._next[record_id] = stored + len(events)
        return tuple(events)

    def forget(self, record_id: int) -> None:
        """Drop what waits for a round."""
        self._outbox.drop(round_target(record_id))
        self._next.pop(record_id, None)

    def _count(self, record_id: int) -> int:
        with self._connections.transaction() as connection:
            found = connection.scalar(select(RECORDS.c.id).where(RECORDS.c.id == record_id))
            if found is None:
                raise no_round(record_id, self._connections)
            count = select(func.count()).where(EVENTS.c.record == record_id)
            return connection.execute(count).scalar_one()


def no_round(record_id: int, connections: Connections) -> StoreError:
    """The error of a round's number that is not in the store."""
    mend = "The number of a round stands at the foot of its result page."
    return nothing("round", record_id, connections, mend)
