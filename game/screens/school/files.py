# SPDX-License-Identifier: MIT
"""The files that a teacher asks for."""

from __future__ import annotations

from pathlib import Path

from game.files.private import make_folder
from game.paper.saving import file_name

NAMED = " with names"
"""What the name of a file with children's names says."""


def unused_path(folder: Path, name: str, ending: str) -> Path:
    """A path in a folder, named after what is in the file, where no file is yet.

    The folder is made.

    Raises:
        OSError: the folder cannot be made.
    """
    make_folder(folder)
    plain, number = file_name(name, "class"), 1
    path = folder / f"{plain}{ending}"
    while path.exists():
        number += 1
        path = folder / f"{plain} {number}{ending}"
    return path
