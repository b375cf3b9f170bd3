# SPDX-License-Identifier: MIT
"""Classes and their members, heats and their entries, and what came second for a place."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "2"
down_revision = "1"


def upgrade() -> None:
    op.create_table(
        "classes",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("folded", sa.String(80), nullable=False, unique=True),
        sa.Column("archived", sa.Boolean, nullable=False),
    )
    op.create_table(
        "members",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("class", sa.Integer, sa.ForeignKey("classes.id"), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("folded", sa.String(80), nullable=False),
        sa.Column("seat", sa.Integer),
        sa.Column("reader", sa.Integer, sa.ForeignKey("readers.id")),
        sa.Column("archived", sa.Boolean, nullable=False),
        sa.UniqueConstraint("class", "folded", name="members_differ"),
    )
    op.create_table(
        "heats",
        sa.Column("uuid", sa.String(64), primary_key=True),
        sa.Column("class", sa.Integer, sa.ForeignKey("classes.id")),
        sa.Column("setup", sa.JSON, nullable=False),
        sa.Column("state", sa.String(10), nullable=False),
        sa.Column("started", sa.DateTime(timezone=True), nullable=False),
        sa.Column("result", sa.JSON),
    )
    op.create_index("heats_by_class", "heats", ["class", "started"])
    op.create_index("heats_by_state", "heats", ["state"])
    op.create_table(
        "heat_entries",
        sa.Column("heat", sa.String(64), sa.ForeignKey("heats.uuid"), primary_key=True),
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("line", sa.Text, nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "refused",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("target", sa.String(100), nullable=False),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("body", sa.JSON, nullable=False),
        sa.Column("found", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_index("refused_by_target", "refused", ["target", "seq"])
    op.execute("UPDATE stavewise SET version = 2")
