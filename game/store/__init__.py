# SPDX-License-Identifier: MIT
"""Readers, settings and records, kept in SQLite or any database that SQLAlchemy speaks to.

Only this folder knows SQLAlchemy.
"""

from game.store.errors import NameRefused, StoreError
from game.store.journal import RoundTaken
from game.store.live import LiveRound
from game.store.place import VARIABLE
from game.store.store import Store
from game.store.values import (
    Best,
    Reader,
    Record,
    ResultSummary,
    RoundFigures,
    State,
    terms_from_json,
    terms_to_json,
)

__all__ = [
    "VARIABLE",
    "Best",
    "LiveRound",
    "NameRefused",
    "Reader",
    "Record",
    "ResultSummary",
    "RoundFigures",
    "RoundTaken",
    "State",
    "Store",
    "StoreError",
    "terms_from_json",
    "terms_to_json",
]
