# SPDX-License-Identifier: MIT
"""The records that others brought, kept so that their pace can be played against."""

from __future__ import annotations

from typing import Any

from game.session.records.checking import RescoredRecord
from game.session.records.reading import RecordFault, record_from
from game.session.records.shared import SharedRound, record_json
from game.store import Store

MOST = 8
"""Guests kept for a level; a newer one takes the place of the oldest."""


def guests(store: Store, level_id: str) -> tuple[SharedRound, ...]:
    """The guests on a level, the one that came last first. Damaged ones are left out.

    Raises:
        StoreError: the store cannot be read.
    """
    found = []
    for value in reversed(_kept(store, level_id)):
        try:
            found.append(record_from(value, "a guest"))
        except RecordFault:  # of another version, or damaged: its file can be brought again
            continue
    return tuple(found)


def keep_guest(store: Store, checked: RescoredRecord) -> None:
    """Keep a record that was scored again, with the figures worked out; the same one only once.

    Raises:
        StoreError: the store cannot be written.
    """
    level_id = checked.shared.terms.level_id
    new = record_json(checked.shared)
    others = [value for value in _kept(store, level_id) if value != new]
    store.set_setting(_key(level_id), [*others, new][-MOST:])


def _kept(store: Store, level_id: str) -> list[Any]:
    value = store.get_setting(_key(level_id), [])
    return value if isinstance(value, list) else []


def _key(level_id: str) -> str:
    return f"guests {level_id}"
