# SPDX-License-Identifier: MIT
"""Tests in this process need no display and no sound card."""

from __future__ import annotations

import os

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_AUDIODRIVER", "dummy")
