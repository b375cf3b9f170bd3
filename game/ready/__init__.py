# SPDX-License-Identifier: MIT
"""Whether this computer is ready for the game: a line for each part of it, with the mend."""

from game.ready.checks import Parts, checks
from game.ready.finding import Check, Finding, found

__all__ = ["Check", "Finding", "Parts", "checks", "found"]
