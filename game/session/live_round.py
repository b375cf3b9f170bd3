# SPDX-License-Identifier: MIT
"""A round under way, kept event by event."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from game.rounds import (
    CHORD_WINDOW_S,
    RULES,
    Event,
    Pause,
    Round,
    Step,
    Terms,
    Tick,
    passes,
    step,
)
from game.store.store import Store
from game.store.values import Record, ResultSummary


class LiveRound:
    """Stateful: a round being played, on a clock of its own, and its record in the store.

    The round's clock starts at 0 with the round; :meth:`time` reads it from the game's clock.
    Every event is judged first and kept at once after that, one transaction each.
    """

    def __init__(
        self, terms: Terms, store: Store, record_id: int, zero: float, round: Round
    ) -> None:
        self.terms = terms
        self.level = terms.level()
        self.record_id = record_id
        self.round = round
        self._store = store
        self._zero = zero

    @classmethod
    def begin(cls, terms: Terms, reader_id: int, store: Store, now: float) -> LiveRound:
        """A new round, judged by the rules of today, whoever else has read on these terms.

        Raises:
            LevelFaults, EmptyPool: the terms cannot be dealt.
            StoreError: the store cannot be written.
        """
        terms = replace(terms, rules=RULES, window_s=CHORD_WINDOW_S)
        round = terms.begin()
        record_id = store.begin(reader_id, terms, datetime.now(UTC))
        return cls(terms, store, record_id, now, round)

    @classmethod
    def resume(cls, record: Record, store: Store, now: float) -> LiveRound:
        """A round that was broken off, from its kept events; its clock waits at the last.

        The next event should be a Resume.
        """
        round = record.terms.replay(record.events)
        last = max((event.t for event in record.events), default=0.0)
        live = cls(record.terms, store, record.id, now - last, round)
        if round.started is not None and round.paused is None and round.ended is None:
            live.feed(Pause(last))  # the clock waits until the reader is ready
        return live

    def time(self, now: float) -> float:
        """The round's clock, seconds, when the game's clock says `now`."""
        return max(0.0, now - self._zero)

    def feed(self, event: Event) -> Step:
        """Judge an event, then keep it; a tick that changed nothing is not kept."""
        done = step(self.round, event)
        if isinstance(event, Tick) and done.round is self.round:
            return done
        self.round = done.round
        self._store.append(self.record_id, event)
        return done

    def finish(self) -> ResultSummary:
        """Keep the figures of the ended round."""
        score = self.round.score
        summary = ResultSummary(
            score=score.score,
            mean_points=score.mean_points,
            accuracy=score.accuracy,
            median_s=score.median_s,
            tempo_per_min=score.tempo_per_min,
            slots=score.slots,
            right=score.right,
            complete=self.round.complete,
            passed=passes(self.level, self.round, known=self.terms.known),
        )
        self._store.finish(self.record_id, summary)
        return summary

    def discard(self) -> None:
        """Leave the round out of everything but the store's own list of discarded rounds."""
        self._store.discard(self.record_id)
