# SPDX-License-Identifier: MIT
"""The tables of the store."""

from __future__ import annotations

from datetime import UTC, datetime

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
)

LONGEST_NAME = 80
"""Characters in a reader's name."""


class UtcTime(TypeDecorator[datetime]):
    """An aware datetime, kept in UTC; SQLite itself keeps no time zone."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


METADATA = MetaData()

# One row. Its presence says whose store this is; its number, in which form.
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
