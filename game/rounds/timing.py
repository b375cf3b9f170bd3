# SPDX-License-Identifier: MIT
"""How a performance kept time, apart from how right its notes were."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from statistics import median

from game.rounds.alignment import Alignment, NoteOutcome
from game.rounds.robust import by_onset, spread, theil_sen

FEWEST_ONSETS = 4
"""Onsets with right notes, below which drift and spread say nothing."""


@dataclass(frozen=True, slots=True)
class Timing:
    """The figures of a performance; all but the first are of its right notes alone.

    Args:
        accuracy: expected notes played right / expected notes, 0 to 1; 0 when none was expected.
        offset_s: median deviation from the beat in seconds, later = positive; None when no note
            was right.
        drift: seconds lost per second of music, so positive = slowing down: the Theil-Sen slope
            of deviation against onset. None below :data:`FEWEST_ONSETS`.
        spread_s: robust standard deviation of the deviations about the reader's own line (that
            slope), in seconds. None where `drift` is.
    """

    accuracy: float
    offset_s: float | None
    drift: float | None
    spread_s: float | None


class Punctuality(Enum):
    """When a right note came, against the beat; the value is its public name."""

    EARLY = "early"
    ON_TIME = "on time"
    LATE = "late"


def timing_of(alignment: Alignment) -> Timing:
    """The figures of a performance; the formulas are in :mod:`game.rounds.robust`."""
    points = _points(alignment)
    accuracy = len(points) / len(alignment.notes) if alignment.notes else 0.0
    if not points:
        return Timing(accuracy, None, None, None)
    offset = median(deviation for _, deviation in points)
    if len(by_onset(points)) < FEWEST_ONSETS:
        return Timing(accuracy, offset, None, None)
    drift = theil_sen(points)
    return Timing(accuracy, offset, drift, spread([dev - drift * onset for onset, dev in points]))


def punctuality(note: NoteOutcome, limit_s: float) -> Punctuality | None:
    """Whether a note came on the beat, late or early; None unless it was right.

    On the beat is within half of the limit, where a note earns half of its points or more
    (:func:`game.rounds.score.points`): so the mark and the points say the same.

    Args:
        note: what became of it.
        limit_s: d of the points: seconds off the beat at which nothing is earned.
    """
    off = note.right_deviation
    if off is None:
        return None
    if abs(off) <= limit_s / 2:
        return Punctuality.ON_TIME
    return Punctuality.LATE if off > 0 else Punctuality.EARLY


def steady_offset(alignments: Iterable[Alignment], limit_s: float) -> float | None:
    """Seconds by which whoever is steady is off the beat, later = positive; None for nobody else.

    It is the median deviation of the right notes, at :data:`FEWEST_ONSETS` onsets or more, where
    that is above a fifth of the limit and above twice their robust standard deviation about it:
    who slows down, rushes or plays unevenly is off in no steady way.

    Args:
        alignments: of the phrases.
        limit_s: as in :func:`punctuality`.
    """
    by_phrase = [_points(alignment) for alignment in alignments]
    off = [deviation for points in by_phrase for _, deviation in points]
    if sum(len(by_onset(points)) for points in by_phrase) < FEWEST_ONSETS:
        return None
    middle = median(off)
    return middle if abs(middle) > max(limit_s / 5, 2 * spread(off)) else None


def _points(alignment: Alignment) -> list[tuple[float, float]]:
    """(onset, deviation) of the right notes."""
    return [
        (note.expected.onset, note.right_deviation)
        for note in alignment.notes
        if note.right_deviation is not None
    ]
