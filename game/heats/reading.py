# SPDX-License-Identifier: MIT
"""What a class, or one reader of it, misread in a heat: which signs, and how."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from game.heats.heat import Heat
from game.reader import Habits, Misread, ReadingItem, answers_of, explain_result
from game.rounds import Round


@dataclass(frozen=True)
class ReadingCounts:
    """Counts over some rounds.

    Args:
        seen: sign -> answers that say whether it was read; of a chord that was missed, those are
            only its misread note and the keys that went down before.
        missed: sign -> those that were wrong.
        misreads: kind -> wrong first presses that were explained by it, likeliest.
    """

    seen: Counter[ReadingItem] = field(default_factory=Counter)
    missed: Counter[ReadingItem] = field(default_factory=Counter)
    misreads: Counter[Misread] = field(default_factory=Counter)

    def __add__(self, other: ReadingCounts) -> ReadingCounts:
        return ReadingCounts(
            self.seen + other.seen, self.missed + other.missed, self.misreads + other.misreads
        )

    def kinds(self) -> tuple[tuple[Misread, int], ...]:
        """(kind of misread, times), most frequent first."""
        return tuple(sorted(self.misreads.items(), key=lambda item: (-item[1], item[0].value)))


def reading_of(played: Round) -> ReadingCounts:
    """What was read and misread in one round."""
    reading, habits = ReadingCounts(), Habits()
    in_time = played.pulse is not None
    median_s = None if in_time else played.score.median_s
    for result in played.results:
        prompt = played.prompts[result.prompt]
        before = played.prompts[result.prompt - 1] if result.prompt else None
        why = explain_result(prompt, result, habits, median_s=median_s, before=before)
        if why is not None:
            habits = habits.after(why)
            reading.misreads[why.kind] += 1
        for answer in answers_of(prompt, result, 0.0, why, in_time=in_time):
            reading.seen[answer.sign] += 1
            reading.missed[answer.sign] += not answer.right
    return ReadingCounts(reading.seen, +reading.missed, reading.misreads)


def reading_of_class(heat: Heat) -> ReadingCounts:
    """That of all seats which were not disqualified; tries that were redone are left out."""
    return _sum(
        reading_of(chair.round)
        for chair in heat.chairs
        if chair.round is not None and not chair.disqualified
    )


def _sum(readings: Iterable[ReadingCounts]) -> ReadingCounts:
    total = ReadingCounts()
    for reading in readings:
        total = total + reading
    return total
