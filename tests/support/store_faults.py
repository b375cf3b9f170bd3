# SPDX-License-Identifier: MIT
"""What may befall a store: another program holds it, its disk is full, it is moved away."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import event
from sqlalchemy.engine import Engine


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Another program holds the store."""
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield


@contextmanager
def full(path: Path) -> Iterator[None]:
    """The database may not grow: max_page_count gives SQLITE_FULL, as a full disk does."""
    pages = [1]

    def set_pages(connection):
        if connection.dialect.name == "sqlite":
            connection.exec_driver_sql(f"PRAGMA max_page_count={pages[0]}")

    event.listen(Engine, "begin", set_pages)  # and stays, to give room again to what is open
    try:
        yield
    finally:
        pages[0] = 2**30


@contextmanager
def moved_away(path: Path) -> Iterator[None]:
    """The file is not in its place, as when a stick is pulled out."""
    away = path.with_name("elsewhere.db")
    path.rename(away)
    yield
    away.rename(path)
