# SPDX-License-Identifier: MIT
"""Heats, kept line by line."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Row, select

from game.store.connections import Connections
from game.store.delivery import Item, heat_target
from game.store.errors import StoreError
from game.store.outbox import Outbox
from game.store.rows import DAMAGED, aware, nothing, storable
from game.store.tables import GREATEST, HEAT_ENTRIES, HEATS, REFUSED
from game.store.values import RoundState

_LONGEST_ID = 64
_LEFT_OUT = "It stays in the store, and is left out."


@dataclass(frozen=True, slots=True)
class HeatEntry:
    """A line of a heat: `seq` from 0, the exact text, and its hash."""

    seq: int
    line: str
    hash: str


@dataclass(frozen=True, slots=True)
class KeptHeat:
    """A heat. `setup` and `result` are JSON objects that the store does not look into.

    Args:
        uuid: its name anywhere.
        class_id: None for a heat without a class.
        setup: what it was begun with.
        state: open, finished or discarded.
        started: UTC.
        result: None until it is finished.
        entries: in order; empty in a list without entries.
    """

    uuid: str
    class_id: int | None
    setup: Mapping[str, Any]
    state: RoundState
    started: datetime
    result: Any = None
    entries: tuple[HeatEntry, ...] = ()


class KeptHeats:
    """Heats over the connections of a store. What cannot be written waits, as a round does."""

    def __init__(self, connections: Connections, outbox: Outbox) -> None:
        self._connections = connections
        self._outbox = outbox

    def begin_heat(
        self,
        uuid: str,
        setup: Mapping[str, Any],
        started: datetime,
        class_id: int | None = None,
    ) -> bool:
        """Begin the record of a heat. True: it is kept, and outlives a kill of the process.

        Raises:
            HeatTaken: there is another heat of that name.
            ValueError: the setup is no JSON, or the time has no zone.
        """
        if not 0 < len(uuid) <= _LONGEST_ID:
            raise ValueError(f"a heat's name has 1 to {_LONGEST_ID} characters; found {uuid!r}")
        row = {
            "uuid": uuid,
            "class": class_id,
            "setup": _json(setup),
            "state": RoundState.OPEN,
            "started": aware(started).isoformat(),
        }
        return self._outbox.put(Item("heat", heat_target(uuid), 0, row))

    def append_heat_entries(self, uuid: str, entries: Iterable[HeatEntry]) -> bool:
        """Keep lines of a heat, in one go.

        True: they are kept, and outlive a kill of the process. False: they cannot be written
        now and wait in memory, in order, for the next ones or for the store to be closed. A
        line that is there already, with the same text, is not put in twice.

        Raises:
            HeatTaken: another copy of the game has gone on with the heat. These lines are
                kept apart (:meth:`refused`); use the heat no more.
            ValueError: a number or a text that cannot be kept.
        """
        items = []
        for entry in entries:
            if not 0 <= entry.seq <= GREATEST or len(entry.hash) > _LONGEST_ID:
                raise ValueError(f"a line's number or hash cannot be kept: {entry}")
            if not storable(entry.line):
                raise ValueError(f"a line holds what no database keeps: {entry.line!r}")
            row = {"heat": uuid, "seq": entry.seq, "line": entry.line, "hash": entry.hash}
            items.append(Item("entry", heat_target(uuid), entry.seq, row))
        return self._outbox.put(*items)

    def finish_heat(self, uuid: str, result: Any) -> bool:
        """Keep a heat's result, any JSON. Once finished, it stays so."""
        return self._end(uuid, {"state": RoundState.FINISHED, "result": _json(result)})

    def discard_heat(self, uuid: str) -> bool:
        """Offer a heat no longer. A finished one stays as it is."""
        return self._end(uuid, {"state": RoundState.DISCARDED})

    def _end(self, uuid: str, values: Mapping[str, Any]) -> bool:
        return self._outbox.put(Item("heat end", heat_target(uuid), 0, {"uuid": uuid, **values}))

    def heat(self, uuid: str) -> KeptHeat:
        """A heat with its lines, those that still wait included; it can be gone on with."""
        waiting = self._outbox.waiting(heat_target(uuid))  # before reading: it may go meanwhile
        lines = select(HEAT_ENTRIES).where(HEAT_ENTRIES.c.heat == uuid)
        with self._connections.transaction() as connection:
            row = connection.execute(select(HEATS).where(HEATS.c.uuid == uuid)).one_or_none()
            rows = connection.execute(lines).all()
        begun = next((item.body for item in waiting if item.kind == "heat"), None)
        if row is not None:
            try:
                heat = _heat(row)
            except ValueError as error:
                raise StoreError(self._connections.place.name, str(error), _LEFT_OUT) from None
        elif begun is not None:
            heat = _begun(begun)
        else:
            raise nothing("heat", uuid, self._connections)
        entries = {
            item.seq: HeatEntry(item.seq, item.body["line"], item.body["hash"])
            for item in waiting
            if item.kind == "entry"
        }
        entries |= {row.seq: HeatEntry(row.seq, str(row.line), str(row.hash)) for row in rows}
        self._outbox.go_on(heat_target(uuid))
        return replace(
            _ended(heat, waiting), entries=tuple(entries[seq] for seq in sorted(entries))
        )

    def open_heats(self) -> tuple[KeptHeat, ...]:
        """The unfinished heats without their lines, newest first."""
        found = self._heats(HEATS.c.state == RoundState.OPEN)
        return tuple(heat for heat in found if heat.state is RoundState.OPEN)

    def has_line(self, uuid: str, words: str) -> bool:
        """Whether some line of a heat has these words in it, one that still waits included."""
        waiting = self._outbox.waiting(heat_target(uuid))
        if any(item.kind == "entry" and words in item.body["line"] for item in waiting):
            return True
        of_heat = HEAT_ENTRIES.c.heat == uuid
        said = HEAT_ENTRIES.c.line.contains(words, autoescape=True)
        query = select(HEAT_ENTRIES.c.seq).where(of_heat, said).limit(1)
        with self._connections.transaction() as connection:
            return connection.scalar(query) is not None

    def heats(self, class_id: int | None = None) -> tuple[KeptHeat, ...]:
        """The finished heats of a class without their lines, newest first; None: all there are."""
        of = [] if class_id is None else [HEATS.c["class"] == class_id]
        return self._heats(HEATS.c.state == RoundState.FINISHED, *of)

    def _heats(self, *which: Any) -> tuple[KeptHeat, ...]:
        query = select(HEATS).where(*which).order_by(HEATS.c.started.desc(), HEATS.c.uuid)
        with self._connections.transaction() as connection:
            rows = connection.execute(query).all()
        found = []
        for row in rows:
            try:
                found.append(_heat(row))
            except ValueError as error:
                self._connections.say(f"{str(error).capitalize()}. {_LEFT_OUT}")
        return tuple(_ended(h, self._outbox.waiting(heat_target(h.uuid))) for h in found)

    def refused(self, uuid: str) -> tuple[HeatEntry, ...]:
        """Lines that came second for their place in a heat: kept, and not counted."""
        query = select(REFUSED).where(REFUSED.c.target == heat_target(uuid))
        query = query.where(REFUSED.c.kind == "entry").order_by(REFUSED.c.seq, REFUSED.c.id)
        with self._connections.transaction() as connection:
            bodies = [row.body for row in connection.execute(query)]
        return tuple(HeatEntry(body["seq"], body["line"], body["hash"]) for body in bodies)


def _heat(row: Row[Any]) -> KeptHeat:
    """The heat of a row.

    Raises:
        ValueError: it is damaged; the message says which it is.
    """
    class_id = row._mapping["class"]
    class_id = class_id if isinstance(class_id, int) else None
    sound = isinstance(row.uuid, str) and isinstance(row.setup, dict) and row.started is not None
    if not sound or row.state not in tuple(RoundState):
        raise ValueError(f"the heat {row.uuid} is damaged")
    result = None if row.result is DAMAGED else row.result
    return KeptHeat(row.uuid, class_id, row.setup, RoundState(row.state), row.started, result)


def _begun(body: Mapping[str, Any]) -> KeptHeat:
    started = datetime.fromisoformat(body["started"])
    return KeptHeat(body["uuid"], body["class"], body["setup"], RoundState.OPEN, started)


def _ended(heat: KeptHeat, waiting: Iterable[Item]) -> KeptHeat:
    for item in waiting:
        if item.kind == "heat end" and heat.state is not RoundState.FINISHED:
            heat = replace(
                heat, state=RoundState(item.body["state"]), result=item.body.get("result")
            )
    return heat


def _json(value: Any) -> Any:
    """As it comes back from a database: a tuple is a list there.

    Raises:
        ValueError: it is no JSON, or holds a number that is not finite.
    """
    try:
        return json.loads(json.dumps(value, allow_nan=False))
    except TypeError as error:
        raise ValueError(f"this cannot be kept as JSON: {error}") from None
