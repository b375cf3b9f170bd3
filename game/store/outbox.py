# SPDX-License-Identifier: MIT
"""What was played, on its way into the store: nobody who plays waits for a lock or a network."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from threading import Condition, Thread
from typing import TypeVar

from game.store.connections import Connections
from game.store.delivery import Item, deliver, taken_error
from game.store.errors import Damaged, StoreError, explain
from game.store.place import keep_aside
from game.store.spool import FOLDERS, Spool, spool_name

PATIENCE_S = 2.0
"""How long reading and closing wait for what is on its way."""

_BATCH = 500
_MANY = 100  # of the items that no disk takes; more are not tried at each press
_RESTS_S = (0.5, 1.0, 2.0, 4.0, 8.0, 15.0)
"""Between one try and the next, while a server is away; the last goes on."""

_T = TypeVar("_T")


class Outbox:
    """Stateful: holds items until they are in the store, in order, and brings each there once.

    A file takes each item at once: a spool before it would be a second file to write at each
    press. What it does not take waits in a spool, and what is for a server goes there first; a
    thread, the courier, brings it from there. What no disk here takes waits in memory.

    Raises:
        StoreError: nothing can be kept on this machine for a server.
    """

    def __init__(self, connections: Connections, now: Callable[[], datetime]) -> None:
        self._connections = connections
        self._now = now
        self.direct = not connections.place.on_server
        """Whether an item goes into the store at once, where nothing waits."""
        self._memory: list[Item] = []
        self._full: StoreError | None = None  # why no spool took them
        self._retry_at = 0.0
        self._name = spool_name(connections)
        self._folders = FOLDERS if self._name else ()
        self._spools: dict[Path, Spool] = {}
        self._last: Callable[[bool], Path] | None = None  # the folder that took something last
        self._where = Path()  # the spool in it
        self._second: frozenset[str] = frozenset()  # targets that another copy went on with
        self._thread: Thread | None = None
        self._change = Condition()  # guards what follows
        self._asked = 0  # how often the courier was asked to bring what waits,
        self._done = 0  # and up to which of these it has
        self._hurry = self._closing = False
        self.trouble: StoreError | None = None
        """Why items wait; None when none do."""
        self._left = self._find_spools()
        if self.direct:
            self.settle()
            return
        connections.before_reading = self.settle
        if self._left:
            self._ask()

    def __len__(self) -> int:
        """How many wait because of the trouble."""
        return len(self._memory) + (self._left if self.trouble else 0)

    @property
    def unsaved(self) -> int:
        """How many wait in memory alone, and would be lost with the process."""
        return len(self._memory)

    @property
    def notice(self) -> str | None:
        """Sentences about what waits."""
        said = []
        if self._second:
            said.append(
                f"Another copy of the game had gone on with {', '.join(sorted(self._second))}: "
                "what was played here came second, is kept apart in the store, and not counted."
            )
        if self._memory or self.trouble is not None:
            where = f"waits on this machine, in {self._where}, until the store takes it"
            where = "is kept in memory only" if self._memory else where
            why = self.trouble or self._full
            said.append(f"What was played last ({len(self)} events) {where}: {why}")
        return " ".join(said) or None

    def put(self, *items: Item) -> bool:
        """Keep items, after those that wait; False when they are in memory only.

        Raises:
            ContinuedElsewhere: another copy has gone on with their target; they are put with
                the refused.
        """
        self._memory.extend(items)
        taken = frozenset[str]()
        targets = {item.target for item in self._memory}
        if self.direct and targets and not (self._left or targets & self._taken()):
            try:
                lines = deliver(self._connections, self._memory, hasty=True)
                taken = frozenset(target for target, _origin in lines)
                self._memory, self.trouble = [], None
            except StoreError as error:
                self.trouble = error
        taken |= self._save()
        if self._left:
            self._ask()
        if taken:
            raise taken_error(min(taken), self._connections.place.name)
        return not self._memory

    def flush(self, target: str = "") -> None:
        """Bring what waits.

        Raises:
            ContinuedElsewhere: another copy has gone on with the target.
            StoreError: it cannot be written now, and goes on waiting.
        """
        self._retry_at = 0.0
        if self.direct:
            self.settle()
        self.try_again()
        if not self.direct:
            self.settle()
        if target in self._taken():
            raise taken_error(target, self._connections.place.name)
        if trouble := self.trouble or (self._full if self._memory else None):
            raise trouble

    def try_again(self) -> None:
        """Take what is in memory out of it, if that is possible at once.

        Raises:
            ContinuedElsewhere: as :meth:`put`.
        """
        if self._memory:
            self.put()

    def settle(self) -> None:
        """Wait a little for the courier. Reading from a server comes after it."""
        with self._change:
            if not self._left or self._closing:
                return
            self._hurry = True
            mine = self._ask()
            self._change.wait_for(lambda: self._done >= mine, PATIENCE_S)

    def waiting(self, target: str) -> tuple[Item, ...]:
        """What waits for a target, in order."""
        found = self._each(lambda spool: spool.of(target))
        return (*sum(found, ()), *(item for item in self._memory if item.target == target))

    def go_on(self, target: str) -> None:
        """A target is taken up again, from what the store has."""
        self._each(lambda spool: spool.go_on(target))

    def drop(self, target: str) -> None:
        """Forget what waits for a target; on its way to a server it may get there all the same."""
        if self.direct:
            self._memory = [item for item in self._memory if item.target != target]
            self._each(lambda spool: spool.drop(target))
            self._left = self._count()
            self.trouble = self.trouble if len(self) else None

    def close(self) -> None:
        """Bring what waits, and end; what is in a spool stays there.

        Raises:
            StoreError: something would be lost; it stays open, to try again.
        """
        if self._closing:
            return
        try:
            self.flush()
        except StoreError:
            if self._memory:
                raise
        with self._change:
            self._closing = True
            self._change.notify_all()
        if self._thread is not None:
            # Stuck in a dead connection, it is left: what it has not brought is on the disk.
            self._thread.join(PATIENCE_S)
        self._each(Spool.close)

    # The spools

    def _find_spools(self) -> int:
        """How many items wait in those of earlier processes; for a server, one is begun."""
        for folder in self._folders:
            begin = not (self.direct or self._spools)
            try:
                path = folder(begin) / self._name
                if (begin or path.is_file()) and self._open(path).count():
                    self._where = path
            except StoreError as error:
                if not self.direct:
                    raise
                self._connections.say(str(error))
            except (sqlite3.Error, OSError):
                continue  # there is no such folder
        return self._count()

    def _open(self, path: Path) -> Spool:
        if path not in self._spools:
            try:
                self._spools[path] = Spool(path)
            except Damaged:
                aside = keep_aside(path, self._now)
                self._connections.say(
                    f"The file of answers that wait was damaged. It is kept as {aside}."
                )
                self._spools[path] = Spool(path)
        return self._spools[path]

    def _save(self) -> frozenset[str]:
        """Put what is in memory into a spool; those of its targets that were taken."""
        hopeless = len(self._memory) > _MANY and time.monotonic() < self._retry_at
        if not self._memory or hopeless:
            return frozenset()
        # While something waits in one, the rest goes there too: the others are brought after it.
        for folder in sorted(self._folders, key=lambda one: self._left and one is not self._last):
            path = Path(self._name)
            try:
                path = folder(True) / self._name
                spool = self._open(path)
                with self._change:
                    taken = spool.put(self._memory)
                    self._left += len(self._memory)
            except (sqlite3.Error, OSError, StoreError) as error:
                self._full = error if isinstance(error, StoreError) else explain(error, str(path))
                continue
            self._memory, self._last, self._where = [], folder, path
            return taken
        self._retry_at = time.monotonic() + _RESTS_S[1]
        return frozenset()

    def _each(self, ask: Callable[[Spool], _T]) -> list[_T]:
        """What the spools answer. Beside a file, one that fails is left until the next start."""
        answers = []
        for path, spool in tuple(self._spools.items()):
            try:
                answers.append(ask(spool))
            except sqlite3.Error as error:
                found = explain(error, str(path))
                if not self.direct:
                    raise found from error
                self._connections.say(str(found))
                self._spools.pop(path, None)
        return answers

    def _count(self) -> int:
        return sum(self._each(Spool.count))

    def _taken(self) -> frozenset[str]:
        return frozenset[str]().union(*self._each(Spool.taken))

    # The courier

    def _ask(self) -> int:
        """Have it bring what waits; the number of this wish."""
        with self._change:
            if self._thread is None:
                self._thread = Thread(target=self._work, name="courier", daemon=True)
                self._thread.start()
            self._asked += 1
            self._change.notify_all()
            return self._asked

    def _work(self) -> None:
        failures = 0
        while True:
            with self._change:
                if failures:
                    rest = _RESTS_S[0 if self.direct else min(failures, len(_RESTS_S)) - 1]
                    self._change.wait_for(lambda: self._closing or self._hurry, rest)
                else:
                    self._change.wait_for(lambda: self._closing or self._asked > self._done)
                if self._closing:
                    return
                mine, self._hurry = self._asked, False
            trouble: StoreError | None = None
            try:
                self._each(self._empty)
            except StoreError as error:
                trouble = error
            except Exception as error:  # whatever it is, the next try must come
                trouble = explain(error, str(self._where))
            failures = failures + 1 if trouble else 0
            with self._change:
                with suppress(StoreError):
                    self._left = self._count()
                self.trouble, self._done = trouble, mine
                self._change.notify_all()

    def _empty(self, spool: Spool) -> None:
        while not self._closing and (items := spool.first(_BATCH)):
            if not self.direct:
                spool.secure()
            taken = deliver(self._connections, [*items.values()], hasty=not self.direct)
            spool.delivered(items, taken)
            self._second |= {target for target, _origin in taken}
