# SPDX-License-Identifier: MIT
"""A record is scored again before it is believed."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from math import isclose
from typing import Any

from game.levels import EmptyPool, LevelFaults
from game.rounds import Round, day_seed
from game.session.records.reading import RecordFault
from game.session.records.shared import SharedRound, figures_of

_SAME = 1e-9  # floats of other machines may differ in their last binary digits
_LEVEL = "Ask for a record that was not edited, or of a level that is whole"


@dataclass(frozen=True, slots=True)
class RescoredRecord:
    """A record that was scored again.

    Args:
        shared: the record, with the figures worked out now in the place of those it claimed.
        round: its round, after its last event.
        differing: (figure, as claimed, as worked out now), of those that are not the same.
    """

    shared: SharedRound
    round: Round
    differing: tuple[tuple[str, Any, Any], ...]

    @property
    def agrees(self) -> bool:
        """Whether the record's figures follow from its presses."""
        return not self.differing


def check(shared: SharedRound, file: str) -> RescoredRecord:
    """Score a record again from its presses.

    Args:
        shared: the record.
        file: its name, for messages.

    Raises:
        RecordFault: its level cannot be dealt, or its round does not end.
    """
    terms = shared.terms
    try:
        level = terms.level()
        if level.id != terms.level_id:
            what = f"found {terms.level_id!r}, but the level's text says {level.id!r}"
            raise RecordFault(file, "level.id", what, "Export the round again")
        if terms.day and terms.seed != day_seed(terms.day, terms.level_text):
            what = f"found {terms.seed}, which is not that of the round of {terms.day}"
            raise RecordFault(file, "terms.seed", what, "Export the round again")
        ended = terms.replay(shared.events)
    except LevelFaults as error:
        fault = error.faults[0]
        what = f"{fault.key}: found {fault.found}; allowed: {fault.allowed}"
        raise RecordFault(file, "level.text", what, _LEVEL) from None
    except EmptyPool as error:
        raise RecordFault(file, "level.text", f"it does not deal: {error}", _LEVEL) from None
    if ended.ended is None:
        place = f"events[{len(shared.events) - 1}]" if shared.events else "events"
        what = "the round does not end here, or anywhere"
        raise RecordFault(file, place, what, "Export a round that was finished")
    now = figures_of(terms, ended)
    claimed = asdict(shared.result)
    differing = tuple(
        (name, claimed[name], value)
        for name, value in asdict(now).items()
        if not _same(claimed[name], value)
    )
    return RescoredRecord(replace(shared, result=now), ended, differing)


def _same(claimed: float | None, now: float | None) -> bool:
    if claimed is None or now is None:
        return claimed is now
    return isclose(claimed, now, rel_tol=_SAME, abs_tol=_SAME)
