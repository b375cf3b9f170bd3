# SPDX-License-Identifier: MIT
"""Which pace a reader reads against: from the store's rounds, or so many slots a minute."""

from __future__ import annotations

from dataclasses import replace

from game.levels import EmptyPool, LevelFaults
from game.reader import PRACTICE_ID
from game.rounds import Pace, Round, Terms, pace_of, steady_pace
from game.session.records import guests
from game.store import Store, StoreError

BEST, LAST, CLASSMATE, OFF = "best", "last round", "classmate", "off"
LEVEL_BEST = "best of the level"  # of another kind of round than the one that begins
TEMPOS = {f"{number} a minute": number for number in (20, 30, 40, 50, 60, 80, 100)}
PACES = (BEST, LAST, CLASSMATE, *TEMPOS, OFF)
"""What can be chosen."""

_LOOKED_BACK = 100  # rounds on a level, among which the last of a kind is looked for


def chosen_pace(
    store: Store, reader_id: int, terms: Terms, begun: Round, choice: str
) -> Pace | None:
    """The pace for a round that begins.

    The best and the last round are the reader's own on this level in rounds of this kind; of a
    round of the day that was not read before, in those of the level's own number of prompts. The
    classmate's is the round brought last on this level, of this kind if there is one.

    Args:
        store: where the rounds are.
        reader_id: who reads.
        terms: of the round that begins.
        begun: that round.
        choice: one of :data:`PACES`.

    Returns:
        None where there is none: no such round, or it cannot be dealt any more.
    """
    try:
        if choice in TEMPOS:
            return steady_pace(TEMPOS[choice], begun, choice)
        if choice == CLASSMATE:
            return _of_guest(store, terms, begun)
        if choice in (BEST, LAST) and terms.level_id != PRACTICE_ID:  # each is another one
            for kind in dict.fromkeys((terms.kind, replace(terms, day="").kind)):
                number = _record(store, reader_id, terms.level_id, kind, choice)
                if number is not None:
                    record = store.record(number)
                    other = choice == BEST and kind != terms.kind
                    name = LEVEL_BEST if other else choice
                    return pace_of(record.terms.replay(record.events), begun, name)
    except (StoreError, LevelFaults, EmptyPool):
        pass  # nobody is kept from reading by it
    return None


def _record(store: Store, reader_id: int, level_id: str, kind: str, choice: str) -> int | None:
    if choice == BEST:
        best = store.best(reader_id, level_id, kind)
        return None if best is None else best.record_id
    latest = store.records(reader_id, level_id, _LOOKED_BACK)
    return next((brief.id for brief in latest if brief.terms.kind == kind), None)


def _of_guest(store: Store, terms: Terms, begun: Round) -> Pace | None:
    brought = sorted(guests(store, terms.level_id), key=lambda one: one.terms.kind != terms.kind)
    if not brought:
        return None
    guest = brought[0]
    return pace_of(guest.terms.replay(guest.events), begun, guest.name or CLASSMATE)
