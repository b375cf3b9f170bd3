# SPDX-License-Identifier: MIT
"""A spare file on another disk for what a store on this machine does not take."""

from __future__ import annotations

import hashlib
import os
import sqlite3
import stat
import tempfile
import time
import uuid
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path

from game.files.resources import data_folder
from game.store.connections import Connections
from game.store.delivery import Item
from game.store.errors import StoreError
from game.store.place import own_folder
from game.store.settings import KeptSettings
from game.store.spool import Spool

_REST_S = 1.0  # between tries of disks that have refused
_ALL = 2**31
_ID = "id of this store"


def spare_of(connections: Connections) -> Spare | None:
    """The spare file of an open store; None for one that is no file of this machine.

    Its name goes by the store's path and by an id in it: the rounds of a fresh store in the
    same place have the same numbers, and must not get what was played on the old one.
    """
    path = connections.place.path
    if path is None:
        return None
    kept = KeptSettings(connections)
    try:
        mark = kept.get_setting(_ID)
        if mark is None:
            kept.set_setting(_ID, uuid.uuid4().hex)
            mark = kept.get_setting(_ID)  # another copy may have been first
    except StoreError:
        return None
    whose = hashlib.sha256(f"{path}\n{mark}".encode()).hexdigest()[:12]
    return Spare(f"for-store-{whose}.db")


class Spare:
    """Stateful: the spools of one store, in whichever folder takes them; made when needed."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._spools: dict[Path, Spool] = {}
        self._found: dict[Path, list[int]] = {}  # what an earlier process left
        self._refused_at: float | None = None
        self.where = ""
        """The file that has what was put last."""

    def left(self) -> list[Item]:
        """What waits in them, of processes before this one."""
        items: list[Item] = []
        for folder in _FOLDERS:
            with suppress(sqlite3.Error, StoreError, OSError):
                path = folder(False) / self._name
                if not path.is_file():
                    continue
                spool = self._spool(path)
                self._found[path], found = spool.first(_ALL)
                items += found
                self.where = str(path) if found else self.where
        return items

    def put(self, items: Sequence[Item]) -> bool:
        """Add items; False where no folder takes them."""
        if not items:
            return True
        if self._refused_at is not None and time.monotonic() - self._refused_at < _REST_S:
            return False
        for folder in _FOLDERS:
            try:
                path = folder(True) / self._name
                self._spool(path).put(items)
            except (sqlite3.Error, StoreError, OSError):
                continue
            self.where, self._refused_at = str(path), None
            return True
        self._refused_at = time.monotonic()
        return False

    def clear(self) -> None:
        """All is in the store. What stays here by a fault is found to be there, and left out."""
        for path, spool in self._spools.items():
            with suppress(sqlite3.Error):
                spool.withdraw()
                spool.delivered(self._found.pop(path, []), ())

    def drop(self, target: str) -> None:
        """Forget what waits for a target."""
        for spool in self._spools.values():
            with suppress(sqlite3.Error):
                spool.drop(target)

    def close(self) -> None:
        """What is in the files stays there."""
        for spool in self._spools.values():
            with suppress(sqlite3.Error):
                spool.close()
        self._spools.clear()

    def _spool(self, path: Path) -> Spool:
        if path not in self._spools:
            self._spools[path] = Spool(path)
        return self._spools[path]


def _data(make: bool) -> Path:
    """The user's data folder; nothing is made there before it is needed."""
    return own_folder() if make else data_folder()


def _temporary(make: bool) -> Path:
    """A folder for temporary files that is this user's alone.

    Raises:
        OSError: there is none.
    """
    folder = Path(tempfile.gettempdir())
    if not hasattr(os, "getuid"):
        return folder  # where there are no such numbers, each user has a folder anyway
    mine = folder / f"stavewise-{os.getuid()}"
    if make:
        mine.mkdir(mode=0o700, exist_ok=True)
    found = mine.lstat()
    if not stat.S_ISDIR(found.st_mode) or found.st_uid != os.getuid() or found.st_mode & 0o077:
        raise PermissionError(f"{mine} is not this user's alone")
    return mine


_FOLDERS: tuple[Callable[[bool], Path], ...] = (_data, _temporary)
