# SPDX-License-Identifier: MIT
"""Points of a slot, and the figures of a round."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, median

from game.rounds.verdict import JudgedPress, Verdict

TEMPO_BANDS = (
    (0, "Largo"),
    (15, "Adagio"),
    (25, "Andante"),
    (35, "Moderato"),
    (45, "Allegro"),
    (60, "Vivace"),
    (80, "Presto"),
)
"""Reading tempo: (from this many correct slots per minute, word). The words are the
trade's, in its order; the bands are ours, since a metronome counts beats and not notes read."""


@dataclass(frozen=True, slots=True)
class SlotResult:
    """What became of one slot.

    Args:
        prompt: index of its prompt in the round, from 0.
        slot: index within the prompt, from 0.
        expected: its MIDI keys, ascending.
        verdict: on the first answer.
        t: seconds to the first press; None when there was none.
        points: -100 to 100.
        presses: all of them in order, also those that are no answer.
        completed: whether its keys were found at last.
        done_s: seconds of the round when it was done with, pauses left out.
    """

    prompt: int
    slot: int
    expected: tuple[int, ...]
    verdict: Verdict
    t: float | None
    points: float
    presses: tuple[JudgedPress, ...]
    completed: bool
    done_s: float = 0.0

    @property
    def answers(self) -> tuple[JudgedPress, ...]:
        """The presses that count."""
        return tuple(press for press in self.presses if press.counts)

    @property
    def first_press(self) -> int | None:
        """MIDI key of the first of them."""
        return next((press.key for press in self.presses if press.counts), None)

    @property
    def late_s(self) -> float:
        """How far apart the keys of a chord were, when they last were too far; else 0."""
        return next((press.late_s for press in reversed(self.presses) if press.late_s), 0.0)

    @property
    def right(self) -> bool:
        """Whether the first answer was right."""
        return self.verdict is Verdict.RIGHT


@dataclass(frozen=True, slots=True)
class Score:
    """The figures of a round. Accuracy, speed and tempo are shown together.

    Args:
        score: `mean_points`, or 0 when that is below 0.
        mean_points: mean of the slots' points, -100 to 100; of an endless round, which is as long
            as it is good, their sum / 100.
        accuracy: first answers right / slots, 0 to 1.
        median_s: median seconds of the right first answers; None when there is none.
        tempo_per_min: slots answered right at first, per minute; None when no time passed.
        slots: how many were counted.
        right: how many first answers were right.
        seconds: how long the round took, pauses left out.
    """

    score: float
    mean_points: float
    accuracy: float
    median_s: float | None
    tempo_per_min: float | None
    slots: int
    right: int
    seconds: float

    @property
    def tempo_word(self) -> str | None:
        """The reading tempo's word, from :data:`TEMPO_BANDS`."""
        return None if self.tempo_per_min is None else tempo_word(self.tempo_per_min)


def points(right: bool, t: float, limit_s: float) -> float:
    """Points of a slot: 100 (2x - 1) (1 - min(t, d) / d), from -100 to 100.

    The signed residual time rule: Maris & van der Maas (2012), Psychometrika 77:615-633.

    Args:
        right: x, whether the first answer was right.
        t: seconds to the first press.
        limit_s: d, the level's limit in seconds.
    """
    worth = 100.0 * (1.0 - min(t, limit_s) / limit_s)
    return worth if right else 0.0 - worth  # not -worth: nothing is 0, never -0


def tempo_word(per_minute: float) -> str:
    """The tempo word of so many correct slots per minute."""
    return next(word for start, word in reversed(TEMPO_BANDS) if per_minute >= start)


def score_of(results: Sequence[SlotResult], seconds: float, *, summed: bool = False) -> Score:
    """The figures of a round from its slots and its length in seconds.

    Args:
        results: the slots.
        seconds: how long it took.
        summed: whether its points add up, as in an endless round.
    """
    right = [result for result in results if result.right]
    times = [result.t for result in right if result.t is not None]
    mean = fmean(result.points for result in results) if results else 0.0
    if summed:
        mean *= len(results) / 100.0
    return Score(
        score=max(0.0, mean),
        mean_points=mean,
        accuracy=len(right) / len(results) if results else 0.0,
        median_s=median(times) if times else None,
        tempo_per_min=60.0 * len(right) / seconds if seconds > 0 else None,
        slots=len(results),
        right=len(right),
        seconds=seconds,
    )
