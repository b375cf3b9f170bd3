# SPDX-License-Identifier: MIT
"""Opening a store: connections, and what is done about a damaged file."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, exc

from game.files.private import claim, close_to_others
from game.store.connections import Connections
from game.store.disk import network_drive, synchronised_folder
from game.store.errors import Damaged, StoreError, Unreachable, explain
from game.store.place import SIDE_FILES, VARIABLE, StoreAddress, identity, keep_aside, suspect
from game.store.rows import json_of
from game.store.schema import prepare
from game.store.spool import spooled
from game.store.turn import own_turn, write_ahead

PATIENCE_S = 2.0
"""How long to wait for another program that is writing to the store."""

HASTE_S = 0.1
"""The same while somebody plays: an event that cannot be written waits in memory instead."""

_ALWAYS_CHECKED = 8 * 2**20  # bytes; the check of so many takes about 0.05 s
_TRIES = 3
_HEADER = b"SQLite format 3\0"  # sqlite.org/fileformat2.html, section 1.3


def open_connections(
    place: StoreAddress, now: Callable[[], datetime], renew: bool = True
) -> Connections:
    """Connections to a store that is ready for use; they have said what was found on the way.

    A damaged file is never deleted: it is kept aside under a new name (`now` dates it), and a
    fresh store is begun; unless `renew` is false, then it is left as it is and refused. A wrong
    header is seen before SQLite may touch the file; damage to the schema and a cut file show in
    opening. For damage further in, SQLite's quick_check reads the whole file, so it is run where
    it is cheap (small files) or called for (the -wal file is still there: the last game did not
    close the store, or another has it open). Where damage was met while the store was in use, the
    indexes are checked too.

    Raises:
        StoreError: the store cannot be opened.
    """
    if place.path is None:
        try:
            return _open(place, now)
        except Unreachable as error:
            raise _with_what_waits(error, place) from error
    try:
        with own_turn(place.path.parent):
            return _open_file(place, place.path, now, renew)
    except OSError as error:
        raise explain(error, place.name) from error


def _with_what_waits(error: Unreachable, place: StoreAddress) -> Unreachable:
    count, path = spooled(place)
    if not count:
        return error
    more = f"What was played last ({count} events) is safe in {path} and will be sent."
    return Unreachable(error.place, error.what, f"{error.mend} {more}")


def refuse_network_drive(place: StoreAddress, path: Path) -> None:
    """Raise :class:`StoreError` where a file would be on one."""
    if kind := network_drive(path):
        raise StoreError(
            place.name,
            f"this is a network drive ({kind}), where SQLite can lose what several games write",
            f"Choose a folder on this computer with {VARIABLE}, or one PostgreSQL server for all "
            "rooms (README: A school).",
        )


def _open_file(
    place: StoreAddress, path: Path, now: Callable[[], datetime], renew: bool
) -> Connections:
    refuse_network_drive(place, path)
    notices: list[str] = []
    for _ in range(_TRIES):
        claim(path)
        for tail in SIDE_FILES:
            close_to_others(path.with_name(path.name + tail))
        seen = identity(path)
        try:
            connections = _open(place, now)
            connections.said[:0] = notices
            return connections
        except Damaged as error:
            if not renew:
                raise StoreError(
                    place.name,
                    f"{error.what}, and nothing was changed",
                    "Start the game: it keeps the damaged file under a new name and begins a "
                    "fresh one. Or put a copy of the store in its place.",
                ) from error
            # Where games have no turns, the fresh store of another must not be renamed.
            if identity(path) != seen:
                continue
            aside = keep_aside(path, now)
            if aside is not None:
                notices.append(
                    f"The store {path.name} was damaged. It is kept as {aside}, "
                    "and a fresh one was begun."
                )
    raise StoreError(
        place.name,
        "a fresh store is damaged at once",
        "The disk may be failing: choose another place with STAVEWISE_STORE.",
    )


def _open(place: StoreAddress, now: Callable[[], datetime]) -> Connections:
    engine = engine_for(place, PATIENCE_S)
    try:
        said = _make_ready(engine, place, now)
    except BaseException:
        engine.dispose()
        raise
    hasty = engine if place.path is None else engine_for(place, HASTE_S, playing=True)
    return Connections(place, engine, hasty, said)


def engine_for(place: StoreAddress, patience_s: float, playing: bool = False) -> Engine:
    """SQLAlchemy's engine for a place; nothing is reached yet.

    Raises:
        StoreError: there is no driver for it.
    """
    try:
        if place.url.get_backend_name() == "sqlite":
            return _sqlite(place.url, patience_s, playing)
        if place.url.get_backend_name() == "postgresql":
            return _postgresql(place.url)
        return create_engine(place.url)
    except ModuleNotFoundError as error:
        mend = "install the Python driver for it"
        if error.name == "psycopg":
            mend = "pip install 'stavewise[school]'"
        raise StoreError(
            place.name, f"{error.name} is needed for this and not installed", f"To mend it: {mend}."
        ) from error
    except (exc.SQLAlchemyError, ImportError) as error:
        raise StoreError(
            place.name,
            f"this kind of database cannot be used here ({place.url.drivername})",
            "Correct the address, or install the Python driver for it.",
        ) from error


def _sqlite(url: URL, patience_s: float, playing: bool) -> Engine:
    engine = create_engine(url, connect_args={"timeout": patience_s}, json_deserializer=json_of)

    @event.listens_for(engine, "connect")
    def _set_up(connection: Any, _record: object) -> None:
        # Python's driver begins no transaction before a read or a CREATE; we begin our own.
        connection.isolation_level = None
        # A damaged byte in a text must not keep back what stands beside it.
        connection.text_factory = partial(str, encoding="utf-8", errors="replace")
        connection.execute("PRAGMA foreign_keys=ON")
        # In WAL mode NORMAL writes each commit to the file without waiting for the disk. What
        # is written is the operating system's: it outlives a killed process. Only a power
        # cut can take the last commits, and even then the file stays whole
        # (sqlite.org/pragma.html#pragma_synchronous). FULL would cost several ms a press.
        connection.execute("PRAGMA synchronous=NORMAL")
        if playing:
            # Moving the log into the database waits for the disk: the commit of the round's
            # result does it, on the other connection, and no press has to.
            connection.execute("PRAGMA wal_autocheckpoint=0")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        how = connection.get_execution_options().get("begin", "BEGIN")
        if how is not None:
            connection.exec_driver_sql(how)

    return engine


def _postgresql(url: URL) -> Engine:
    logging.getLogger("psycopg").setLevel(logging.ERROR)  # a lost connection is said by us
    # A cable pulled, or a server that hangs, must show within seconds, and not in minutes as
    # TCP would have it (postgresql.org/docs/current/libpq-connect.html).
    usual = {
        "connect_timeout": 3,
        "tcp_user_timeout": 5000,
        "keepalives_idle": 5,
        "keepalives_interval": 2,
        "keepalives_count": 2,
        "application_name": "stavewise",
    }
    ours = {key: value for key, value in usual.items() if key not in url.query}
    engine = create_engine(
        url, connect_args=ours, pool_pre_ping=True, pool_size=1, json_deserializer=json_of
    )

    @event.listens_for(engine, "do_connect")
    def _connect(_dialect: object, _record: object, args: Any, words: Any) -> Any:
        from game.store.deadline import Connection

        return Connection.connect(*args, **words)

    @event.listens_for(engine, "connect")
    def _set_up(connection: Any, _record: object) -> None:
        before, connection.autocommit = connection.autocommit, True
        connection.execute("SET statement_timeout = '10s'")
        connection.execute(f"SET lock_timeout = '{PATIENCE_S}s'")
        connection.autocommit = before

    return engine


def _make_ready(engine: Engine, place: StoreAddress, now: Callable[[], datetime]) -> list[str]:
    path, notices = place.path, list[str]()
    try:
        left_open = path is not None and _see_header(path)
        if (notice := prepare(engine, place, now)) is not None:
            notices.append(notice)
        if path is not None:
            doubtful = suspect(path)
            if doubtful.exists():
                _check(engine, path, "integrity_check")
                doubtful.unlink()
            elif left_open or path.stat().st_size <= _ALWAYS_CHECKED:
                _check(engine, path, "quick_check")
            with engine.connect().execution_options(begin=None) as connection:
                driver = connection.connection.driver_connection
                assert driver is not None
                if not write_ahead(driver, PATIENCE_S):
                    notices.append(
                        f"The disk of {path.parent} can't hold SQLite's write-ahead log: open the "
                        f"store in one window at a time, or choose another disk with {VARIABLE}."
                    )
            if folder := synchronised_folder(path):
                notices.append(
                    f"The store is in {folder}, which is copied between computers. Play on one "
                    f"computer at a time, or choose a folder outside it with {VARIABLE}."
                )
    except (exc.SQLAlchemyError, sqlite3.Error, OSError, UnicodeDecodeError) as error:
        raise explain(error, place.name) from error
    return notices


def _see_header(path: Path) -> bool:
    """Whether there is a -wal file, its database being there too.

    SQLite deletes the -wal file of an empty or foreign database, and with it what was played
    last. So this is looked at first. (The -wal file before the database: another copy that
    is just making a store makes them in the other order.)
    """
    log = path.with_name(path.name + "-wal")
    left_open = log.exists()
    orphan = left_open and log.stat().st_size > 0
    start = b""
    if path.exists():
        with path.open("rb") as file:
            start = file.read(len(_HEADER))
    if start != _HEADER and (start or orphan):
        raise Damaged(str(path), "this is no database", "It is kept aside.")
    return left_open


def _check(engine: Engine, path: Path, how: str) -> None:
    with engine.connect() as connection:
        found = connection.exec_driver_sql(f"PRAGMA {how}(1)").scalar()
    if found != "ok":
        raise Damaged(str(path), f"the store is damaged ({found})", "It is kept aside.")
