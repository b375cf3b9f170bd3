# SPDX-License-Identifier: MIT
"""When a sign will be forgotten: FSRS, the published open scheduler, by its own package.

FSRS-6 with its default parameters: Ye, Su & Cao (2022), "A stochastic shortest path algorithm
for optimizing spaced repetition scheduling", KDD '22 (from memory), and the package's own source.
Without its fuzz and its steps of minutes: the same answers give the same dates.

An answer becomes a review by this rule (:func:`rating`, :func:`reviewed`): wrong is Again;
right is Hard when it took more than 1.5 times this reader's usual time, Easy when less than
0.67 times, else Good. Only the first answer of a sitting is a review, for the others say
nothing about forgetting; but a wrong one after it is, once.

Dates are built from the seconds that are passed in; nothing here asks for the time.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from fsrs import Card, Rating, Scheduler, State

DAY_S = 86_400.0
SITTING_S = 8 * 3600.0
"""Answers of a sign no further apart than this belong to one sitting."""

DESIRED = 0.9
"""Recall at which a sign is due."""
SLOW, QUICK = 1.5, 0.67
_SCHEDULER = Scheduler(
    desired_retention=DESIRED,
    learning_steps=(),
    relearning_steps=(),
    maximum_interval=365,
    enable_fuzzing=False,
)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Memory:
    """How well a sign is kept in memory.

    Args:
        stability: days after which it is recalled nine times in ten.
        difficulty: 1 (easy) to 10.
        due: when it should be seen again, in seconds since 1970.
        last: when it was last reviewed, likewise.
        lapsed: whether it has been wrong in the sitting of `last`.
    """

    stability: float
    difficulty: float
    due: float
    last: float
    lapsed: bool = False

    def recall(self, now: float) -> float:
        """Probability, 0 to 1, that it is recalled now; by whole days, as FSRS counts."""
        card = _card(self)
        return float(_SCHEDULER.get_card_retrievability(card, _date(max(now, self.last))))

    def moved_to(self, now: float) -> Memory:
        """Itself, or after a clock set back, as if it had last been reviewed now."""
        if now >= self.last:
            return self
        due = self.due - (self.last - now)
        return Memory(self.stability, self.difficulty, due, now, self.lapsed)


def rating(right: bool, t: float | None, usual_s: float) -> Rating:
    """The rating of an answer, by the rule above.

    Args:
        right: whether it was right.
        t: its seconds; None where they say nothing (a chord, music in time): Good.
        usual_s: this reader's usual seconds, above 0.
    """
    if not right:
        return Rating.Again
    if t is None:
        return Rating.Good
    pace = t / usual_s
    return Rating.Hard if pace > SLOW else Rating.Easy if pace < QUICK else Rating.Good


def reviewed(memory: Memory | None, grade: Rating, now: float) -> Memory:
    """The memory after an answer at `now`, seconds since 1970; None begins a new one."""
    if memory is not None:
        memory = memory.moved_to(now)
        same_sitting = now - memory.last < SITTING_S
        if same_sitting and (memory.lapsed or grade is not Rating.Again):
            return memory
    card, _ = _SCHEDULER.review_card(_card(memory), grade, _date(now))
    assert card.stability is not None and card.difficulty is not None
    due = (card.due - _EPOCH).total_seconds()
    return Memory(card.stability, card.difficulty, due, now, grade is Rating.Again)


def _card(memory: Memory | None) -> Card:
    # Every field is given: Card would look at the clock for the ones that are not.
    if memory is None:
        return Card(1, State.Learning, due=_EPOCH)
    return Card(
        1,
        State.Review,
        stability=memory.stability,
        difficulty=memory.difficulty,
        due=_date(memory.due),
        last_review=_date(memory.last),
    )


def _date(seconds: float) -> datetime:
    return _EPOCH + timedelta(seconds=seconds)
