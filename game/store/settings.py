# SPDX-License-Identifier: MIT
"""Settings, each reader's and the whole game's."""

from __future__ import annotations

import json
from collections.abc import Callable
from itertools import count
from typing import Any

from sqlalchemy import ColumnElement, exc, insert, select, update

from game.store.connections import Connections
from game.store.rows import DAMAGED
from game.store.tables import SETTINGS

_ASIDE = "damaged "
_LONGEST_KEY = 100


class KeptSettings:
    """Settings over the connections of a store."""

    def __init__(self, connections: Connections) -> None:
        self._connections = connections

    def get_setting(self, key: str, default: Any = None, reader: int | None = None) -> Any:
        """A setting's JSON value: a reader's own, or with None that of the whole game.

        One that is damaged, or neither a list nor a table where the default is one, is set aside.
        """
        query = select(SETTINGS.c.value).where(*_setting(key, reader))
        with self._connections.transaction() as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            return default
        other = isinstance(default, dict | list) and type(row.value) is not type(default)
        if row.value is DAMAGED or other:
            self.set_aside(key, reader)
            return default
        return row.value

    def set_aside(self, key: str, reader: int | None = None) -> None:
        """Give a damaged setting another key, under which nobody looks for it, and say so."""
        with self._connections.transaction(alone=True) as connection:
            mine = SETTINGS.c.reader == (reader or 0)
            taken = {*connection.scalars(select(SETTINGS.c.key).where(mine))}
            names = (f"{_ASIDE}{n} {key}"[:_LONGEST_KEY] for n in count(1))
            aside = next(name for name in names if name not in taken)
            change = update(SETTINGS).where(*_setting(key, reader)).values(key=aside)
            connection.execute(change)
        self._connections.say(
            f"What was kept as ‘{key}’ is damaged, so it is as at first. It is kept as ‘{aside}’."
        )

    def set_setting(self, key: str, value: Any, reader: int | None = None) -> None:
        """Keep a setting: any JSON value, 'None' included.

        Raises:
            ValueError: it is no JSON value, or holds a number that is not finite.
        """
        _check(value)
        change = update(SETTINGS).where(*_setting(key, reader)).values(value=value)
        try:
            with self._connections.transaction() as connection:
                if not connection.execute(change).rowcount:
                    row = {"reader": reader or 0, "key": key, "value": value}
                    connection.execute(insert(SETTINGS).values(row))
        except exc.IntegrityError:  # another copy was first
            with self._connections.transaction() as connection:
                connection.execute(change)

    def change_setting(
        self, key: str, change: Callable[[Any], Any], reader: int | None = None
    ) -> Any:
        """Put what `change` makes of a setting's value in its place, and return it; of None where
        there is none.

        `change` may take its time: no transaction waits for it. Where another copy of the game
        changed the value meanwhile, it is called again with what that made.
        """
        while True:
            kept = self.get_setting(key, None, reader)
            value = change(kept)
            _check(value)
            if self._replaced(key, kept, value, reader):
                return value

    def _replaced(self, key: str, kept: Any, value: Any, reader: int | None) -> bool:
        """Put a value in the place of the one that was read; False where it is no longer there."""
        this = _setting(key, reader)
        read = select(SETTINGS.c.value).where(*this).with_for_update()
        try:
            with self._connections.transaction(alone=True) as connection:
                row = connection.execute(read).one_or_none()
                if (None if row is None else row.value) != kept:
                    return False
                if row is None:
                    new = {"reader": reader or 0, "key": key, "value": value}
                    connection.execute(insert(SETTINGS).values(new))
                else:
                    connection.execute(update(SETTINGS).where(*this).values(value=value))
        except exc.IntegrityError:  # another copy was first; now there is a row to lock
            return False
        return True


def _check(value: Any) -> None:
    """SQLite would keep NaN as a word that is no JSON; PostgreSQL does not take it."""
    json.dumps(value, allow_nan=False)


def _setting(key: str, reader: int | None) -> tuple[ColumnElement[bool], ...]:
    return SETTINGS.c.reader == (reader or 0), SETTINGS.c.key == key
