# SPDX-License-Identifier: MIT
"""Who came where in a heat, and what of it a projector shows.

**Points.** A seat's points are the sum of its slots' points (:func:`game.rounds.points`), or 0 when
that is below 0, as with the score of a round, which is their mean. Where every seat has the same
number of slots, points and scores have one order; in a timed heat the sum also honours how much was
read. Were sums below 0 told apart, whoever stopped at their first wrong answer would come before
one who read on. Somebody late who had less time had fewer slots to earn with; a redo gives them the
whole. What is said of the class is made of the same points and scores.

**The tie rule.** More points come first; of equal points, so also of several 0s, the higher
accuracy; of equal accuracy, the shorter median time of right first answers. Still equal is one
place for both, and as many places after it are left out: 1, 2, 2, 4 ("standard competition
ranking", common practice). Figures are equal when they are to six decimals: nobody wins by the last
digit of a clock.

**Without a place** are seats that were disqualified, and those that pressed no key for any slot:
whose notes all ran out or were cut off has answered nothing.

**Spread.** Quartiles lie between the sorted scores by linear interpolation, the lowest being the
0th and the highest the 100th hundredth: Hyndman & Fan (1996), American Statistician 50:361-365,
definition 7 (from memory), as spreadsheets have it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import fsum, inf
from statistics import fmean, quantiles
from typing import Any

from game.heats.heat import Chair, Heat
from game.heats.setup import Seat
from game.rounds import Score

PODIUM = 3
"""Places that are shown where not all are."""

_DIGITS = 6


class SeatOutcome(StrEnum):
    """What became of a seat."""

    PLACED = "placed"
    DISQUALIFIED = "disqualified"
    DID_NOT_PLAY = "did not play"
    """It pressed no key for any slot."""


@dataclass(frozen=True, slots=True)
class Standing:
    """A seat's result, so far or at the end.

    Args:
        seat: who.
        outcome: whether it has a place.
        place: 1 is first; None without one.
        sum_points: the sum of its slots' points, which may be below 0; it is never shown.
        score: its figures.
        redone: how many earlier tries do not count.
    """

    seat: Seat
    outcome: SeatOutcome
    place: int | None
    sum_points: float
    score: Score
    redone: int = 0

    @property
    def points(self) -> float:
        """The sum of its slots' points, or 0 when that is below 0."""
        return max(0.0, self.sum_points)

    def to_json(self) -> dict[str, Any]:
        """Plain values, without who it was but for the seat's number."""
        return {
            "seat": self.seat.number,
            "outcome": self.outcome.value,
            "place": self.place,
            "points": self.points,
            "score": self.score.score,
            "mean_points": self.score.mean_points,
            "accuracy": self.score.accuracy,
            "median_s": self.score.median_s,
            "tempo_per_min": self.score.tempo_per_min,
            "slots": self.score.slots,
            "right": self.score.right,
        }


@dataclass(frozen=True, slots=True)
class Spread:
    """How far apart scores are: lowest, quartiles, highest, 0 to 100."""

    low: float
    quarter: float
    median: float
    three_quarters: float
    high: float


@dataclass(frozen=True)
class Standings:
    """A heat's result, so far or at the end.

    Args:
        level_id: of its level.
        kind: as :attr:`HeatSetup.kind`; results of one kind on one level compare.
        rows: those with a place first, in order of place and then of seat number; then the others.
    """

    level_id: str
    kind: str
    rows: tuple[Standing, ...]

    @property
    def placed(self) -> tuple[Standing, ...]:
        """Those with a place."""
        return tuple(row for row in self.rows if row.place is not None)

    def of(self, seat: int) -> Standing | None:
        """The result of a seat."""
        return next((row for row in self.rows if row.seat.number == seat), None)

    @property
    def total(self) -> float:
        """The points of the class: of all that have a place."""
        return fsum(row.points for row in self.placed)

    @property
    def mean(self) -> float | None:
        """The mean of the scores, which compares whatever the number of readers; None where nobody
        has a place."""
        scores = [row.score.score for row in self.placed]
        return fmean(scores) if scores else None

    @property
    def spread(self) -> Spread | None:
        """How far apart the scores are; None where nobody has a place."""
        return spread_of([row.score.score for row in self.placed])

    def to_json(self) -> list[dict[str, Any]]:
        """Plain values, row by row."""
        return [row.to_json() for row in self.rows]


def standings_of(heat: Heat) -> Standings:
    """The result of a heat, which may still be under way."""
    rows = [_standing(chair) for chair in heat.chairs]
    return Standings(heat.setup.level_id, heat.setup.kind, ranked(rows))


def ranked(
    rows: Iterable[Standing], points: Callable[[Standing], float] = lambda row: row.points
) -> tuple[Standing, ...]:
    """Rows in the order of the standings, with their places by the tie rule.

    Args:
        rows: in any order.
        points: those that decide first.
    """

    def rank(row: Standing) -> tuple[float, float, float]:
        return _rank(row, points(row))

    rows = sorted(rows, key=lambda row: row.seat.number)
    placed = sorted((row for row in rows if row.outcome is SeatOutcome.PLACED), key=rank)
    others = [row for row in rows if row.outcome is not SeatOutcome.PLACED]
    ranks = [rank(row) for row in placed]
    return (
        *(replace(row, place=ranks.index(rank(row)) + 1) for row in placed),
        *(replace(row, place=None) for row in others),
    )


def spread_of(scores: Sequence[float]) -> Spread | None:
    """Lowest, quartiles and highest of some scores; None of none."""
    if not scores:
        return None
    if len(scores) == 1:
        one = scores[0]
        return Spread(one, one, one, one, one)
    low, middle, high = quantiles(scores, n=4, method="inclusive")
    return Spread(min(scores), low, middle, high, max(scores))


@dataclass(frozen=True)
class ScoreChange:
    """What has changed since an earlier heat, among those who played in both.

    Args:
        each: (what the roster knows the reader by, points of the score more than then).
        mean: of those; None where nobody played in both.
    """

    each: Mapping[str, float]
    mean: float | None


def change(now: Standings, before: Standings) -> ScoreChange | None:
    """The change of scores from one heat to a later one; None where they do not
    compare: on another level, or of another length. Seats that are only numbers are left out."""
    if (now.level_id, now.kind) != (before.level_id, before.kind):
        return None
    then = {row.seat.member: row.score.score for row in before.placed}
    each = {
        row.seat.member: row.score.score - then[row.seat.member]
        for row in now.placed
        if row.seat.member is not None and row.seat.member in then
    }
    return ScoreChange(each, fmean(each.values()) if each else None)


class Shows(StrEnum):
    """What a projector shows."""

    ALL = "all"
    PODIUM = "places 1 to 3 and the class total"
    CLASS = "the class against its own best"


@dataclass(frozen=True)
class Shown:
    """What may be shown to a class.

    Args:
        rows: those that may be seen, in order of place; nobody without one is ever among them.
        total: points of the class; None where they are not shown.
        mean: the mean score of the class; None where it is not shown, or nobody has played.
        best: the highest such mean of earlier heats; None where it is not shown, or there is none.
    """

    rows: tuple[Standing, ...] = ()
    total: float | None = None
    mean: float | None = None
    best: float | None = None


def shown(standings: Standings, shows: Shows, best: float | None = None) -> Shown:
    """What a projector may show.

    Args:
        standings: of the heat.
        shows: the teacher's choice.
        best: the highest mean of this class in earlier heats of the kind on the level.
    """
    match shows:
        case Shows.ALL:
            return Shown(standings.placed, standings.total)
        case Shows.PODIUM:
            podium = tuple(row for row in standings.placed if (row.place or 0) <= PODIUM)
            return Shown(podium, standings.total)
        case Shows.CLASS:
            # Before sums below 0 counted as 0, a best could be below it.
            return Shown(mean=standings.mean, best=None if best is None else max(0.0, best))


def _standing(chair: Chair) -> Standing:
    now = chair.start if chair.round is None else chair.round
    answered = any(result.answers for result in now.results)
    outcome = SeatOutcome.PLACED if answered else SeatOutcome.DID_NOT_PLAY
    if chair.disqualified:
        outcome = SeatOutcome.DISQUALIFIED
    total = fsum(result.points for result in now.results)
    return Standing(chair.seat, outcome, None, total, now.score, len(chair.tries))


def _rank(row: Standing, points: float) -> tuple[float, float, float]:
    """What comes first is lower."""
    median_s = inf if row.score.median_s is None else row.score.median_s
    return (
        -round(points, _DIGITS),
        -round(row.score.accuracy, _DIGITS),
        round(median_s, _DIGITS) if median_s < inf else inf,
    )
