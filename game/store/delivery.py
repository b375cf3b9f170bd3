# SPDX-License-Identifier: MIT
"""What is played, on its way into the store: each item once, however often it is delivered."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import groupby
from typing import Any

from sqlalchemy import ColumnElement, Connection, Table, exc, insert, select, update

from game.store.connections import Connections
from game.store.errors import StoreError
from game.store.tables import EVENTS, HEAT_ENTRIES, HEATS, RECORDS, REFUSED
from game.store.values import RoundState


class ContinuedElsewhere(StoreError):
    """Another copy of the game has gone on with a round or a heat; this one must leave it."""


class RoundTaken(ContinuedElsewhere):
    """Another copy of the game has gone on with the round."""


class HeatTaken(ContinuedElsewhere):
    """Another copy of the game has gone on with the heat."""


@dataclass(frozen=True, slots=True)
class Item:
    """Something to be kept.

    Args:
        kind: "event" or "end" of a round; "heat", "entry" or "heat end" of a heat.
        target: which round or heat (:func:`round_target`, :func:`heat_target`).
        seq: its place in the target, where it has one.
        body: the values, as JSON knows them.
        refused: its target was taken; it is to be put with what is kept and not used.
        origin: which copy of the game it is of, where several share a spool.
    """

    kind: str
    target: str
    seq: int
    body: Mapping[str, Any]
    refused: bool = False
    origin: str = ""

    @property
    def line(self) -> tuple[str, str]:
        """The target as played by one copy of the game."""
        return self.target, self.origin


def round_target(record_id: int) -> str:
    """What the items of a round have in common."""
    return f"round {record_id}"


def heat_target(uuid: str) -> str:
    """What the items of a heat have in common."""
    return f"heat {uuid}"


def taken_error(target: str, place: str) -> ContinuedElsewhere:
    """The error for somebody who goes on with what was taken."""
    what = target.partition(" ")[0]
    return (HeatTaken if what == "heat" else RoundTaken)(
        place,
        f"another copy of the game has gone on with this {what}",
        "Go on with it there; this copy leaves it.",
    )


# Rows that are put in, by what may be there once; and changes to a row that is there.
_ROWS: dict[str, tuple[Table, tuple[str, ...]]] = {
    "event": (EVENTS, ("record", "seq")),
    "heat": (HEATS, ("uuid",)),
    "entry": (HEAT_ENTRIES, ("heat", "seq")),
}
_CHANGES: dict[str, tuple[Table, str]] = {"end": (RECORDS, "id"), "heat end": (HEATS, "uuid")}
# A heat may have ended elsewhere since it was put in; it is the same heat.
_MAY_DIFFER = ("state", "result")


def deliver(
    connections: Connections, items: Sequence[Item], *, hasty: bool
) -> frozenset[tuple[str, str]]:
    """Write items in one transaction; the lines (target, origin) that prove taken.

    An item that is there already, word for word, is left; the database may have lost the
    connection before it could say so. From the first that differs on, all of its line
    are kept apart: they were not played after what is there.

    Raises:
        StoreError: nothing was written.
    """
    if not any(item.refused for item in items):
        try:
            with connections.transaction(hasty=hasty) as connection:
                for kind, group in groupby(items, lambda item: item.kind):
                    _write(connection, kind, list(group))
            return frozenset()
        except exc.IntegrityError:
            pass  # something is there already: one by one, then
    taken: set[tuple[str, str]] = set()
    with connections.transaction(hasty=hasty, alone=True) as connection:
        for item in items:
            if item.refused or item.line in taken or not _settle(connection, item):
                _keep_apart(connection, item)
                taken.add(item.line)
    return frozenset(taken)


def _write(connection: Connection, kind: str, items: Iterable[Item]) -> None:
    if kind in _ROWS:
        connection.execute(insert(_ROWS[kind][0]), [_values(item) for item in items])
        return
    table, key = _CHANGES[kind]
    for item in items:
        values = dict(item.body)
        change = update(table).where(table.c[key] == values.pop(key))
        if values["state"] == RoundState.DISCARDED:  # what is finished stays
            change = change.where(table.c.state != RoundState.FINISHED)
        connection.execute(change.values(values))


def _settle(connection: Connection, item: Item) -> bool:
    """Write one, or find it written; False when its place is another's."""
    if item.kind not in _ROWS:
        _write(connection, item.kind, [item])
        return True
    found = _stored(connection, item)
    if found is None:
        try:
            with connection.begin_nested():
                _write(connection, item.kind, [item])
            return True
        except exc.IntegrityError:  # by another, just now; or there is no such round
            found = _stored(connection, item)
    return found is not None and found == _comparable(_values(item))


def _stored(connection: Connection, item: Item) -> dict[str, Any] | None:
    table, key = _ROWS[item.kind]
    this: list[ColumnElement[bool]] = [table.c[name] == item.body[name] for name in key]
    row = connection.execute(select(table).where(*this)).mappings().one_or_none()
    return None if row is None else _comparable(row)


def _comparable(row: Mapping[Any, Any]) -> dict[str, Any]:
    return {key: value for key, value in row.items() if key not in _MAY_DIFFER}


def _values(item: Item) -> dict[str, Any]:
    values = dict(item.body)
    if "started" in values:
        values["started"] = datetime.fromisoformat(values["started"])
    return values


def _keep_apart(connection: Connection, item: Item) -> None:
    if connection.dialect.name == "postgresql":
        # Two couriers of one spool may bring the same; an SQLite file has one writer anyway.
        connection.exec_driver_sql("LOCK TABLE refused IN SHARE ROW EXCLUSIVE MODE")
    row = {"kind": item.kind, "target": item.target, "seq": item.seq}
    same = select(REFUSED.c.body).where(*(REFUSED.c[key] == row[key] for key in row))
    if dict(item.body) not in list(connection.scalars(same)):
        row |= {"body": dict(item.body), "found": datetime.now(UTC)}
        connection.execute(insert(REFUSED).values(row))
