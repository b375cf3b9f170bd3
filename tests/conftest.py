# SPDX-License-Identifier: MIT
"""Tests in this process need no display and no sound card."""

from __future__ import annotations

import os
from pathlib import Path

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_AUDIODRIVER", "dummy")
os.environ.setdefault("STAVEWISE_LEVELS", str(Path(__file__).parent / "no levels of one's own"))
