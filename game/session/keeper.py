# SPDX-License-Identifier: MIT
"""Ended rounds on their way into the store, until they are there."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

from game.session.clock import Clock
from game.session.live_round import LiveRound
from game.session.profiles import learn, profile_of
from game.session.sitting import Sitting
from game.store import HeatTaken, Reader, RoundTaken, Store, StoreError
from game.words.text import _

_RETRY_S = 3.0  # from one try to the next


@dataclass(frozen=True)
class _Unkept:
    """An ended round whose end is not in the store yet, and why."""

    reader: Reader
    live: LiveRound
    trouble: StoreError

    @property
    def words(self) -> str:
        return _("A round of {name} is not kept yet: {why}").format(
            name=self.reader.name, why=self.trouble
        )


class Keeper:
    """Stateful: the ended rounds that are not kept yet.

    Args:
        store: where they belong.
        sitting: learns from them.
        clock: the game's.
        notices: where it is told.
    """

    def __init__(self, store: Store, sitting: Sitting, clock: Clock, notices: list[str]) -> None:
        self._store, self._sitting = store, sitting
        self._clock, self._notices = clock, notices
        self._unkept: dict[int, _Unkept] = {}  # by round
        self._retry_at = 0.0

    def keep(self, reader: Reader, live: LiveRound) -> None:
        """Keep an ended round and learn from it; where that cannot be done now, later."""
        try:
            live.finish()
        except StoreError as error:
            self._unkept[live.record_id] = _Unkept(reader, live, error)
            self._retry_at = self._clock.now() + _RETRY_S
            return
        waited = self._unkept.pop(live.record_id, None)
        if waited is not None and waited.words in self._notices:
            self._notices.remove(waited.words)
        if reader == self._sitting.reader:
            self._sitting.learn(live.round)
            return
        try:
            learn(self._store, reader.id, profile_of(self._store, reader.id), [live.round])
        except StoreError as error:
            self._notices.insert(0, str(error))

    def why_unkept(self, live: LiveRound) -> StoreError | None:
        """Why an ended round is not in the store yet; None when it is."""
        found = self._unkept.get(live.record_id)
        return None if found is None else found.trouble

    @property
    def something_waits(self) -> bool:
        """Whether something that was played is not kept yet."""
        return bool(self._unkept or self._store.unsaved)

    def try_again(self, *, at_once: bool = False) -> None:
        """Try again to keep what could not be written; now and then, unless `at_once`."""
        if not self.something_waits or (not at_once and self._clock.now() < self._retry_at):
            return
        self._retry_at = self._clock.now() + _RETRY_S
        with suppress(RoundTaken, HeatTaken):  # it is told when the round or heat goes on
            self._store.try_again()
        if not self._store.pending:
            for waiting in tuple(self._unkept.values()):
                if not isinstance(waiting.trouble, RoundTaken):
                    self.keep(waiting.reader, waiting.live)

    def tell(self) -> None:
        """Tell what waits among the notices."""
        for waiting in self._unkept.values():
            if waiting.words not in self._notices:
                self._notices.insert(0, waiting.words)
