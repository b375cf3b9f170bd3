# SPDX-License-Identifier: MIT
"""Verovio's toolkit, wherever its package lies."""

from __future__ import annotations

import os
import shutil
import sys
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import Any
from uuid import uuid4


def toolkit() -> Any:
    """A toolkit of Verovio's.

    Raises:
        ImportError: Verovio is missing.
        OSError: its fonts lie where it cannot read them, and cannot be copied.
    """
    import verovio

    fonts = Path(str(files("verovio") / "data"))
    if sys.platform == "win32":
        fonts = plainly_named(fonts, version("verovio"))
    verovio.setDefaultResourcePath(str(fonts))  # which each thread has for itself
    return verovio.toolkit()


def plainly_named(folder: Path, edition: str) -> Path:
    """A folder by a name that any program on Windows can open.

    Verovio opens its files by narrow strings, which Windows takes in the code page of the country,
    while Python hands them over in UTF-8: a user called Müller has no music. So a path with other
    letters than ASCII goes by its short name (8.3), or, on a disk that keeps none, by that of a
    copy for all users of this computer.

    Args:
        folder: what is to be read.
        edition: tells its contents from those of an earlier copy.
    """
    if str(folder).isascii():
        return folder
    short = _short(folder)
    if short.isascii():
        return Path(short)
    shared = Path(os.environ.get("ProgramData") or r"C:\ProgramData") / "Stavewise"  # noqa: SIM112
    copy = shared / f"verovio-{edition}"
    if not copy.is_dir():
        fresh = shared / uuid4().hex  # a copy that is broken off is never taken for a whole one
        shutil.copytree(folder, fresh)
        try:
            fresh.rename(copy)
        except OSError:
            shutil.rmtree(fresh, ignore_errors=True)
            if not copy.is_dir():  # else another game was quicker
                raise
    return copy


def _short(folder: Path) -> str:
    """Windows's short name of a path; the path itself where it has none."""
    if sys.platform != "win32":
        return str(folder)
    import ctypes

    room = ctypes.create_unicode_buffer(32768)
    length = ctypes.windll.kernel32.GetShortPathNameW(str(folder), room, len(room))
    return room.value if 0 < length < len(room) else str(folder)
