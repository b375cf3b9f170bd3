# SPDX-License-Identifier: MIT
"""The tables of the store. A change here needs a script in migrations/versions and a new FORM."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    DateTime,
    Dialect,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)
from sqlalchemy.dialects.sqlite import DATETIME
from sqlalchemy.types import TypeEngine

from game.reader.names import LONGEST_NAME

FORM = 3
"""Of the tables, from 1; the newest script in migrations/versions brings a store to it."""

GREATEST = 2**31 - 1
"""The greatest number of a seat or an entry: PostgreSQL's integer takes no more."""


class _SqliteTime(DATETIME):
    """A text in SQLite; None where it is damaged."""

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any]:
        read = super().result_processor(dialect, coltype)
        assert read is not None

        def lenient(value: Any) -> Any:
            try:
                return read(value)
            except (ValueError, TypeError):
                return None

        return lenient


class UtcTime(TypeDecorator[datetime]):
    """An aware datetime, kept in UTC; SQLite itself keeps no time zone."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        sqlite = dialect.name == "sqlite"
        kind = _SqliteTime() if sqlite else self.impl_instance  # type: ignore[no-untyped-call]
        return dialect.type_descriptor(kind)

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


METADATA = MetaData()

# One row. Its presence says whose store this is; its number, in which form (every game since the
# first reads it). Alembic keeps the same number in a table of its own, as text.
STAVEWISE = Table("stavewise", METADATA, Column("version", Integer, nullable=False))

READERS = Table(
    "readers",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("name", String(LONGEST_NAME), nullable=False),
    # The name as it compares: two ways to type one name are one reader.
    Column("folded", String(LONGEST_NAME), nullable=False, unique=True),
    Column("archived", Boolean, nullable=False, default=False),
    Column("created", UtcTime, nullable=False),
)

SETTINGS = Table(
    "settings",
    METADATA,
    # 0 for all readers: a key column cannot be NULL, and no reader has the number 0.
    Column("reader", Integer, primary_key=True, autoincrement=False),
    Column("key", String(100), primary_key=True),
    Column("value", JSON, nullable=False),
)

RECORDS = Table(
    "records",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("reader", ForeignKey("readers.id"), nullable=False),
    # Both are in the terms too; here they can be searched.
    Column("level_id", String(200), nullable=False),
    Column("kind", String(40), nullable=False),
    Column("terms", JSON, nullable=False),
    Column("state", String(10), nullable=False),
    Column("started", UtcTime, nullable=False),
    Column("app_version", String(40), nullable=False),
    # The result; NULL until finished.
    Column("score", Double),
    Column("mean_points", Double),
    Column("accuracy", Double),
    Column("median_s", Double),
    Column("tempo_per_min", Double),
    Column("slots", Integer),
    Column("right", Integer),
    Column("passed", Boolean),
    Column("complete", Boolean),
    Index("records_by_best", "reader", "level_id", "kind", "mean_points"),
    Index("records_by_time", "reader", "started"),
    Index("records_by_state", "state"),
)

EVENTS = Table(
    "events",
    METADATA,
    Column("record", ForeignKey("records.id"), primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(10), nullable=False),
    Column("t", Double, nullable=False),
    Column("key", Integer),
    Column("velocity", Integer),
    Column("keyboard", Text),
    # The events of a round lie together in key order: an append touches one tree, at its end.
    sqlite_with_rowid=False,
)

# A class and those in it. Nothing here is ever deleted: archived, it is no longer offered.
CLASSES = Table(
    "classes",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("name", String(LONGEST_NAME), nullable=False),
    Column("folded", String(LONGEST_NAME), nullable=False, unique=True),
    Column("archived", Boolean, nullable=False, default=False),
)

MEMBERS = Table(
    "members",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("class", ForeignKey("classes.id"), nullable=False),
    # Empty for a seat whose child's name is not to be kept.
    Column("name", String(LONGEST_NAME), nullable=False),
    # The name as it compares, or the seat's number after a space, with which no name begins.
    Column("folded", String(LONGEST_NAME), nullable=False),
    Column("seat", Integer),
    Column("reader", ForeignKey("readers.id")),
    Column("archived", Boolean, nullable=False, default=False),
    UniqueConstraint("class", "folded", name="members_differ"),
)

HEATS = Table(
    "heats",
    METADATA,
    Column("uuid", String(64), primary_key=True),
    Column("class", ForeignKey("classes.id")),
    Column("setup", JSON, nullable=False),
    Column("state", String(10), nullable=False),
    Column("started", UtcTime, nullable=False),
    Column("result", JSON(none_as_null=True)),
    Index("heats_by_class", "class", "started"),
    Index("heats_by_state", "state"),
)

HEAT_ENTRIES = Table(
    "heat_entries",
    METADATA,
    Column("heat", ForeignKey("heats.uuid"), primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    # The exact text that was hashed.
    Column("line", Text, nullable=False),
    Column("hash", String(64), nullable=False),
    sqlite_with_rowid=False,
)

# What came for a place that another copy of the game had filled: kept, and not used.
REFUSED = Table(
    "refused",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("target", String(100), nullable=False),
    Column("seq", Integer, nullable=False),
    Column("body", JSON, nullable=False),
    Column("found", UtcTime, nullable=False),
    Index("refused_by_target", "target", "seq"),
)

# What is under way: given anew every few seconds by the copy of the game that plays it.
UNDER_WAY = Table(
    "under_way",
    METADATA,
    Column("target", String(100), primary_key=True),
    Column("origin", String(40), nullable=False),
    # The name of the computer.
    Column("place", String(LONGEST_NAME), nullable=False),
    # Seconds by the clock of the server, or of the machine that has the file.
    Column("seen", Double, nullable=False),
)
