# SPDX-License-Identifier: MIT
"""Alembic runs this for every command: the scripts, on the connection that the caller holds.

The caller's transaction is the only one, so a script that fails leaves nothing behind.
"""

from __future__ import annotations

from alembic import context

from game.store.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    # Not "alembic_version": on a server another program may have a table of that name.
    version_table="stavewise_alembic",
)
context.run_migrations()
