# SPDX-License-Identifier: MIT
"""Which rounds and heats are under way, and where."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "3"
down_revision = "2"


def upgrade() -> None:
    op.create_table(
        "under_way",
        sa.Column("target", sa.String(100), primary_key=True),
        sa.Column("origin", sa.String(40), nullable=False),
        sa.Column("place", sa.String(80), nullable=False),
        sa.Column("seen", sa.Double, nullable=False),
    )
    op.execute("UPDATE stavewise SET version = 3")
