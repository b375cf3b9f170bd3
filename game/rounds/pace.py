# SPDX-License-Identifier: MIT
"""The pace: when each slot of a round would be done with, if it were read as fast as another.

A pace has no part in the score. It belongs to rounds in which each slot waits for its answer;
phrases read in time have none, since there the beat is the pace.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import accumulate
from typing import NamedTuple

from game.levels.difficulty import difficulty
from game.levels.prompt import Prompt
from game.rounds.state import Round


@dataclass(frozen=True, slots=True)
class Pace:
    """When each slot of a round is done with, at a pace.

    Args:
        name: whose pace it is, as shown.
        done_s: seconds of the round, pauses left out; one for each slot that asks for a key, in
            order, never falling.
        found: how many of them the round behind it came to; the rest goes on at its rate.
    """

    name: str
    done_s: tuple[float, ...]
    found: int = 0

    def by(self, elapsed: float) -> int:
        """How many slots are done with after so many seconds of the round."""
        return bisect_right(self.done_s, elapsed)


class Lead(NamedTuple):
    """How far a reader is ahead of a pace; below 0 when behind.

    Args:
        slots: how many more are done with.
        seconds: how much sooner.
    """

    slots: int
    seconds: float


def pace_of(read: Round, begun: Round, name: str = "") -> Pace | None:
    """The pace of a round that was read, for one that begins.

    On the same prompts it is that round exactly, as far as it went. On others, and beyond the
    last slot that was found, each slot takes

        difficulty(its prompt) · T / D   seconds,

    where T is when that last slot was found and D the sum of the difficulty of all slots found,
    each taken at its prompt's (:func:`game.levels.difficulty.difficulty`). So a harder deal is
    given more time and an easier one less; whatever else took time, as the moment between two
    prompts, is spread in the same way.

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
    return Pace(name, (*done, *expected), len(found))


def steady_pace(per_minute: float, begun: Round, name: str = "") -> Pace | None:
    """The pace of so many slots a minute, one as long as the other; None in time."""
    if begun.pulse is not None:
        return None
    slots = len(_costs(begun.prompts))
    return Pace(name, tuple(60.0 * number / per_minute for number in range(1, slots + 1)))


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
    return Lead(count - pace.by(elapsed), seconds)


def _costs(prompts: Iterable[Prompt]) -> list[float]:
    """The difficulty of each slot that asks for a key, in order."""
    costs: list[float] = []
    for prompt in prompts:
        slots = sum(bool(slot.keys) for slot in prompt.slots)
        if slots:
            costs += [difficulty(prompt)] * slots
    return costs
