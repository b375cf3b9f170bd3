# SPDX-License-Identifier: MIT
"""Readers, settings, records and their events.

A script is never changed once it is published, so it imports nothing of the game.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "1"
down_revision = None


def upgrade() -> None:
    op.create_table("stavewise", sa.Column("version", sa.Integer, nullable=False))
    op.create_table(
        "readers",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("folded", sa.String(80), nullable=False, unique=True),
        sa.Column("archived", sa.Boolean, nullable=False),
        sa.Column("created", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_table(
        "settings",
        sa.Column("reader", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("key", sa.String(100), primary_key=True),
        sa.Column("value", sa.JSON, nullable=False),
    )
    op.create_table(
        "records",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("reader", sa.Integer, sa.ForeignKey("readers.id"), nullable=False),
        sa.Column("level_id", sa.String(200), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("terms", sa.JSON, nullable=False),
        sa.Column("state", sa.String(10), nullable=False),
        sa.Column("started", sa.DateTime(timezone=True), nullable=False),
        sa.Column("app_version", sa.String(40), nullable=False),
        sa.Column("score", sa.Double),
        sa.Column("mean_points", sa.Double),
        sa.Column("accuracy", sa.Double),
        sa.Column("median_s", sa.Double),
        sa.Column("tempo_per_min", sa.Double),
        sa.Column("slots", sa.Integer),
        sa.Column("right", sa.Integer),
        sa.Column("passed", sa.Boolean),
        sa.Column("complete", sa.Boolean),
    )
    op.create_index("records_by_best", "records", ["reader", "level_id", "kind", "mean_points"])
    op.create_index("records_by_time", "records", ["reader", "started"])
    op.create_index("records_by_state", "records", ["state"])
    op.create_table(
        "events",
        sa.Column("record", sa.Integer, sa.ForeignKey("records.id"), primary_key=True),
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("t", sa.Double, nullable=False),
        sa.Column("key", sa.Integer),
        sa.Column("velocity", sa.Integer),
        sa.Column("keyboard", sa.Text),
        sqlite_with_rowid=False,
    )
    op.execute("INSERT INTO stavewise (version) VALUES (1)")
