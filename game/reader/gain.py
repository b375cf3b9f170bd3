# SPDX-License-Identifier: MIT
"""What a reader would gain if the signs that take them longest were as fast as the others.

From the right first answers of some rounds, for each sign s with at least three of them:

    m(s) = median time of the answers that show s
    M    = median of all m(s)
    S    = the five signs with the largest m(s) above M

If the signs of S were as fast as the median one, an answer of t seconds would have taken

    t' = t · M / m(s)        where it shows a sign of S; of several, the slowest
    t' = t                   where it shows none

so that each keeps its spread and has M as its median. Then

    median time     = median of all t'
    reading tempo   = 60 · right / (seconds - sum of (t - t'))

What came after a wrong first answer stays as it was: reading faster says nothing of that.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median

from game.reader.sign import ReadingItem, signs_of
from game.rounds import Round

SLOWEST = 5
LEAST_ANSWERS = 3


@dataclass(frozen=True, slots=True)
class Timed:
    """A right first answer: the signs that its slot shows, and the seconds to it."""

    signs: tuple[ReadingItem, ...]
    t: float


@dataclass(frozen=True, slots=True)
class Gain:
    """The formula is that of this module.

    Args:
        slow: (sign, its median seconds) of the signs S, the slowest first.
        usual_s: M, seconds.
        median_s: median time of all right first answers as they were.
        median_then_s: as it would be.
        tempo_per_min: right first answers per minute as it was.
        tempo_then_per_min: as it would be.
    """

    slow: tuple[tuple[ReadingItem, float], ...]
    usual_s: float
    median_s: float
    median_then_s: float
    tempo_per_min: float
    tempo_then_per_min: float


def gain_of(rounds: Iterable[Round]) -> Gain | None:
    """The gain over these rounds. Those read in time are left out: their beat sets the pace.

    None where no sign is slower than the median one, or too little was read to tell.
    """
    answers: list[Timed] = []
    seconds = 0.0
    for read in rounds:
        if read.pulse is None:
            seconds += read.score.seconds
            answers += timed_answers(read)
    return gain(answers, seconds)


def timed_answers(read: Round) -> list[Timed]:
    """The right first answers of a round. Slots that ask for what is not printed have no signs."""
    found = []
    for result in read.results:
        if result.right and result.t is not None:
            prompt = read.prompts[result.prompt]
            signs = signs_of(prompt)
            notes = prompt.slots[result.slot].notes
            found.append(Timed(tuple(signs[n.id] for n in notes if n.id in signs), result.t))
    return found


def gain(answers: Iterable[Timed], seconds: float) -> Gain | None:
    """The gain from right first answers, given in rounds of so many seconds; as :func:`gain_of`."""
    every = list(answers)
    by_sign: defaultdict[ReadingItem, list[float]] = defaultdict(list)
    for answer in every:
        for sign in dict.fromkeys(answer.signs):
            by_sign[sign].append(answer.t)
    medians = {s: median(times) for s, times in by_sign.items() if len(times) >= LEAST_ANSWERS}
    if not medians or seconds <= 0:
        return None
    usual = median(medians.values())
    order = sorted(medians, key=lambda sign: (-medians[sign], sign.name))
    slow = [sign for sign in order if medians[sign] > usual][:SLOWEST]
    if not slow:
        return None
    share = {sign: usual / medians[sign] for sign in slow}
    then = [a.t * min((share[s] for s in a.signs if s in share), default=1.0) for a in every]
    saved = sum(answer.t for answer in every) - sum(then)
    return Gain(
        tuple((sign, medians[sign]) for sign in slow),
        usual,
        median(answer.t for answer in every),
        median(then),
        60 * len(every) / seconds,
        60 * len(every) / (seconds - saved) if seconds > saved else 60 * len(every) / seconds,
    )
