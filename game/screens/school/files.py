# SPDX-License-Identifier: MIT
"""The files that a teacher brings, and asks for."""

from __future__ import annotations

import re
from pathlib import Path

from game.heats.roster import MOST_BYTES, Roster, parse_roster
from game.screens.text import _

_LONGEST = 60
_LISTS = (".csv", ".tsv", ".txt")


def is_list(path: Path) -> bool:
    """Whether a file may be a class list, by its name."""
    return path.suffix.lower() in _LISTS


def read_roster(path: Path) -> Roster:
    """A class list.

    Raises:
        ValueError: it cannot be read or used; the message says why.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        words = _("{file} cannot be read: {why}.")
        raise ValueError(words.format(file=path.name, why=error.strerror)) from None
    return parse_roster(data, path.name)


def unused_path(folder: Path, name: str, ending: str) -> Path:
    """A path in a folder, named after what is in the file, where no file is yet.

    The folder is made. Letters of any script stay; what file systems refuse does not.

    Raises:
        OSError: the folder cannot be made.
    """
    folder.mkdir(parents=True, exist_ok=True)
    plain = re.sub(r"[^\w\- ]+", " ", name).strip()[:_LONGEST].strip() or "class"
    path, number = folder / f"{plain}{ending}", 1
    while path.exists():
        number += 1
        path = folder / f"{plain} {number}{ending}"
    return path
