# SPDX-License-Identifier: MIT
"""The form of the store: made when new, brought forward when old, left alone when newer."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, exc, insert, inspect, select, update

from game.files.private import claim
from game.store.errors import Damaged, StoreError, explain
from game.store.place import StoreAddress, unused
from game.store.tables import FORM, METADATA, STAVEWISE

SCRIPTS = Path(__file__).parent / "migrations"
_ALEMBIC_TABLE = "stavewise_alembic"
_ALEMBIC = f"CREATE TABLE {_ALEMBIC_TABLE} (version_num VARCHAR(32) NOT NULL PRIMARY KEY)"
_UNCHANGED = "It was not changed. Ask whoever gave you Stavewise, or choose another place."
_OUR_LOCK = 0x53746176  # "Stav": of all that share a server, only this game takes it


def prepare(engine: Engine, place: StoreAddress, now: Callable[[], datetime]) -> str | None:
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
        form = _form(connection, place, present)
        if form == FORM:
            _see_tables(connection, place)
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


def _form(connection: Connection, place: StoreAddress, present: set[str]) -> int:
    """The form of a store. Its number is kept twice; where they differ and one of them is of this
    game, that is it, and a damaged one is corrected.

    Raises:
        Damaged: there is no number.
    """
    numbers = list(connection.scalars(select(STAVEWISE.c.version)))
    if len(numbers) != 1 or not isinstance(numbers[0], int):
        raise Damaged(place.name, "the store is damaged (of which form it is)", "It is kept aside.")
    if numbers[0] != FORM and _ALEMBIC_TABLE in present:
        text = connection.exec_driver_sql(f"SELECT version_num FROM {_ALEMBIC_TABLE}").scalar()
        if text == str(FORM):
            connection.execute(update(STAVEWISE).values(version=FORM))
            return FORM
    return numbers[0]


def _see_tables(connection: Connection, place: StoreAddress) -> None:
    """Raise :class:`Damaged` where a file lacks a table or a column."""
    if connection.dialect.name != "sqlite":
        return
    for table in METADATA.sorted_tables:
        try:
            connection.execute(select(table).limit(0))
        except exc.OperationalError as error:
            words = f"the store is damaged ({error.orig})"
            raise Damaged(place.name, words, "It is kept aside.") from error


def _wait_for_turn(connection: Connection) -> None:
    # Bringing a school's store forward may take longer than anything else may.
    connection.exec_driver_sql("SET LOCAL statement_timeout = '300s'")
    connection.exec_driver_sql("SET LOCAL lock_timeout = '60s'")
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_OUR_LOCK})")


def _make(connection: Connection, place: StoreAddress, present: set[str]) -> None:
    # A file is one program's; a database server may hold tables of others beside ours.
    ours = present & set(METADATA.tables)
    strange = present if connection.dialect.name == "sqlite" else ours
    if strange is present and len(ours) > 1:
        raise Damaged(place.name, "the store is damaged (a table is gone)", "It is kept aside.")
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
    connection.exec_driver_sql(f"INSERT INTO {_ALEMBIC_TABLE} VALUES ('{form}')")


def bring_forward(connection: Connection, form: int | None, to: str = "head") -> None:
    """Run the scripts on a store of this form (None: an empty database)."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(SCRIPTS).replace("%", "%%"))
    config.attributes["connection"] = connection
    if form is not None and not inspect(connection).has_table(_ALEMBIC_TABLE):
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
    except BaseException as error:
        copy.unlink(missing_ok=True)
        if isinstance(error, exc.OperationalError):
            if isinstance(found := explain(error, str(path)), Damaged):
                what = f"it cannot be brought to the form of this game ({error.orig})"
                raise StoreError(str(path), what, _UNCHANGED) from error
            raise found from error
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
