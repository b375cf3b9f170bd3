# SPDX-License-Identifier: MIT
"""Where things lie: the checkout, and what other processes find modules by."""

from __future__ import annotations

import os
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
ROOT = TESTS.parent
PIECES = TESTS / "support" / "pieces"
VIOLA = TESTS / "support" / "viola.toml"
"""A level of one's own, in the alto clef."""
ROOMS = [ROOT, *(TESTS / name for name in ("support", "studies", "unit", "system"))]
MODULES = os.pathsep.join(map(str, ROOMS))
"""PYTHONPATH for a process that needs the game and the modules of the tests."""
