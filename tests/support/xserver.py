# SPDX-License-Identifier: MIT
"""An X server of one's own, whose keyboard and screen a test may change."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager

import pytest


@contextmanager
def x_server(*programs: str, size: str = "1280x720") -> Iterator[dict[str, str]]:
    """The environment of a process that is to be shown on it; skips where something is wanting.

    Args:
        programs: what the test needs besides.
        size: of its screen.
    """
    for program in ("Xvfb", *programs):
        if shutil.which(program) is None:
            pytest.skip(f"needs {program}")
    read, write = os.pipe()
    options = ["-screen", "0", f"{size}x24", "-nolisten", "tcp", "-noreset"]
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
