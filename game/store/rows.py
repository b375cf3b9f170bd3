# SPDX-License-Identifier: MIT
"""Values to rows of the tables, and back."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import fields
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Insert, Row, Table, update

from game.rounds import Event, Flip, Pause, Press, Resume, Stop, Tick
from game.store.connections import Connections
from game.store.errors import StoreError
from game.store.tables import READERS
from game.store.values import Record, ResultSummary, RoundFigures, RoundState, terms_from_json

_MARKS = {mark.__name__.lower(): mark for mark in (Flip, Pause, Resume, Tick, Stop)}
_RESULT = tuple(field.name for field in fields(ResultSummary))
_MAY_BE_WANTING = "median_s", "tempo_per_min"


def event_to_row(record_id: int, seq: int, event: Event) -> dict[str, Any]:
    """The row of an event.

    Raises:
        ValueError: its time is no finite number.
    """
    if not math.isfinite(event.t):
        raise ValueError(f"an event's time is seconds, a finite number; found {event.t!r}")
    row = {
        "record": record_id,
        "seq": seq,
        "kind": type(event).__name__.lower(),
        "t": float(event.t),
        "key": None,
        "velocity": None,
        "keyboard": None,
    }
    if isinstance(event, Press):
        row |= {
            "key": event.key,
            "velocity": event.velocity,
            "keyboard": _made_storable(event.keyboard),
        }
    return row


def event_from_row(row: Mapping[Any, Any]) -> Event:
    """The event of a row.

    Raises:
        ValueError: its kind is unknown, or it is damaged.
    """
    kind, t = row["kind"], row["t"]
    if not is_number(t):
        raise ValueError("an event has no time")
    if kind == "press":
        key, velocity, keyboard = row["key"], row["velocity"], row["keyboard"]
        sound = type(key) is type(velocity) is int and isinstance(keyboard, str)
        if not (sound and 0 <= key <= 127 and 0 <= velocity <= 127):
            raise ValueError("a press is damaged")
        return Press(t, key, velocity, keyboard)
    if kind not in _MARKS:
        raise ValueError(f"it has an event of the unknown kind {kind!r}")
    return _MARKS[kind](t)


def result_from_row(row: Row[Any]) -> ResultSummary:
    """The figures of a finished round's row.

    Raises:
        ValueError: they are damaged.
    """
    return ResultSummary(**_figures(row, _RESULT))


def _figures(row: Row[Any], names: Iterable[str]) -> dict[str, Any]:
    found = {name: getattr(row, name) for name in names}
    for name, value in found.items():
        if not (is_number(value) or (value is None and name in _MAY_BE_WANTING)):
            raise ValueError(f"its {name} is damaged")
    return found


def figures_from_row(row: Row[Any]) -> RoundFigures:
    """A round's figures, of a row of just these.

    Raises:
        ValueError: they are damaged.
    """
    _figures(row, [name for name in _RESULT if name in row._fields])
    if row.started is None or not (isinstance(row.level_id, str) and isinstance(row.kind, str)):
        raise ValueError("its beginning is damaged")
    return RoundFigures(**dict(row._mapping))


def record_from_row(row: Row[Any], events: Iterable[Event] = ()) -> Record:
    """The record of a row.

    Raises:
        ValueError: it is damaged.
    """
    state = RoundState(row.state)
    if row.started is None or not isinstance(row.app_version, str):
        raise ValueError("its beginning is damaged")
    result = result_from_row(row) if state is RoundState.FINISHED else None
    return Record(
        id=row.id,
        reader_id=row.reader,
        terms=terms_from_json(row.terms),
        state=state,
        started=row.started,
        app_version=row.app_version,
        events=tuple(events),
        result=result,
        kind=row.kind,
    )


def is_number(value: object) -> bool:
    """Whether it is a finite one: a damaged file has texts and nothing in their place."""
    return isinstance(value, int | float) and math.isfinite(value)


def name_of(row: Row[Any], what: str) -> str:
    """The name in a row; where it is damaged, what it is of and its number."""
    return row.name if isinstance(row.name, str) else f"{what} {row.id}"


DAMAGED = object()
"""In the place of JSON that cannot be read."""


def json_of(text: object) -> Any:
    """The value of JSON as it is kept, with finite numbers; :data:`DAMAGED` where it is damaged."""
    if is_number(text):
        return text  # so SQLite keeps a number
    try:
        assert isinstance(text, str | bytes)
        value = json.loads(text, parse_constant=_finite, parse_float=_finite)
        json.dumps(value, ensure_ascii=False).encode()  # half a character, as \\ud800
        return value
    except (ValueError, RecursionError):
        return DAMAGED


def _finite(text: str) -> float:
    if not math.isfinite(number := float(text)):
        raise ValueError(f"no finite number: {text}")
    return number


def aware(when: datetime) -> datetime:
    """The time, which must say its zone.

    Raises:
        ValueError: it does not.
    """
    if when.tzinfo is None:
        raise ValueError(f"a time needs its zone (UTC); found {when.isoformat()}")
    return when


def new_id(connection: Connection, statement: Insert) -> int:
    """Put one row in; its number."""
    key = connection.execute(statement).inserted_primary_key
    assert key is not None
    return int(key[0])


def change_row(connections: Connections, table: Table, number: int, **values: Any) -> None:
    """Change the reader or class of a number.

    Raises:
        StoreError: there is none.
    """
    change = update(table).where(table.c.id == number).values(values)
    with connections.transaction() as connection:
        if not connection.execute(change).rowcount:
            what = "reader" if table is READERS else "class"
            raise nothing(what, number, connections)


def nothing(
    what: str, which: object, connections: Connections, mend: str = "See which there are."
) -> StoreError:
    """The error of something that is not in the store."""
    return StoreError(connections.place.name, f"there is no {what} {which}", mend)


def storable(text: str) -> bool:
    """Whether every database keeps this text as it is."""
    return text == _made_storable(text)


def _made_storable(text: str) -> str:
    """A port's name can hold what no database takes: it must not stop the round."""
    return text.replace("\0", "").encode("utf-8", "replace").decode()
