# SPDX-License-Identifier: MIT
"""Alembic's scripts. Only :mod:`game.store.schema` runs them."""
