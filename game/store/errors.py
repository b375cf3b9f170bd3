# SPDX-License-Identifier: MIT
"""What can go wrong with a store, in plain words."""

from __future__ import annotations

import sqlite3

from sqlalchemy import exc


class StoreError(Exception):
    """The store cannot do what was asked.

    Args:
        place: the store's file or address (never with a password).
        what: what is wrong, without a full stop.
        mend: what to do about it, a sentence.
    """

    def __init__(self, place: str, what: str, mend: str) -> None:
        super().__init__(f"{place}: {what}. {mend}")
        self.place = place
        self.what = what
        self.mend = mend


class NameRefused(StoreError):
    """A reader's name that is taken or cannot be one; `place` is the name."""


class Damaged(StoreError):
    """The file is not a database, or its pages are broken."""


_NO_ENTRY = (
    "the file may not be written",
    "Allow writing to it and to its folder, or choose another place with STAVEWISE_STORE.",
)
_DAMAGE = (
    "the store is damaged",
    "Start the game again: it keeps the damaged file under a new name and begins a fresh one.",
)
_NO_OPENING = (
    "the file cannot be opened",
    "See that its folder is there and may be written, "
    "or choose another place with STAVEWISE_STORE.",
)
_SQLITE = {
    sqlite3.SQLITE_BUSY: (
        "another program is using the store and does not let go of it",
        "Close that program, then try again.",
    ),
    sqlite3.SQLITE_FULL: ("the disk is full", "Free some space, then try again."),
    sqlite3.SQLITE_IOERR: (
        "the disk does not take or give the data",
        "See that it is connected and has free space, then try again.",
    ),
    sqlite3.SQLITE_CANTOPEN: _NO_OPENING,
    sqlite3.SQLITE_READONLY: _NO_ENTRY,
    sqlite3.SQLITE_PERM: _NO_ENTRY,
    sqlite3.SQLITE_CORRUPT: _DAMAGE,
    sqlite3.SQLITE_NOTADB: _DAMAGE,
}


def explain(error: Exception, place: str) -> StoreError:
    """The error of a database, or of the file system, in plain words."""
    cause = error.orig if isinstance(error, exc.DBAPIError) else error
    # An extended code keeps its primary code in the low byte (SQLite's result code list).
    code = getattr(cause, "sqlite_errorcode", 0) & 0xFF
    if code in _SQLITE:
        kind = Damaged if _SQLITE[code] is _DAMAGE else StoreError
        return kind(place, *_SQLITE[code])
    if isinstance(cause, OSError):
        return StoreError(place, f"{_NO_OPENING[0]} ({cause.strerror})", _NO_OPENING[1])
    words = (str(cause).strip().splitlines() or [type(cause).__name__])[0].rstrip(".")
    return StoreError(
        place,
        f"the database answers: {words}",
        "See that it is running and that the address of the store is right.",
    )
