# SPDX-License-Identifier: MIT
"""The ladder: levels in order, grouped in stages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property

from game.levels.check import Fault
from game.levels.compass import Compass
from game.levels.deal import FULL_COMPASS, playable
from game.levels.level import Level


class UnknownLevel(LookupError):
    """No level of this id; the message offers those that are near."""


@dataclass(frozen=True)
class Rung:
    """A level with the text that it was read from, which every record keeps."""

    level: Level
    text: str


@dataclass(frozen=True)
class Ladder:
    """Levels in order.

    Args:
        rungs: from the first to the last.
        faults: of the files that had to be left out.
    """

    rungs: tuple[Rung, ...]
    faults: tuple[Fault, ...] = ()

    @cached_property
    def stages(self) -> Mapping[str, tuple[Rung, ...]]:
        """Stage title -> its levels, both in order."""
        stages: dict[str, tuple[Rung, ...]] = {}
        for rung in self.rungs:
            stages[rung.level.stage] = (*stages.get(rung.level.stage, ()), rung)
        return stages

    def find(self, level_id: str) -> Rung:
        """The level of this id.

        Raises:
            UnknownLevel: there is none.
        """
        for rung in self.rungs:
            if rung.level.id == level_id:
                return rung
        ids = [rung.level.id for rung in self.rungs]
        if not ids:
            raise UnknownLevel(f"no level {level_id!r}: there are no levels at all")
        near = get_close_matches(level_id, ids, n=3)
        nearest = f"; nearest: {', '.join(near)}" if near else ""
        raise UnknownLevel(f"no level {level_id!r}{nearest}")

    def after(self, level_id: str, compass: Compass = FULL_COMPASS) -> Rung | None:
        """The next rung that can be read on a keyboard, or None at the top."""
        ids = [rung.level.id for rung in self.rungs]
        later = self.rungs[ids.index(level_id) + 1 :]
        return next((rung for rung in later if playable(rung.level, compass)), None)
