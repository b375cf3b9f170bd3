# SPDX-License-Identifier: MIT
"""A file in which items wait on this machine's disk: for a server, or for another disk."""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import sqlite3
import stat
import tempfile
import uuid
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from threading import Lock

from game.files.private import claim
from game.files.resources import data_folder
from game.store.connections import Connections
from game.store.delivery import Item
from game.store.errors import Damaged, StoreError, explain
from game.store.place import StoreAddress, own_folder
from game.store.settings import KeptSettings
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
_COLUMNS = "kind, target, seq, body, refused, origin"
_BUSY_S = 0.1  # as long as another copy of the game may take to write to it
_OPENING_S = 5.0  # the same while it is opened, when nobody plays yet
_ID = "id of this store"


class Spool:
    """Stateful: an open spool. Any thread may use it; so may other copies of the game.

    What :meth:`put` returned from outlives the process; what :meth:`secure` did, a power cut.
    Every method raises sqlite3.Error as it comes.

    Raises:
        StoreError: the file cannot be opened, is damaged, or of another version.
    """

    def __init__(self, path: Path) -> None:
        self._origin = secrets.token_hex(8)
        self._log = path.with_name(path.name + "-wal")
        self._lock = Lock()
        try:
            claim(path)
            self._connection = sqlite3.connect(
                path, timeout=_OPENING_S, isolation_level=None, check_same_thread=False
            )
            try:
                self._set_up(path)
            except BaseException:
                self._connection.close()
                raise
        except (sqlite3.Error, OSError) as error:
            raise explain(error, str(path)) from error

    def _set_up(self, path: Path) -> None:
        ask = self._connection.execute
        write_ahead(self._connection, _OPENING_S)
        ask("PRAGMA synchronous=NORMAL")
        ask("PRAGMA secure_delete=ON")  # what is delivered leaves nothing of a child's behind
        (form,) = ask("PRAGMA user_version").fetchone()
        (tables,) = ask("SELECT count(*) FROM sqlite_master").fetchone()
        if tables and form != _NUMBER:
            raise StoreError(
                str(path),
                "answers wait in it in the form of another version of Stavewise",
                "Start that version once more to send them, or move the file away.",
            )
        self._connection.executescript(_FORM)
        if ask("PRAGMA quick_check(1)").fetchone() != ("ok",):
            raise Damaged(str(path), "the file is damaged", "It is kept aside.")
        ask(f"PRAGMA busy_timeout={round(1000 * _BUSY_S)}")

    def put(self, items: Iterable[Item]) -> frozenset[str]:
        """Add items; those of their targets that were found taken. The items of such a target
        will not be used, only kept.
        """
        rows = [
            (item.kind, item.target, item.seq, json.dumps(item.body, allow_nan=False))
            for item in items
        ]
        with self._transaction() as connection:
            taken = self._taken() & {row[1] for row in rows}
            connection.executemany(
                f"INSERT INTO waiting ({_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)",
                [(*row, row[1] in taken, self._origin) for row in rows],
            )
        return taken

    def secure(self) -> None:
        """Wait until the disk has what was put (the log alone is written between checkpoints)."""
        with suppress(FileNotFoundError), self._log.open("rb+") as log:
            os.fsync(log.fileno())

    def first(self, limit: int) -> dict[int, Item]:
        """The oldest items by their numbers, in order."""
        query = f"SELECT n, {_COLUMNS} FROM waiting ORDER BY n LIMIT ?"
        with self._lock:
            return {n: _item(*row) for n, *row in self._connection.execute(query, [limit])}

    def of(self, target: str) -> tuple[Item, ...]:
        """The items of a target that are still to be used, in order."""
        query = f"SELECT {_COLUMNS} FROM waiting WHERE target = ? AND NOT refused ORDER BY n"
        with self._lock:
            return tuple(_item(*row) for row in self._connection.execute(query, [target]))

    def count(self) -> int:
        """How many items wait."""
        with self._lock:
            count: int = self._connection.execute("SELECT count(*) FROM waiting").fetchone()[0]
        return count

    def delivered(self, numbers: Iterable[int], taken: Collection[tuple[str, str]]) -> None:
        """Take delivered items out; what still waits of a taken line will not be used."""
        with self._transaction() as connection:
            connection.executemany("DELETE FROM waiting WHERE n = ?", [(n,) for n in numbers])
            for line in taken:
                connection.execute("INSERT OR IGNORE INTO taken VALUES (?, ?)", line)
                connection.execute(
                    "UPDATE waiting SET refused = 1 WHERE target = ? AND origin = ?", line
                )

    def taken(self) -> frozenset[str]:
        """The targets put here by this one that another copy went on with."""
        with self._lock:
            return self._taken()

    def _taken(self) -> frozenset[str]:
        query = "SELECT target FROM taken WHERE origin = ?"
        return frozenset(one for (one,) in self._connection.execute(query, [self._origin]))

    def drop(self, target: str) -> None:
        """Take out what waits for a target."""
        with self._transaction() as connection:
            connection.execute("DELETE FROM waiting WHERE target = ?", [target])

    def go_on(self, target: str) -> None:
        """A target is taken up again."""
        with self._transaction() as connection:
            line = target, self._origin
            connection.execute("DELETE FROM taken WHERE target = ? AND origin = ?", line)

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


def _item(kind: str, target: str, seq: int, body: str, refused: int, origin: str) -> Item:
    return Item(kind, target, seq, json.loads(body), bool(refused), origin)


# Where spools are


def _data(make: bool) -> Path:
    """The user's data folder; nothing is made there before it is needed."""
    return own_folder() if make else data_folder()


def _temporary(make: bool) -> Path:
    """A folder for temporary files that is this user's alone.

    Raises:
        OSError: there is none.
    """
    folder = Path(tempfile.gettempdir())
    if not hasattr(os, "getuid"):
        return folder  # where there are no such numbers, each user has a folder anyway
    mine = folder / f"stavewise-{os.getuid()}"
    if make:
        mine.mkdir(mode=0o700, exist_ok=True)
    found = mine.lstat()
    if not stat.S_ISDIR(found.st_mode) or found.st_uid != os.getuid() or found.st_mode & 0o077:
        raise PermissionError(f"{mine} is not this user's alone")
    return mine


FOLDERS: tuple[Callable[[bool], Path], ...] = (_data, _temporary)
"""A spool is in the first that takes it; called with whether to make the folder."""


def server_spool(place: StoreAddress) -> str:
    """The name of the spool for a server: one for each database of each server."""
    url = place.url
    return _named("server", f"{url.host}:{url.port or 5432}/{url.database}")


def spool_name(connections: Connections) -> str:
    """The name of an open store's spool; empty for a store that is kept nowhere.

    A file's goes by its path and by an id in it: the rounds of a fresh store in the same place
    have the same numbers, and must not get what was played on the old one.
    """
    if connections.place.on_server:
        return server_spool(connections.place)
    if connections.place.path is None:
        return ""
    kept = KeptSettings(connections)
    try:
        fresh = uuid.uuid4().hex
        mark = kept.get_setting(_ID) or kept.change_setting(_ID, lambda found: found or fresh)
    except StoreError:
        return ""
    return _named("store", f"{connections.place.path}\n{mark}")


def _named(kind: str, whose: str) -> str:
    return f"for-{kind}-{hashlib.sha256(whose.encode()).hexdigest()[:12]}.db"


def spooled(place: StoreAddress) -> tuple[int, Path]:
    """How many items wait for a server that is away, and in which file."""
    for folder in FOLDERS:
        with suppress(sqlite3.Error, StoreError, OSError):
            path = folder(False) / server_spool(place)
            if path.is_file():
                with closing(Spool(path)) as spool:
                    if count := spool.count():
                        return count, path
    return 0, Path()
