# SPDX-License-Identifier: MIT
"""The form of the store: made when new, brought forward when old, left alone when newer."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, insert, inspect, select

from game.private import claim
from game.store.errors import Damaged, StoreError
from game.store.place import Place, unused
from game.store.tables import FORM, METADATA, STAVEWISE

SCRIPTS = Path(__file__).parent / "migrations"
_ALEMBIC = "CREATE TABLE stavewise_alembic (version_num VARCHAR(32) NOT NULL PRIMARY KEY)"
_OUR_LOCK = 0x53746176  # "Stav": of all that share a server, only this game takes it


def prepare(engine: Engine, place: Place, now: Callable[[], datetime]) -> str | None:
    """Make the tables, or bring them forward, in one transaction; a notice to show, if any.

    The form is one plain query; Alembic, a quarter of a second to import, is only for a store
    that has to be brought forward. A file is copied before that; `now` dates the copy.

    Raises:
        StoreError: the store is of a newer game or of another program, or cannot be brought
            forward; it is not changed.
    """
    # The write lock is taken first, so that of two copies starting at once one makes the
    # tables and the other finds them; it also shows at once whether writing is allowed.
    first = engine.connect().execution_options(begin="BEGIN IMMEDIATE")
    with first as connection, connection.begin():
        if connection.dialect.name == "postgresql":
            _wait_for_turn(connection)
        present = set(inspect(connection).get_table_names())
        if STAVEWISE.name not in present:
            _make(connection, place, present)
            return None
        form = connection.execute(select(STAVEWISE.c.version)).scalar_one()
        if form == FORM:
            return None
        if form > FORM:
            raise StoreError(
                place.name,
                f"a newer Stavewise made this store (form {form}; this one knows {FORM})",
                "Install the newer Stavewise, or choose another place with STAVEWISE_STORE. "
                "The store was not changed.",
            )
        if place.path is None:
            bring_forward(connection, form)
            return None
        return _with_copy(connection, place.path, form, now)


def _wait_for_turn(connection: Connection) -> None:
    # Bringing a school's store forward may take longer than anything else may.
    connection.exec_driver_sql("SET LOCAL statement_timeout = '300s'")
    connection.exec_driver_sql("SET LOCAL lock_timeout = '60s'")
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_OUR_LOCK})")


def _make(connection: Connection, place: Place, present: set[str]) -> None:
    # A file is one program's; a database server may hold tables of others beside ours.
    strange = present if connection.dialect.name == "sqlite" else present & set(METADATA.tables)
    if strange:
        raise StoreError(
            place.name,
            f"this is the database of another program (it has a table {min(strange)!r})",
            "Choose another place with STAVEWISE_STORE.",
        )
    METADATA.create_all(connection, checkfirst=False)
    connection.execute(insert(STAVEWISE).values(version=FORM))
    connection.exec_driver_sql(_ALEMBIC)
    _stamp(connection, FORM)


def _stamp(connection: Connection, form: int) -> None:
    connection.exec_driver_sql(f"INSERT INTO stavewise_alembic VALUES ('{form}')")


def bring_forward(connection: Connection, form: int | None, to: str = "head") -> None:
    """Run the scripts on a store of this form (None: an empty database)."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(SCRIPTS).replace("%", "%%"))
    config.attributes["connection"] = connection
    if form is not None and not inspect(connection).has_table("stavewise_alembic"):
        connection.exec_driver_sql(_ALEMBIC)  # the first games had no Alembic
        _stamp(connection, form)
    command.upgrade(config, to)


def _with_copy(connection: Connection, path: Path, form: int, now: Callable[[], datetime]) -> str:
    if connection.exec_driver_sql("PRAGMA quick_check(1)").scalar() != "ok":
        raise Damaged(str(path), "the store is damaged", "It is kept aside.")
    copy = unused(path, f"form-{form}-{now():%Y%m%d-%H%M%S}")
    try:
        _copy(path, copy)
        bring_forward(connection, form)
    except BaseException:
        copy.unlink(missing_ok=True)
        raise
    return (
        f"The store {path.name} was brought to a new form. As it was before, it is kept as {copy}."
    )


def _copy(path: Path, target: Path) -> None:
    """A copy of the database as it is now, on the disk for good before anything changes.

    The caller holds the write lock; SQLite copies from no connection that could be writing.
    """
    claim(target)
    with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(target)) as copy:
        source.backup(copy)
    with target.open("rb+") as file:
        os.fsync(file.fileno())
