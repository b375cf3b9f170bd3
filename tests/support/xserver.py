# SPDX-License-Identifier: MIT
"""An X server of one's own, whose keyboard and screen a test may change."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


@contextmanager
def x_server(
    *programs: str, size: str = "1280x720", picture: Path | None = None
) -> Iterator[dict[str, str]]:
    """The environment of a process that is to be shown on it; skips where something is wanting.

    Args:
        programs: what the test needs besides.
        size: of its screen.
        picture: a folder for what is on it, ``Xvfb_screen0``; in memory unless given.
    """
    for program in ("Xvfb", *programs):
        if shutil.which(program) is None:
            pytest.skip(f"needs {program}")
    read, write = os.pipe()
    options = ["-screen", "0", f"{size}x24", "-nolisten", "tcp", "-noreset"]
    options += [] if picture is None else ["-fbdir", str(picture)]
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), *options], pass_fds=[write], stderr=subprocess.DEVNULL
    )
    os.close(write)
    try:
        with os.fdopen(read) as pipe:
            number = pipe.readline().strip()
        if not number:
            pytest.skip("Xvfb does not start here")
        kept = {name: value for name, value in os.environ.items() if name != "SDL_VIDEODRIVER"}
        yield kept | {"DISPLAY": f":{number}", "SDL_AUDIODRIVER": "dummy"}
    finally:
        server.terminate()
        server.wait()
