# SPDX-License-Identifier: MIT
"""The search for the level to begin at: a :class:`Placement` over the rungs of a ladder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from game.levels import Compass, Ladder, Rung, playable
from game.reader.placement import MOST_PROMPTS, Placement, suited
from game.rounds import Round


@dataclass(frozen=True)
class LevelSearch:
    """A search under way.

    Args:
        rungs: the levels that it goes over, at least one.
        placement: what is known by now.
    """

    rungs: tuple[Rung, ...]
    placement: Placement

    @classmethod
    def begin(
        cls, ladder: Ladder, compass: Compass, kept: Mapping[str, Any] | None = None
    ) -> LevelSearch | None:
        """A new search, or one that was broken off; None where no level can be played.

        Args:
            ladder: whose levels; those that this keyboard has no keys for are left out.
            compass: the keys of the keyboard.
            kept: what :meth:`to_json` gave. Of other levels, ended, or damaged, it is begun anew.
        """
        rungs = tuple(rung for rung in suited(ladder) if playable(rung.level, compass))
        if not rungs:
            return None
        new = cls(rungs, Placement.begin(len(rungs)))
        if kept is None or kept.get("levels") != new._ids:
            return new
        try:
            search = replace(new, placement=Placement.from_json(kept["placement"]))
        except (KeyError, ValueError):
            return new
        fits = len(search.placement.sure) == len(rungs) + 1
        return search if fits and not search.done else new

    @property
    def most(self) -> int:
        """How many prompts it takes at most."""
        return MOST_PROMPTS

    @property
    def done(self) -> bool:
        """Whether :attr:`rung` is the answer."""
        return self.placement.done

    @property
    def rung(self) -> Rung:
        """The level to begin at, by what is known now."""
        return self.rungs[self.placement.rung]

    @property
    def next_rung(self) -> Rung:
        """The level of the next prompt."""
        return self.rungs[self.placement.next]

    def after(self, ended: Round) -> LevelSearch:
        """The search after a round of one prompt of :attr:`next_rung`."""
        answers = [(result.right, result.t) for result in ended.results]
        median_s = self.next_rung.level.passing.median_s
        return replace(self, placement=self.placement.after(self.placement.next, median_s, answers))

    @property
    def _ids(self) -> list[str]:
        return [rung.level.id for rung in self.rungs]

    def to_json(self) -> dict[str, Any]:
        """Plain values for a file."""
        return {"levels": self._ids, "placement": self.placement.to_json()}
