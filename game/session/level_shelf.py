# SPDX-License-Identifier: MIT
"""The levels that there are: the shipped ones and one's own, as their files are now."""

from __future__ import annotations

import secrets

from game.files.resources import level_folders
from game.levels import Ladder, marks_of, read_ladder


class LevelShelf:
    """Stateful: the ladder, and how its files looked when it was read."""

    def __init__(self) -> None:
        self._marks = marks_of(*level_folders())
        self.ladder: Ladder = read_ladder(*level_folders())

    def look_again(self) -> bool:
        """Read the ladder again if a level file has come, gone or changed; whether one has."""
        found = marks_of(*level_folders())
        if found == self._marks:
            return False
        self._marks, self.ladder = found, read_ladder(*level_folders())
        return True

    def new_seed(self) -> int:
        """A seed for a round on new notes."""
        return secrets.randbelow(1_000_000)
