# SPDX-License-Identifier: MIT
"""Signs of life: which rounds and heats are under way, and on which computer."""

from __future__ import annotations

import platform
import secrets
import uuid
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from threading import Condition, Thread
from typing import Any

from sqlalchemy import ColumnElement, Connection, literal_column, select
from sqlalchemy import delete as deleted
from sqlalchemy import insert as inserted
from sqlalchemy import update as updated

from game.reader.names import LONGEST_NAME
from game.store.connections import Connections
from game.store.delivery import taken_error
from game.store.rows import is_number
from game.store.tables import UNDER_WAY

BEAT_S = 5.0
"""From one sign to the next."""
LAPSE_S = 20.0
"""Whoever has given none for so long is there no more."""
_KEPT_S = 30 * 24 * 3600  # a sign that nobody took back
_CLOSING_S = 1.0

# Seconds by the one clock that all who share the store have: the server's, or this machine's.
_CLOCKS = {
    "sqlite": "(julianday('now') - 2440587.5) * 86400.0",  # sqlite.org/lang_datefunc.html
    "postgresql": "CAST(extract(epoch FROM clock_timestamp()) AS double precision)",
}


@dataclass(frozen=True, slots=True)
class SignOfLife:
    """What is known of a round or heat that is under way, or was when its game ended in disorder.

    Args:
        computer: the name of the one that it runs on.
        here: it is this one.
        silent_s: seconds since the last sign.
    """

    computer: str
    here: bool
    silent_s: float

    @property
    def alive(self) -> bool:
        """Whether it is under way there now."""
        return self.silent_s < LAPSE_S


class Life:
    """Stateful: a thread that says now and then that what is played here is under way.

    It writes on a connection of its own and waits for nothing, so nobody who plays does. A server
    that is away is told again at the next beat.
    """

    def __init__(self, connections: Connections) -> None:
        self._connections = connections
        machine = f"{uuid.getnode():012x}"
        self._machine, self._origin = machine, f"{machine}-{secrets.token_hex(8)}"
        self._change = Condition()  # guards what follows
        self._target = self._begun = ""  # what is under way here, and what a sign was given of
        self._lost = False
        self._closing = False
        self._thread: Thread | None = None

    def hold(self, target: str) -> None:
        """This is under way here now, and nothing else; empty for nothing."""
        with self._change:
            if target == self._target or self._connections.dialect not in _CLOCKS:
                return
            self._target, self._lost = target, False
            if self._thread is None:
                self._thread = Thread(target=self._beat, name="signs of life", daemon=True)
                self._thread.start()
            self._change.notify_all()

    def check(self) -> None:
        """See that what is under way here still is.

        Raises:
            Taken: another copy of the game has taken it over.
        """
        with self._change:
            target = self._target if self._lost else ""
        if target:
            raise taken_error(target, self._connections.place.name)

    def signs(self, targets: Iterable[str]) -> dict[str, SignOfLife]:
        """The signs of others; what nobody gave one of, or this copy of the game, is absent.

        Raises:
            StoreError: the store cannot be read.
        """
        clock = _CLOCKS.get(self._connections.dialect)
        wanted = [*targets]
        if clock is None or not wanted:
            return {}
        silent: ColumnElement[float] = literal_column(clock) - UNDER_WAY.c.seen
        others = UNDER_WAY.c.target.in_(wanted), UNDER_WAY.c.origin != self._origin
        query = select(UNDER_WAY, silent.label("silent")).where(*others)
        with self._connections.transaction() as connection:
            rows = connection.execute(query).all()
        return {
            # A clock that was set back leaves signs of the future: they are as old.
            row.target: SignOfLife(row.place, row.origin.startswith(self._machine), abs(row.silent))
            for row in rows
            if is_number(row.silent) and isinstance(row.place, str)
        }

    def close(self) -> None:
        """Take the sign back, where that is soon done."""
        with self._change:
            self._closing = True
            self._change.notify_all()
        if self._thread is not None:
            self._thread.join(_CLOSING_S)

    # The thread

    def _beat(self) -> None:
        while True:
            with self._change:
                target, closing = self._target, self._closing
            with suppress(Exception):  # whatever it is, the next beat must come
                self._give(target, closing)
            with self._change:
                if closing:
                    return
                self._change.wait_for(lambda: self._closing or self._target != target, BEAT_S)  # noqa: B023

    def _give(self, target: str, closing: bool) -> None:
        """Say that the target is under way; of one that is so no more, take it back."""
        mine = UNDER_WAY.c.origin == self._origin
        new = target != self._begun
        if closing or (new and self._begun):
            with self._connections.transaction(hasty=True) as connection:
                connection.execute(deleted(UNDER_WAY).where(mine))
            self._begun = ""
        if closing or not target:
            return
        with self._connections.transaction(hasty=True) as connection:
            row = {
                "origin": self._origin,
                "place": platform.node()[:LONGEST_NAME],
                "seen": literal_column(_CLOCKS[connection.dialect.name]),
            }
            this = UNDER_WAY.c.target == target
            again = updated(UNDER_WAY).where(this, mine).values(row)
            if new or not connection.execute(again).rowcount:
                if not new and connection.scalar(select(UNDER_WAY.c.target).where(this)):
                    with self._change:
                        self._lost = target == self._target
                    return
                _take(connection, target, row)
        self._begun = target


def _take(connection: Connection, target: str, row: dict[str, Any]) -> None:
    """Put a sign in the place of whatever there is; long forgotten ones go."""
    old = row["seen"] - UNDER_WAY.c.seen > _KEPT_S
    connection.execute(deleted(UNDER_WAY).where((UNDER_WAY.c.target == target) | old))
    connection.execute(inserted(UNDER_WAY).values(target=target, **row))
