# SPDX-License-Identifier: MIT
"""Readers, settings and records, kept in SQLite or any database that SQLAlchemy speaks to.

Only this folder knows SQLAlchemy.
"""

from game.store.delivery import ContinuedElsewhere, HeatTaken, RoundTaken, heat_target, round_target
from game.store.errors import StoreError, Unreachable
from game.store.heats import HeatEntry, KeptHeat
from game.store.imports import Imported
from game.store.life import SignOfLife
from game.store.place import VARIABLE
from game.store.roster import Member, SchoolClass
from game.store.school import School
from game.store.store import Store
from game.store.trial import StoreTrial, try_store
from game.store.values import (
    Best,
    Reader,
    Record,
    ResultSummary,
    RoundFigures,
    RoundState,
    terms_from_json,
    terms_to_json,
)

__all__ = [
    "VARIABLE",
    "Best",
    "ContinuedElsewhere",
    "HeatEntry",
    "HeatTaken",
    "Imported",
    "KeptHeat",
    "Member",
    "Reader",
    "Record",
    "ResultSummary",
    "RoundFigures",
    "RoundState",
    "RoundTaken",
    "School",
    "SchoolClass",
    "SignOfLife",
    "Store",
    "StoreError",
    "StoreTrial",
    "Unreachable",
    "heat_target",
    "round_target",
    "terms_from_json",
    "terms_to_json",
    "try_store",
]
