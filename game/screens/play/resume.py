# SPDX-License-Identifier: MIT
"""Offers a round that was broken off: go on with it, or discard it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from game.rounds import Round
from game.store import Record, round_target
from game.ui.offer import Offer
from game.words.dates import local, moment_words
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage


class ResumeOffer(Offer):
    """Stateful: one unfinished round of the reader."""

    name = "resume"
    broken_off = _("A round was broken off")
    under_way_now = _("A round is under way")
    lost = _("What you answered in it will not count.")

    def __init__(self, stage: Stage, record: Record, state: Round) -> None:
        super().__init__(stage, round_target(record.id))
        self._record = record
        self._title = record.terms.level().title
        self._answered = len(state.results)
        self._reached = stage.piano.compass.reaches(state.prompts[state.prompt :])

    @property
    def words(self) -> str:
        return _("{level}: {done} answered, {when}.").format(
            level=self._title,
            done=self._answered,
            when=moment_words(local(self._record.started), self.stage.clock.today),
        )

    @property
    def comfort(self) -> str:
        if self._reached:
            return _("Nothing that you answered is lost.")
        return _("Your keyboard lacks some of its keys. Nothing that you answered is lost.")

    def resume(self) -> None:
        self.stage.rounds.resume(self._record)

    def discard(self) -> None:
        self.stage.store.discard(self._record.id)
        assert self.stage.sitting.reader is not None
        self.stage.rounds.greet(self.stage.sitting.reader)

    def behind(self) -> None:
        if self._elsewhere:
            self.stage.go.open_ladder()
        else:
            self.stage.go.open_readers()
