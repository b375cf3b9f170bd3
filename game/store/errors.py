# SPDX-License-Identifier: MIT
"""What can go wrong with a store, in plain words."""

from __future__ import annotations

import re
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


class Damaged(StoreError):
    """The file is not a database, or its pages are broken."""


class Unreachable(StoreError):
    """The server is away, or the way to it; it may come back by itself."""


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


_NOT_OURS = (sqlite3.SQLITE_ERROR, sqlite3.SQLITE_FORMAT, sqlite3.SQLITE_MISMATCH)
"""A table, a column or a value is other than the game makes them."""

_AWAY = (
    "the server cannot be reached",
    "See that it is running and that the address of the store is right. To practise on this "
    "machine meanwhile, start with --store and the name of a file.",
)
_NO_LOGIN = (
    "the server does not let this user in",
    "Correct the user's name and password in STAVEWISE_STORE.",
)
_NO_ADDRESS = (
    "the address of the store has something in it that the server's driver does not take",
    "Correct what follows the ? in it, or write the signs of a password as %40 for @ and the like.",
)
_NO_DATABASE = (
    "the server has no database of that name",
    "Have it made (createdb), or correct its name in STAVEWISE_STORE.",
)
# SQLSTATE, whole or its class (postgresql.org/docs/current/errcodes-appendix.html).
_POSTGRESQL = {
    "08": _AWAY,
    "28": _NO_LOGIN,
    "3D000": _NO_DATABASE,
    "25006": (
        "the server takes nothing to keep, it only reads",
        "Use the address of the main server.",
    ),
    "42501": (
        "this user may not make, read or change the tables there",
        "Let the owner of the database allow it, or make this user its owner.",
    ),
    "53100": ("the server's disk is full", "Free some space there, then try again."),
    "53300": ("the server has too many connections", "Close some, or let it take more."),
    "55P03": _SQLITE[sqlite3.SQLITE_BUSY],
    "57014": ("the server takes too long to answer", "Try again when it is less busy."),
    "57P": _AWAY,
}
# Before it lets anybody in, a server says why in words alone.
_REFUSALS = (
    ("authentication", _NO_LOGIN),
    ("no password", _NO_LOGIN),
    ("pg_hba", _NO_LOGIN),
    ("role ", _NO_LOGIN),
    ("too many", _POSTGRESQL["53300"]),
    ("database ", _NO_DATABASE),
    ("", _AWAY),
)
_REASON = re.compile(r"failed: ([^\n]*?)\.?$", re.MULTILINE)


def explain(error: Exception, place: str) -> StoreError:
    """The error of a database, or of the file system, in plain words."""
    cause = error.orig if isinstance(error, exc.DBAPIError) else error
    # An extended code keeps its primary code in the low byte (SQLite's result code list).
    code = getattr(cause, "sqlite_errorcode", 0) & 0xFF
    if code in _SQLITE:
        kind = Damaged if _SQLITE[code] is _DAMAGE else StoreError
        return kind(place, *_SQLITE[code])
    if type(cause).__module__.partition(".")[0] == "psycopg":
        found = _postgresql(cause)
        if found is not None:
            return (Unreachable if found[1] is _AWAY[1] else StoreError)(place, *found)
    if isinstance(cause, UnicodeDecodeError):  # SQLite quotes what is damaged
        return Damaged(place, *_DAMAGE)
    if isinstance(cause, OSError):
        return StoreError(place, f"{_NO_OPENING[0]} ({cause.strerror})", _NO_OPENING[1])
    words = (str(cause).strip().splitlines() or [type(cause).__name__])[0].rstrip(".")
    if code in _NOT_OURS:
        return Damaged(place, f"{_DAMAGE[0]} ({words})", _DAMAGE[1])
    if isinstance(cause, sqlite3.Error):
        return StoreError(place, f"SQLite says: {words}", _SQLITE[sqlite3.SQLITE_IOERR][1])
    return StoreError(
        place,
        f"the database answers: {words}",
        "See that it is running and that the address of the store is right.",
    )


def _postgresql(cause: object) -> tuple[str, str] | None:
    state = getattr(cause, "sqlstate", None)
    if state is not None:
        return next(
            (_POSTGRESQL[s] for s in (state, state[:3], state[:2]) if s in _POSTGRESQL), None
        )
    # What a driver says of an address may have a part of a password in it.
    if type(cause).__name__ not in ("OperationalError", "ConnectionTimeout"):
        return _NO_ADDRESS
    words = str(cause)
    if "FATAL:" not in words and "no password" not in words:
        found = _REASON.search(words)
        if found is None and ": invalid " in words:
            return _NO_ADDRESS
        return f"{_AWAY[0]} ({found[1]})" if found else _AWAY[0], _AWAY[1]
    told = words.partition("FATAL:")[2] or words
    return next(found for part, found in _REFUSALS if part in told)
