# SPDX-License-Identifier: MIT
"""What nobody but its owner may read: what the game keeps tells of children.

Files have the mode 0600 and folders 0700, whatever the umask is. On Windows nothing is to be done:
there a user's own folders are closed to other users.
"""

from __future__ import annotations

import os
import re
import sys
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

ADDRESS = re.compile(r"[\w+.-]*://|postgres[\w+.-]*:|[^\s/\\:]{2,}:(?=\S*@\S+/)", re.ASCII)
"""How the address of a database begins, or what is meant for one; a password may follow."""

FOLDER, _FILE = 0o700, 0o600


def make_folder(path: Path) -> None:
    """Make a folder of our own, and those above it; one that is there is closed to others.

    Raises:
        OSError: it cannot be made.
    """
    path.mkdir(FOLDER, parents=True, exist_ok=True)
    close_to_others(path)


def new_file(path: Path) -> BinaryIO:
    """A file to be written, where there is none.

    Raises:
        OSError: it cannot be made; of these, FileExistsError: it is there.
    """
    return open(path, "xb", opener=lambda name, flags: os.open(name, flags, _FILE))


def claim(path: Path) -> None:
    """See that there is a file before another library opens it; one that is there is closed to
    others.

    Raises:
        OSError: it cannot be made.
    """
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, _FILE))
    close_to_others(path)


def close_to_others(path: Path) -> None:
    """Take from others what they may do with a file or folder, where it is there and ours."""
    if sys.platform == "win32":
        return
    with suppress(OSError):
        mode = path.stat().st_mode
        if mode & 0o077:
            path.chmod(mode & FOLDER)
