# SPDX-License-Identifier: MIT
"""The files that a teacher asks for."""

from __future__ import annotations

import re
from pathlib import Path

from game.private import make_folder

_LONGEST = 60


def unused_path(folder: Path, name: str, ending: str) -> Path:
    """A path in a folder, named after what is in the file, where no file is yet.

    The folder is made. Letters of any script stay; what file systems refuse does not.

    Raises:
        OSError: the folder cannot be made.
    """
    make_folder(folder)
    plain = " ".join(re.sub(r"[^\w\-, ]+", " ", name).split())[:_LONGEST].strip(" ,") or "class"
    path, number = folder / f"{plain}{ending}", 1
    while path.exists():
        number += 1
        path = folder / f"{plain} {number}{ending}"
    return path
