# SPDX-License-Identifier: MIT
"""What the store keeps, as plain values."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from pydantic import FiniteFloat

from game.levels import Compass
from game.rounds import Event, Terms
from game.rounds.shapes import shaped


class RoundState(StrEnum):
    """What has become of a round."""

    OPEN = "open"
    FINISHED = "finished"
    DISCARDED = "discarded"


@dataclass(frozen=True, slots=True)
class Reader:
    """A person. An archived one keeps all records and is no longer offered."""

    id: int
    name: str
    archived: bool = False


@dataclass(frozen=True, slots=True)
class ResultSummary:
    """The figures of a finished round, kept for lists and bests; its events remain the proof.

    Args:
        score: `mean_points`, or 0 when that is below 0.
        mean_points: -100 to 100.
        accuracy: 0 to 1.
        median_s: seconds; None when no first answer was right.
        tempo_per_min: slots answered right at first, per minute; None when no time passed.
        slots: how many were counted.
        right: how many first answers were right.
        passed: whether the level was passed.
        complete: whether the round ran to its end; one broken off sets no best.
    """

    score: FiniteFloat
    mean_points: FiniteFloat
    accuracy: FiniteFloat
    median_s: FiniteFloat | None
    tempo_per_min: FiniteFloat | None
    slots: int
    right: int
    passed: bool = False
    complete: bool = True


@dataclass(frozen=True, slots=True)
class Record:
    """A stored round.

    Args:
        id: its number in this store.
        reader_id: who played it.
        terms: what it was played on.
        state: open, finished or discarded.
        started: UTC.
        app_version: of the game that began it.
        events: all of them in order; empty in a list without events.
        result: None until the round is finished.
        kind: by which the store lists it and finds the best; that of its terms, unless it was
            altered. Empty where it was never listed.
    """

    id: int
    reader_id: int
    terms: Terms
    state: RoundState
    started: datetime
    app_version: str
    events: tuple[Event, ...] = ()
    result: ResultSummary | None = None
    kind: str = ""


@dataclass(frozen=True, slots=True)
class RoundFigures:
    """A finished round in figures, for histories: cheap to have by the ten thousand.

    Args:
        id: the number of its record.
        started: UTC.
        level_id, kind: of its terms.
        score, accuracy, median_s, tempo_per_min, slots, right, passed, complete: as in
            :class:`ResultSummary`.
    """

    id: int
    started: datetime
    level_id: str
    kind: str
    score: float
    accuracy: float
    median_s: float | None
    tempo_per_min: float | None
    slots: int
    right: int
    passed: bool
    complete: bool


@dataclass(frozen=True, slots=True)
class Best:
    """A personal best.

    Args:
        record_id: the round that set it.
        score: its mean points, -100 to 100, not floored, so that bests compare.
        when: when that round was started, UTC.
    """

    record_id: int
    score: float
    when: datetime


def terms_to_json(terms: Terms) -> dict[str, Any]:
    """The terms as a JSON object, field by field."""
    return asdict(terms)


_MOST = {"prompts": 100_000, "seconds": 86_400, "tempo": 10_000, "window_s": 60}
"""More than any round has; a damaged number must not keep the game busy."""


def terms_from_json(kept: object) -> Terms:
    """The terms from their JSON object. Fields that this version does not know are left out.

    Raises:
        ValueError: a field without a default is missing, or one cannot be.
    """
    try:
        terms = shaped(Terms, kept)
        Compass(terms.compass_low, terms.compass_high)
    except ValueError as error:
        raise ValueError(f"its terms are damaged ({' '.join(str(error).split())})") from None
    for name, most in _MOST.items():
        if (getattr(terms, name) or 0) > most:
            raise ValueError(f"its terms are damaged ({name}: at most {most})")
    return terms
