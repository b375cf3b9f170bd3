# SPDX-License-Identifier: MIT
"""Whether a store could be kept at a place, found out without touching the one that is there."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import exc

from game.store.disk import synchronised_folder
from game.store.errors import StoreError, explain
from game.store.opening import engine_for, refuse_network_drive
from game.store.place import VARIABLE, StoreAddress, find_place
from game.store.turn import write_ahead

_PATIENCE_S = 5.0


@dataclass(frozen=True)
class StoreTrial:
    """What was found.

    Args:
        name: the place as shown to people, with no password.
        path: the real path of its file; None where it is not a file of this computer.
        write_ahead: whether SQLite can keep its write-ahead log there.
        warnings: what could go wrong there, with the mend.
    """

    name: str
    path: Path | None
    write_ahead: bool = False
    warnings: tuple[str, ...] = ()


def try_store(where: str | Path | None) -> StoreTrial:
    """Write something where a store is, or would be, and read it back.

    Args:
        where: a path or URL; None: what STAVEWISE_STORE says, else the usual place.

    Raises:
        StoreError: no store can be kept there.
    """
    return try_place(find_place(where))


def try_place(place: StoreAddress) -> StoreTrial:
    """The same, of a place that was found."""
    if place.path is None:
        engine = engine_for(place, _PATIENCE_S)
        try:
            with engine.connect() as connection:
                connection.exec_driver_sql("CREATE TEMPORARY TABLE trial (word VARCHAR)")
                connection.exec_driver_sql("INSERT INTO trial VALUES ('read')")
                _check(place.name, connection.exec_driver_sql("SELECT word FROM trial").scalar())
        except exc.SQLAlchemyError as error:
            raise explain(error, place.name) from error
        finally:
            engine.dispose()
        return StoreTrial(place.name, None)
    path = Path(os.path.realpath(place.path))
    refuse_network_drive(place, path)
    try:
        with (
            TemporaryDirectory(dir=path.parent, prefix=".trial-") as folder,
            closing(sqlite3.connect(Path(folder) / "store.db")) as file,
        ):
            log = write_ahead(file, _PATIENCE_S)
            file.execute("CREATE TABLE trial (word TEXT)")
            file.execute("INSERT INTO trial VALUES ('read')")
            file.commit()
            _check(place.name, file.execute("SELECT word FROM trial").fetchone()[0])
    except (OSError, sqlite3.Error) as error:
        raise explain(error, place.name) from error
    folder = synchronised_folder(path)
    warning = f"{folder} is copied between computers: choose another folder with {VARIABLE}."
    return StoreTrial(place.name, path, log, (warning,) if folder else ())


def _check(place: str, word: object) -> None:
    if word != "read":
        raise StoreError(place, "what is written there is not what is read back", "Use another.")
