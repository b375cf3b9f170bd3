# SPDX-License-Identifier: MIT
"""Where the store is kept."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from sqlalchemy import URL, exc, make_url

from game.files.private import ADDRESS, make_folder
from game.files.resources import data_folder
from game.store.errors import StoreError

VARIABLE = "STAVEWISE_STORE"
"""The environment variable that names another place: a path or an SQLAlchemy URL."""

_SUSPECT = "-suspect"
SIDE_FILES = ("-wal", "-shm", "-journal", _SUSPECT)
"""What may lie beside a database: SQLite's own files, and the mark of :func:`suspect`."""


@dataclass(frozen=True, slots=True)
class StoreAddress:
    """The address of a store.

    Args:
        url: for SQLAlchemy.
        path: its file; None when it is not a file of this machine.
    """

    url: URL = field(repr=False)
    path: Path | None

    @property
    def on_server(self) -> bool:
        """Whether it is reached by a network, which may go away."""
        return self.url.get_backend_name() != "sqlite"

    @property
    def name(self) -> str:
        """As shown to people: the path, or the URL without its password."""
        if self.path is not None:
            return str(self.path)
        plain = self.url.set(drivername=self.url.get_backend_name(), query={})
        return plain.render_as_string(hide_password=True)


def find_place(where: str | Path | None) -> StoreAddress:
    """The place meant by a path or URL; None: what STAVEWISE_STORE says, else the usual place.

    Raises:
        StoreError: the URL cannot be read, or there can be no file at the path.
    """
    where = where or os.environ.get(VARIABLE) or _usual()
    if isinstance(where, str) and ("://" in where or ADDRESS.match(where)):
        url = _url(where)
        if url.get_backend_name() != "sqlite" or _is_no_file(url.database):
            return StoreAddress(url, None)
        where = url.database or ""
    else:
        url = URL.create("sqlite")
    path = Path(where).expanduser().absolute()
    _check(path)
    return StoreAddress(url.set(database=str(path)), path)


def suspect(path: Path) -> Path:
    """The file beside a store that says: damage was met in it, so look through all of it."""
    return path.with_name(path.name + _SUSPECT)


def identity(path: Path) -> tuple[int, int] | None:
    """What tells the file at a path from another one put in its place; None: there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def keep_aside(path: Path, now: Callable[[], datetime]) -> Path | None:
    """Give a damaged file a new name beside the old one, its side files with it.

    None: another copy of the game has just done so.

    Raises:
        StoreError: the file cannot be renamed.
    """
    aside = unused(path, f"damaged-{now():%Y%m%d-%H%M%S}")
    kept = None
    # The side files first: were the game killed in between, the damage is found again.
    for tail in (*SIDE_FILES, ""):
        target = aside.with_name(aside.name + tail)
        try:
            path.with_name(path.name + tail).rename(target)
            kept = target
        except FileNotFoundError:
            continue
        except OSError as error:
            raise StoreError(
                str(path),
                f"the store is damaged and cannot be renamed ({error.strerror})",
                f"Move it out of the way, or choose another place with {VARIABLE}.",
            ) from error
    return kept


def unused(path: Path, tail: str) -> Path:
    """A name beside a store's that no file has, nor any side file of it."""
    stem = f"{path.name}.{tail}"
    found, number = path.with_name(stem), 1
    while any(found.with_name(found.name + side).exists() for side in ("", *SIDE_FILES)):
        number += 1
        found = path.with_name(f"{stem}-{number}")
    return found


def _usual() -> Path:
    return own_folder() / "stavewise.db"


def own_folder() -> Path:
    """The user's data folder, made where there is none.

    Raises:
        StoreError: it cannot be made.
    """
    folder = data_folder()
    try:
        make_folder(folder)
    except OSError as error:
        raise StoreError(
            str(folder),
            f"the folder cannot be made ({error.strerror})",
            f"Choose another place with {VARIABLE}.",
        ) from error
    return folder


def _url(where: str) -> URL:
    scheme, _colon, rest = where.partition(":")  # the rest may hold a password
    before, at, after = rest.partition("@")
    # With these signs in a password, a part of it would be taken for the server's name, and shown.
    unclear = bool(at) and ("?" in before or "@" in after)
    try:
        url = make_url(where)
    except (exc.ArgumentError, ValueError):
        unclear = True
    if unclear or (url.get_backend_name() == "sqlite" and (url.host or url.username)):
        raise StoreError(
            f"{scheme}://…",
            "this is no address of a database",
            "Write a path, or an SQLAlchemy URL such as postgresql://user@host/name. In its names "
            "and password, @ is written %40, : %3A, / %2F, ? %3F, # %23, & %26 and % itself %25.",
        ) from None
    # The plain names mean a driver that we do not use.
    postgresql = url.drivername in ("postgresql", "postgres")
    return url.set(drivername="postgresql+psycopg") if postgresql else url


def _is_no_file(database: str | None) -> bool:
    return not database or database == ":memory:" or database.startswith("file:")


def _check(path: Path) -> None:
    other = f"choose another place with {VARIABLE}."
    if path.is_dir():
        raise StoreError(str(path), "this is a folder", f"Name a file in it, or {other}")
    if not path.parent.is_dir():
        raise StoreError(
            str(path), f"there is no folder {path.parent}", f"Make the folder, or {other}"
        )
    if not os.access(path if path.exists() else path.parent, os.R_OK | os.W_OK):
        raise StoreError(str(path), "the file may not be read and written", f"Allow it, or {other}")
