# SPDX-License-Identifier: MIT
"""The form of the store: made when new, brought forward when old, left alone when newer."""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import Connection, Engine, insert, inspect, select, update

from game.store.errors import StoreError
from game.store.tables import METADATA, STAVEWISE

MIGRATIONS: tuple[Callable[[Connection], None], ...] = ()
"""The step at index n brings a store from version n + 1 to version n + 2."""


def current_version() -> int:
    """The version that this game reads and writes, from 1."""
    return len(MIGRATIONS) + 1


def prepare(engine: Engine, place: str) -> None:
    """Make the tables, or bring them forward, in one transaction.

    Raises:
        StoreError: the store is of a newer game or of another program; it is not touched.
    """
    # The write lock is taken first, so that of two copies starting at once one makes the
    # tables and the other finds them; it also shows at once whether writing is allowed.
    first = engine.connect().execution_options(begin="BEGIN IMMEDIATE")
    with first as connection, connection.begin():
        present = set(inspect(connection).get_table_names())
        if STAVEWISE.name in present:
            _bring_forward(connection, place)
        else:
            _make(connection, place, present)


def _make(connection: Connection, place: str, present: set[str]) -> None:
    # A file is one program's; a database server may hold tables of others beside ours.
    strange = present if connection.dialect.name == "sqlite" else present & set(METADATA.tables)
    if strange:
        raise StoreError(
            place,
            f"this is the database of another program (it has a table {min(strange)!r})",
            "Choose another place with STAVEWISE_STORE.",
        )
    METADATA.create_all(connection, checkfirst=False)
    connection.execute(insert(STAVEWISE).values(version=current_version()))


def _bring_forward(connection: Connection, place: str) -> None:
    version = connection.execute(select(STAVEWISE.c.version)).scalar_one()
    ours = current_version()
    if version > ours:
        raise StoreError(
            place,
            f"a newer Stavewise made this store (form {version}; this one knows {ours})",
            "Install the newer Stavewise, or choose another place with STAVEWISE_STORE. "
            "The store was not changed.",
        )
    for bring in MIGRATIONS[version - 1 :]:
        bring(connection)
    if version < ours:
        connection.execute(update(STAVEWISE).values(version=ours))
