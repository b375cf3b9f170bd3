# SPDX-License-Identifier: MIT
"""Files that a person may mean: those that lie near at hand, or one by the path that was typed."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from pathlib import Path
from urllib.parse import unquote, urlsplit

from platformdirs import user_desktop_path, user_documents_path, user_downloads_path

_ENDS = {"'": "'", '"': '"', "“": "”", "‘": "’", "«": "»", "<": ">"}


def shown(path: Path) -> str:
    """The name of a file as it can be shown, whatever bytes it is of."""
    return path.name.encode("utf-8", "replace").decode() or str(path)


def given_path(words: str) -> Path | None:
    """The path that was typed or pasted, None where there is none in it: quotation marks and
    ``file://`` are taken off, and ``~`` is the home folder."""
    words = words.strip()
    if len(words) > 1 and _ENDS.get(words[0]) == words[-1]:
        words = words[1:-1].strip()
    if words.lower().startswith("file:"):  # RFC 8089
        words = unquote(urlsplit(words).path)
        words = words.removeprefix("/") if re.match(r"/[A-Za-z]:", words) else words
    if not words or "\0" in words:
        return None
    try:
        return Path(words).expanduser()
    except RuntimeError:  # the home folder of somebody who is not here
        return Path(words)


def files_nearby(
    endings: tuple[str, ...], most: int, folders: Iterable[Path] | None = None
) -> tuple[Path, ...]:
    """The files of some kinds in the folders where people put such things, newest first.

    Args:
        endings: of their names, in small letters.
        most: how many.
        folders: where to look, not below; Downloads, Documents and Desktop unless given.
    """
    if folders is None:
        folders = (user_downloads_path(), user_documents_path(), user_desktop_path())
    found: dict[str, float] = {}
    for folder in dict.fromkeys(folders):
        try:
            with os.scandir(folder) as entries:
                for entry in entries:
                    if entry.name.lower().endswith(endings) and entry.is_file():
                        found[entry.path] = entry.stat().st_mtime
        except OSError:
            continue  # there is no such folder, or it may not be read
    newest = sorted(found, key=lambda path: (-found[path], path))
    return tuple(map(Path, newest[:most]))
