# SPDX-License-Identifier: MIT
"""A file in which items wait on this machine's disk: for a server, or for another disk."""

from __future__ import annotations

import json
import os
import secrets
import sqlite3
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Lock

from game.files.private import claim
from game.store.delivery import Item
from game.store.errors import StoreError
from game.store.turn import write_ahead

_NUMBER = 1  # of the form, in the file's header
_FORM = f"""
PRAGMA user_version = {_NUMBER};
CREATE TABLE IF NOT EXISTS waiting (
    n INTEGER PRIMARY KEY AUTOINCREMENT,
    kind TEXT NOT NULL,
    target TEXT NOT NULL,
    seq INTEGER NOT NULL,
    body TEXT NOT NULL,
    refused INTEGER NOT NULL,
    origin TEXT NOT NULL
);
CREATE INDEX IF NOT EXISTS waiting_by_target ON waiting (target, n);
CREATE TABLE IF NOT EXISTS taken (
    target TEXT NOT NULL, origin TEXT NOT NULL, PRIMARY KEY (target, origin)
) WITHOUT ROWID;
"""
_TOLD = "DELETE FROM taken WHERE target = ? AND origin = ?"
_COLUMNS = "kind, target, seq, body, refused, origin"
_BUSY_S = 0.1  # as long as another copy of the game may take to write to it
_OPENING_S = 5.0  # the same while it is opened, when nobody plays yet


class Spool:
    """Stateful: an open spool. Any thread may use it; so may other copies of the game.

    What :meth:`put` returned from outlives the process; what :meth:`secure` did, a power cut.

    Raises:
        sqlite3.Error: from every method, as it comes.
        OSError: the file cannot be made.
        StoreError: the file is of another version.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._origin = secrets.token_hex(8)
        self._log = path.with_name(path.name + "-wal")
        self._lock = Lock()
        claim(path)
        self._connection = sqlite3.connect(
            path, timeout=_OPENING_S, isolation_level=None, check_same_thread=False
        )
        try:
            write_ahead(self._connection, _OPENING_S)
            self._connection.execute("PRAGMA synchronous=NORMAL")
            # Whatever has been delivered leaves nothing of a child's behind.
            self._connection.execute("PRAGMA secure_delete=ON")
            (form,) = self._connection.execute("PRAGMA user_version").fetchone()
            (tables,) = self._connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
            if tables and form != _NUMBER:
                raise StoreError(
                    str(path),
                    "answers wait in it in the form of another version of Stavewise",
                    "Start that version once more to send them, or move the file away.",
                )
            self._connection.executescript(_FORM)
            if self._connection.execute("PRAGMA quick_check(1)").fetchone() != ("ok",):
                raise sqlite3.DatabaseError("the file is damaged")
            self._connection.execute(f"PRAGMA busy_timeout={round(1000 * _BUSY_S)}")
        except BaseException:
            self._connection.close()
            raise

    def put(self, items: Iterable[Item]) -> frozenset[str]:
        """Add items; those of their targets that were found taken, once for each find.

        The items of such a target will not be used, only kept.
        """
        rows = [
            (item.kind, item.target, item.seq, json.dumps(item.body, allow_nan=False))
            for item in items
        ]
        with self._transaction() as connection:
            told = frozenset(
                target
                for target in {row[1] for row in rows}
                if connection.execute(_TOLD, [target, self._origin]).rowcount
            )
            connection.executemany(
                "INSERT INTO waiting (kind, target, seq, body, refused, origin) "
                "VALUES (?, ?, ?, ?, ?, ?)",
                [(*row, row[1] in told, self._origin) for row in rows],
            )
        return told

    def secure(self) -> None:
        """Wait until the disk has what was put (the log alone is written between checkpoints)."""
        with suppress(FileNotFoundError), self._log.open("rb+") as log:
            os.fsync(log.fileno())

    def first(self, limit: int) -> tuple[list[int], list[Item]]:
        """The oldest items with their numbers."""
        query = f"SELECT n, {_COLUMNS} FROM waiting ORDER BY n LIMIT ?"
        with self._lock:
            rows = self._connection.execute(query, [limit]).fetchall()
        return [row[0] for row in rows], [_item(row[1:]) for row in rows]

    def of(self, target: str) -> tuple[Item, ...]:
        """The items of a target that are still to be used, in order."""
        query = f"SELECT {_COLUMNS} FROM waiting WHERE target = ? AND NOT refused ORDER BY n"
        with self._lock:
            return tuple(map(_item, self._connection.execute(query, [target])))

    def count(self) -> int:
        """How many items wait."""
        with self._lock:
            count: int = self._connection.execute("SELECT count(*) FROM waiting").fetchone()[0]
        return count

    def delivered(self, numbers: Sequence[int], taken: Collection[tuple[str, str]]) -> None:
        """Take delivered items out; what still waits of a taken line will not be used."""
        with self._transaction() as connection:
            connection.executemany("DELETE FROM waiting WHERE n = ?", [(n,) for n in numbers])
            for line in taken:
                connection.execute("INSERT OR IGNORE INTO taken VALUES (?, ?)", line)
                connection.execute(
                    "UPDATE waiting SET refused = 1 WHERE target = ? AND origin = ?", line
                )

    def drop(self, target: str) -> None:
        """Take out what waits for a target."""
        with self._transaction() as connection:
            connection.execute("DELETE FROM waiting WHERE target = ?", [target])

    def withdraw(self) -> None:
        """Take out what was put here by this one."""
        with self._transaction() as connection:
            connection.execute("DELETE FROM waiting WHERE origin = ?", [self._origin])

    def go_on(self, target: str) -> None:
        """A target is taken up again."""
        with self._transaction() as connection:
            connection.execute(_TOLD, [target, self._origin])

    def close(self) -> None:
        """A method called after this is an error."""
        with self._lock:
            self._connection.close()

    @contextmanager
    def _transaction(self) -> Iterator[sqlite3.Connection]:
        with self._lock:
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise


def _item(row: tuple[str, str, int, str, int, str]) -> Item:
    kind, target, seq, body, refused, origin = row
    return Item(kind, target, seq, json.loads(body), bool(refused), origin)
