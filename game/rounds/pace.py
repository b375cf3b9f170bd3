# SPDX-License-Identifier: MIT
"""The pace: how a round that is read stands to another one, by points, with seconds beside them.

Ahead means ahead: points are compared so far, as what the best goes by will be compared at the end
(:attr:`game.rounds.score.Score.mean_points`), so that a whole round of the same kind is ahead at
its end exactly where it is better. So far is

- where slots are counted, after as many slots: their points / the slots of the whole round;
- in a timed round, after as many seconds: the mean of the points, times the share of the time that
  is over, so that the first slots do not count for the whole;
- in an endless round, after as many slots: their points / 100. Once either round is over, its whole
  sum stands.

On the same prompts the other round's points are its own, slot by slot. On others they must come to
the same whole, or one could be ahead at the end and below it; so only what it lost is spread anew,
over its slots by their difficulty (:func:`game.levels.difficulty.difficulty`): a harder slot is let
lose more. In a timed round they come when they came, whatever the notes. The limit is that of the
round that begins, so a round without a clock is measured without one.

The seconds say how much sooner a slot was done with, by a scale of their own, see :func:`pace_of`;
nothing hangs on them. Phrases read in time have no pace, since there the beat is the pace.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from math import fsum
from statistics import fmean
from typing import NamedTuple

from game.levels.difficulty import difficulty
from game.levels.prompt import Prompt
from game.rounds.round import Round
from game.rounds.score import points, score_of


@dataclass(frozen=True, slots=True)
class Pace:
    """A round to read against.

    Args:
        name: whose pace it is, as shown.
        done_s: seconds of the round, pauses left out; one for each slot that asks for a key, in
            order, never falling.
        points: of its slots, in order, -100 to 100 each; in an endless round as far as it came.
        earned_s: when each of them was earned, seconds of the round.
        whole: what its whole round came to, as the score of the round that begins; None where that
            has no end of its own.
        found: how many slots the round behind it came to; the rest goes on at its rate.
    """

    name: str
    done_s: tuple[float, ...]
    points: tuple[float, ...]
    earned_s: tuple[float, ...]
    whole: float | None
    found: int = 0

    def by(self, elapsed: float) -> int:
        """How many slots are done with after so many seconds of the round."""
        return bisect_right(self.done_s, elapsed)


class Lead(NamedTuple):
    """How far a reader is ahead of a pace; below 0 when behind.

    Args:
        points: of the whole round's score, if both go on alike.
        seconds: how much sooner.
    """

    points: float
    seconds: float


def pace_of(read: Round, begun: Round, name: str = "") -> Pace | None:
    """The pace of a round that was read, for one that begins.

    Its seconds are, on the same prompts, those of that round exactly, as far as it went. On others,
    and beyond the last slot that was found, each slot takes

        difficulty(its prompt) · T / D   seconds,

    where T is when that last slot was found and D the sum of the difficulty of all slots found,
    each taken at its prompt's. So a harder deal is given more time and an easier one less; whatever
    else took time, as the moment between two prompts, is spread in the same way.

    Args:
        read: a round as replayed from its record.
        begun: the round that begins.
        name: whose pace it is.

    Returns:
        None where there is no pace: nothing was found, or either is read in time.
    """
    found = [result.done_s for result in read.results if result.completed]
    if not found or found[-1] <= 0 or read.pulse is not None or begun.pulse is not None:
        return None
    per_unit = found[-1] / sum(_costs(read.prompts)[: len(found)])
    shared = min(len(read.prompts), len(begun.prompts))
    same = read.prompts[:shared] == begun.prompts[:shared]
    costs = _costs(begun.prompts)
    done = found[: len(costs)] if same else []
    rest = (per_unit * cost for cost in costs[len(done) :])
    expected = accumulate(rest, initial=done[-1] if done else 0.0)
    next(expected)
    results = read.results
    if read.limit_s != begun.limit_s:
        results = tuple(
            replace(one, points=0.0 if one.t is None else points(one.right, one.t, begun.limit_s))
            for one in results
        )
    whole = score_of(results, 0.0, summed=begun.misses is not None).mean_points
    earned = [result.points for result in results]
    if begun.seconds is None:
        costs = costs[: len(earned)] if begun.misses is not None else costs
        mean = fmean(earned)
        if not same:
            lost = (100 - mean) * len(costs) / sum(costs)
            earned = [100 - lost * cost for cost in costs]
        earned = (earned + [mean] * len(costs))[: len(costs)]
    earned_s = tuple(result.done_s for result in results)
    return Pace(name, (*done, *expected), tuple(earned), earned_s, whole, len(found))


def steady_pace(per_minute: float, begun: Round, name: str = "") -> Pace | None:
    """The pace of so many right slots a minute, one as long as the other; None in time."""
    if begun.pulse is not None:
        return None
    each, slots = 60.0 / per_minute, len(_costs(begun.prompts))
    done = tuple(each * number for number in range(1, slots + 1))
    worth = points(True, each, begun.limit_s)
    return Pace(name, done, (worth,) * slots, done, None if begun.misses is not None else worth)


def lead(pace: Pace, now: Round, elapsed: float) -> Lead:
    """How far a reader is ahead of a pace.

    In seconds: by how much the last slot was done with sooner than at the pace; but once the
    pace has passed the slot that is being read, how long ago that was.

    Args:
        pace: for this round's prompts.
        now: the round.
        elapsed: seconds of the round, as :meth:`Round.elapsed` has them.
    """
    done = [result.done_s for result in now.results if result.completed]
    count, times = len(done), pace.done_s
    seconds = times[count - 1] - done[-1] if done else 0.0
    if count < len(times):
        seconds = min(seconds, times[count] - elapsed)
    if now.complete and pace.whole is not None:
        return Lead(now.score.mean_points - pace.whole, seconds)
    if now.seconds is None:
        theirs = pace.points[: len(now.results)]
    else:
        theirs = pace.points[: bisect_right(pace.earned_s, elapsed)]
    ours = [result.points for result in now.results]
    slots = len(times)
    return Lead(_so_far(ours, now, slots, elapsed) - _so_far(theirs, now, slots, elapsed), seconds)


def _so_far(earned: Sequence[float], now: Round, slots: int, elapsed: float) -> float:
    """What points have come to, of the whole score of a round of so many slots."""
    if now.misses is not None:
        return fsum(earned) / 100
    if now.seconds is None:
        return fsum(earned) / slots
    return fmean(earned) * elapsed / now.seconds if earned else 0.0


def _costs(prompts: Iterable[Prompt]) -> list[float]:
    """The difficulty of each slot that asks for a key, in order."""
    costs: list[float] = []
    for prompt in prompts:
        slots = sum(bool(slot.keys) for slot in prompt.slots)
        if slots:
            costs += [difficulty(prompt)] * slots
    return costs
