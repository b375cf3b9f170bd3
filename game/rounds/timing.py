# SPDX-License-Identifier: MIT
"""How a performance kept time, apart from how right its notes were."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from statistics import median

from game.rounds.alignment import Alignment
from game.rounds.robust import Points, by_onset, spread, steady_drift, theil_sen

LEAST_TOLERANCE_S = 0.060
TOLERANCE_BEATS = 1 / 8
FEWEST_ONSETS = 4
"""Onsets with right notes, below which drift and spread say nothing."""

_PACE_BEFORE, _PACE_ONSETS = 3, 5


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
    """When a right note came, by the reader's own pace around it; the value is its public name."""

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


def tolerance_s(beat_s: float) -> float:
    """Seconds by which a note may be off before it is called early or late.

    An eighth of a beat, beyond which it lies nearer to the next semiquaver than to its own place;
    but never under 60 ms, about twice what good players are apart in ensembles (30 to 50 ms:
    Rasch 1979, Acustica 43:121-131) or in their own two hands (about 30 ms: Goebl 2001, J.
    Acoust. Soc. Am. 110:563-572). Both from memory.
    """
    return max(LEAST_TOLERANCE_S, TOLERANCE_BEATS * beat_s)


def punctuality(alignment: Alignment, beat_s: float) -> tuple[Punctuality | None, ...]:
    """Whether each note was early, on time or late; None unless it was right.

    Judged by the reader's own pace at the note. One who is behind throughout, slows down or
    rushes is told so once, by offset and drift, and not at every note; one who stops and goes on
    is late at one onset, not ever after.

    The pace is the reader's steady drift, and about it the median deviation of five onsets: three
    before, this one and one after (the first or last five near an end). Where fewer than
    :data:`FEWEST_ONSETS` have right notes, it is the beat itself.

    Args:
        alignment: the performance.
        beat_s: seconds of a beat; the tolerance is :func:`tolerance_s`.
    """
    tolerance = tolerance_s(beat_s)
    paces = _paces(_points(alignment))
    return tuple(
        None
        if note.right_deviation is None
        else _judged(note.right_deviation - paces[note.expected.onset], tolerance)
        for note in alignment.notes
    )


def _judged(off: float, tolerance: float) -> Punctuality:
    if abs(off) <= tolerance:
        return Punctuality.ON_TIME
    return Punctuality.LATE if off > 0 else Punctuality.EARLY


def _paces(points: Points) -> dict[float, float]:
    """The deviation, in seconds, that the reader's pace makes the usual one at each onset."""
    line = by_onset(points)
    if len(line) < FEWEST_ONSETS:
        return {onset: 0.0 for onset, _ in line}
    drift = steady_drift(points)
    level = [deviation - drift * onset for onset, deviation in line]
    last_start = max(len(line) - _PACE_ONSETS, 0)
    starts = [min(max(place - _PACE_BEFORE, 0), last_start) for place in range(len(line))]
    return {
        onset: drift * onset + median(level[start : start + _PACE_ONSETS])
        for (onset, _), start in zip(line, starts, strict=True)
    }


def _points(alignment: Alignment) -> list[tuple[float, float]]:
    """(onset, deviation) of the right notes."""
    return [
        (note.expected.onset, note.right_deviation)
        for note in alignment.notes
        if note.right_deviation is not None
    ]
