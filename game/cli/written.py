# SPDX-License-Identifier: MIT
"""Writing the files that were asked for, whole or not at all."""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from game.cli.said import Failed
from game.files.private import FOLDER, new_file

_FULL = (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC))


def free(option: str, place: Path | None, force: bool, *endings: str) -> None:
    """Refuse a place whose name has none of these endings (any, if none is given), or where
    something is lost by writing there; before the work that would be for nothing."""
    if place is None:
        return
    if endings and place.suffix.lower() not in endings:
        *others, last = (one for one in endings if one != ".htm")
        allowed = " or ".join(filter(None, (", ".join(others), last)))
        raise Failed(f"{option} {place}: the name of the file must end in {allowed}", 2)
    if place.exists() and not force:
        raise Failed(f"{option} {place}: it is there already; name another, or add --force")


def write_file(path: Path, made: bytes, called: str = "", force: bool = False) -> None:
    """Write one file; over what is there only with `force`. `called` stands before its path."""
    write_files([(called, path, made)], force)


def write_files(
    files: Iterable[tuple[str, Path, bytes]], force: bool = False, folders: bool = False
) -> None:
    """Write all of these, or none; each is (what it is called, path, bytes).

    `folders` makes those that are wanting.

    Half a file would be taken for a whole one, and would be in the way of the next try.

    Raises:
        Failed: one cannot be written, or is there and `force` is not given.
    """
    begun: list[Path] = []
    for called, path, made in files:
        where = f"{called} {path}".strip()
        try:
            if force and os.path.lexists(path):
                _replace(path, made)
                continue
            if folders:
                path.parent.mkdir(FOLDER, parents=True, exist_ok=True)
            with new_file(path) as file:
                begun.append(path)
                file.write(made)
        except BaseException as error:
            for one in begun:
                with suppress(OSError):
                    one.unlink()
            if isinstance(error, FileExistsError):
                what = f"{where}: it is there already; name another, or add --force"
            elif isinstance(error, OSError):
                what = f"{where}: {why_not(error)}"
            else:
                raise
            raise Failed(what) from error


def why_not(error: OSError) -> str:
    """Why a file cannot be written, and what to do about it."""
    if error.errno in _FULL:
        return "the disk is full; free some space, or name a place on another disk"
    return f"{error.strerror}; name a place that can be written"


def _replace(path: Path, made: bytes) -> None:
    """Put a whole file in the place of one that is there; what is no plain file is written to."""
    real = Path(os.path.realpath(path))
    if not real.is_file():
        real.write_bytes(made)
        return
    handle, name = tempfile.mkstemp(prefix=".", suffix=real.suffix, dir=real.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(made)
        shutil.copymode(real, name)
        Path(name).replace(real)
    except BaseException:
        with suppress(OSError):
            Path(name).unlink()
        raise
