# SPDX-License-Identifier: MIT
"""Brings to a server what was played, so that nobody who plays waits for a network."""

from __future__ import annotations

import hashlib
import sqlite3
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from threading import Condition, Thread
from typing import ClassVar

from game.store.connections import Connections
from game.store.delivery import Item, deliver, taken_error
from game.store.errors import Damaged, StoreError, explain
from game.store.place import StoreAddress, keep_aside, own_folder
from game.store.spool import Spool

PATIENCE_S = 2.0
"""How long reading waits for what is on its way; closing waits as long."""

_BATCH = 500
_MANY = 100  # of the items that the disk does not take; more are not tried at each press
_RESTS_S = (0.5, 1.0, 2.0, 4.0, 8.0, 15.0)
"""Between one try and the next, while the server is away; the last goes on."""


def spool_path(place: StoreAddress) -> Path:
    """The file in which items wait for this server: one for each database of each server.

    Raises:
        StoreError: its folder cannot be made.
    """
    url = place.url
    whose = f"{url.host}:{url.port or 5432}/{url.database}"
    return own_folder() / f"for-server-{hashlib.sha256(whose.encode()).hexdigest()[:12]}.db"


def open_courier(
    connections: Connections, now: Callable[[], datetime]
) -> tuple[Courier, tuple[str, ...]]:
    """A courier for an open store, and notices to show. What waited before is on its way.

    Raises:
        StoreError: the spool cannot be made or written.
    """
    path = spool_path(connections.place)
    try:
        return Courier(connections, Spool(path)), ()
    except (sqlite3.Error, OSError) as error:
        trouble = explain(error, str(path))
        if not isinstance(trouble, Damaged):
            raise trouble from error
    aside = keep_aside(path, now)
    try:
        courier = Courier(connections, Spool(path))
    except (sqlite3.Error, OSError) as error:
        raise explain(error, str(path)) from error
    return courier, (
        f"The file of answers that wait for the server was damaged. It is kept as {aside}.",
    )


def spooled(place: StoreAddress) -> tuple[int, Path]:
    """How many items wait for a server, and where."""
    path = spool_path(place)
    try:
        if not path.exists():
            return 0, path
        spool = Spool(path)
    except (sqlite3.Error, StoreError, OSError):
        return 0, path
    try:
        return spool.count(), path
    finally:
        spool.close()


class Courier:
    """Stateful: an outbox on disk, and a thread that empties it into the server.

    Putting is to write to the spool and wake the thread. While the server is away the
    thread tries now and then, and whoever puts does not notice.
    """

    durable: ClassVar[bool] = True

    def __init__(self, connections: Connections, spool: Spool) -> None:
        self._connections = connections
        self._spool = spool
        self._unsaved: list[Item] = []  # the disk did not take them
        self._retry_at = 0.0
        self._refused: frozenset[str] = frozenset()
        self._change = Condition()  # guards what follows
        self._asked = 0  # how often the thread was asked to deliver,
        self._done = 0  # and up to which of these it has
        self._hurry = False
        self._closing = False
        self._left = spool.count()
        self.trouble: StoreError | None = None
        connections.before_reading = self.settle
        self._thread = Thread(target=self._work, name="courier", daemon=True)
        self._thread.start()
        if self._left:
            self._ask()

    def __len__(self) -> int:
        return len(self._unsaved) + (self._left if self.trouble else 0)

    @property
    def unsaved(self) -> int:
        return len(self._unsaved)

    @property
    def notice(self) -> str | None:
        said = []
        if self._refused:
            said.append(
                f"Another copy of the game had gone on with {', '.join(sorted(self._refused))}: "
                "what was played here came second, is kept apart in the store, and not counted."
            )
        if self._unsaved:
            said.append(
                f"What was played last ({len(self)} events) is kept in memory only: this "
                "machine's disk does not take it. Free some space."
            )
        elif self.trouble is not None:
            said.append(
                f"What was played last ({len(self)} events) waits on this machine, in "
                f"{self._spool.path}, and is sent when the server is there again: {self.trouble}"
            )
        return " ".join(said) or None

    def put(self, *items: Item) -> bool:
        self._unsaved.extend(items)
        if len(self._unsaved) > _MANY and time.monotonic() < self._retry_at:
            return False
        try:
            told = self._spool.put(self._unsaved)
        except sqlite3.Error:
            self._retry_at = time.monotonic() + 1.0
            return False
        added, self._unsaved = len(self._unsaved), []
        self._ask(added)
        if told:
            raise taken_error(min(told), self._connections.place.name)
        return True

    def flush(self) -> None:
        self._retry_at = 0.0
        if self._unsaved:
            self.put()
        self.settle()
        if self._unsaved:
            raise StoreError(
                str(self._spool.path),
                "this machine's disk does not take what was played",
                "Free some space, then try again.",
            )
        if self.trouble is not None:
            raise self.trouble

    def try_again(self) -> None:
        if self._unsaved:
            self.put()

    def settle(self) -> None:
        with self._change:
            if not self._left or self._closing:
                return
            self._asked += 1
            mine, self._hurry = self._asked, True
            self._change.notify_all()
            self._change.wait_for(lambda: self._done >= mine, PATIENCE_S)

    def waiting(self, target: str) -> tuple[Item, ...]:
        try:
            spooled = self._spool.of(target)
        except sqlite3.Error as error:
            raise explain(error, str(self._spool.path)) from error
        return (*spooled, *(item for item in self._unsaved if item.target == target))

    def go_on(self, target: str) -> None:
        try:
            self._spool.go_on(target)
        except sqlite3.Error as error:
            raise explain(error, str(self._spool.path)) from error

    def drop(self, target: str) -> None:
        pass  # it can be delivered all the same

    def close(self) -> None:
        if self._closing:
            return
        try:
            self.flush()
        except StoreError:
            if self._unsaved:
                raise
        with self._change:
            self._closing = True
            self._change.notify_all()
        # Stuck in a dead connection, it is left: what it has not delivered is on the disk.
        self._thread.join(PATIENCE_S)
        self._spool.close()

    def _ask(self, added: int = 0) -> None:
        with self._change:
            self._asked += 1
            self._left += added
            self._change.notify_all()

    # The thread

    def _work(self) -> None:
        failures = 0
        while True:
            with self._change:
                if failures:
                    rest = _RESTS_S[min(failures, len(_RESTS_S)) - 1]
                    self._change.wait_for(lambda: self._closing or self._hurry, rest)
                else:
                    self._change.wait_for(lambda: self._closing or self._asked > self._done)
                if self._closing:
                    return
                mine, self._hurry = self._asked, False
            try:
                self._empty()
                trouble = None
            except StoreError as error:
                trouble = error
            except Exception as error:  # whatever it is, the next try must come
                trouble = explain(error, str(self._spool.path))
            failures = failures + 1 if trouble else 0
            self._report(mine, trouble)

    def _empty(self) -> None:
        while not self._closing:
            numbers, items = self._spool.first(_BATCH)
            if not items:
                return
            self._spool.secure()
            taken = deliver(self._connections, items, hasty=True)
            self._spool.delivered(numbers, taken)
            self._refused = self._refused | {target for target, _origin in taken}

    def _report(self, mine: int, trouble: StoreError | None) -> None:
        try:
            left = self._spool.count()
        except sqlite3.Error:
            left = self._left
        with self._change:
            self._left, self.trouble, self._done = left, trouble, mine
            self._change.notify_all()
