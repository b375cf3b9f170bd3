# SPDX-License-Identifier: MIT
"""Values to rows of the tables, and back."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import fields
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Insert, Row

from game.rounds import Event, Flip, Pause, Press, Resume, Stop, Tick
from game.store.connections import Connections
from game.store.errors import StoreError
from game.store.values import Record, ResultSummary, State, terms_from_json

_MARKS = {mark.__name__.lower(): mark for mark in (Flip, Pause, Resume, Tick, Stop)}
_RESULT = tuple(field.name for field in fields(ResultSummary))


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
        ValueError: its kind is unknown.
    """
    kind, t = row["kind"], row["t"]
    if kind == "press":
        return Press(t, row["key"], row["velocity"], row["keyboard"])
    if kind not in _MARKS:
        raise ValueError(f"it has an event of the unknown kind {kind!r}")
    return _MARKS[kind](t)


def record_from_row(row: Row[Any], events: Iterable[Event] = ()) -> Record:
    """The record of a row.

    Raises:
        ValueError: its terms are incomplete.
    """
    state = State(row.state)
    result = None
    if state is State.FINISHED:
        result = ResultSummary(**{name: getattr(row, name) for name in _RESULT})
    return Record(
        id=row.id,
        reader_id=row.reader,
        terms=terms_from_json(row.terms),
        state=state,
        started=row.started,
        app_version=row.app_version,
        events=tuple(events),
        result=result,
    )


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


def nothing(what: str, which: object, connections: Connections) -> StoreError:
    """The error of something that is not in the store."""
    return StoreError(connections.place.name, f"there is no {what} {which}", "See which there are.")


def storable(text: str) -> bool:
    """Whether every database keeps this text as it is."""
    return text == _made_storable(text)


def _made_storable(text: str) -> str:
    """A port's name can hold what no database takes: it must not stop the round."""
    return text.replace("\0", "").encode("utf-8", "replace").decode()
