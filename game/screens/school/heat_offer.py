# SPDX-License-Identifier: MIT
"""Offers a heat that was broken off: go on with it, or discard it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from game.screens.school.classes import heat_words
from game.store import KeptHeat, heat_target
from game.ui.offer import Offer
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage


class HeatOffer(Offer):
    """Stateful: one unfinished heat, and whether it was asked for to be discarded."""

    name = "heat-offer"
    broken_off = _("A heat was broken off")
    under_way_now = _("A heat is under way")
    lost = _("It stays in the store, and is not offered again.")

    def __init__(self, stage: Stage, heat: KeptHeat, behind: Callable[[], None]) -> None:
        """
        Args:
            stage: the running game.
            heat: without its lines.
            behind: goes to where it was chosen.
        """
        super().__init__(stage, heat_target(heat.uuid))
        self._heat, self._behind = heat, behind

    @property
    def words(self) -> str:
        return heat_words(self._heat, self.stage.clock.today)

    def resume(self) -> None:
        self.stage.classroom.resume(self._heat)

    def discard(self) -> None:
        self.stage.store.school.discard_heat(self._heat.uuid)
        self.behind()

    def behind(self) -> None:
        self._behind()
