# SPDX-License-Identifier: MIT
"""All that is kept about how a reader reads; each slot that was played turns it into the next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from game.levels.prompt import Prompt
from game.notation import Clef
from game.reader.answers import answers_of, explain_result, timing_of
from game.reader.explain import Explanation, Habits
from game.reader.knowledge import Knowledge
from game.reader.slope import LATEST, Counting, Timing, counting
from game.rounds import SlotResult

VERSION = 1


class Learnt(NamedTuple):
    """The profile after a slot, and why the slot was missed; None where it was not."""

    profile: Profile
    explanation: Explanation | None


@dataclass(frozen=True)
class Profile:
    """How a reader reads.

    Its size and the cost of a slot depend on how many signs there are, not on the history.

    Args:
        knowledge: certainty, speed and retention of every sign.
        habits: how often which misread was made.
        timings: under each clef, the latest right answers with their times.
    """

    knowledge: Knowledge = field(default_factory=Knowledge)
    habits: Habits = field(default_factory=Habits)
    timings: Mapping[Clef, tuple[Timing, ...]] = field(default_factory=dict)

    def after(
        self,
        prompt: Prompt,
        result: SlotResult,
        at: float,
        before: Prompt | None = None,
        *,
        in_time: bool = False,
    ) -> Learnt:
        """The profile with one more slot in it.

        Args:
            prompt: what was read.
            result: of one of its slots.
            at: when, in seconds since 1970.
            before: the prompt before it in the round.
            in_time: whether the music set the time.
        """
        median_s = None if in_time else self.knowledge.usual_s
        explanation = explain_result(prompt, result, self.habits, median_s=median_s, before=before)
        knowledge = self.knowledge
        for answer in answers_of(prompt, result, at, explanation, in_time=in_time):
            knowledge = knowledge.after(answer)
        habits = self.habits if explanation is None else self.habits.after(explanation)
        timings = dict(self.timings)
        found = None if in_time else timing_of(prompt, result)
        if found is not None:
            clef, timing = found
            timings[clef] = (*timings.get(clef, ()), timing)[-LATEST:]
        return Learnt(Profile(knowledge, habits, timings), explanation)

    def counting(self, clef: Clef) -> Counting | None:
        """How much the reader counts under a clef; None while too little is known."""
        return counting(self.timings.get(clef, ()))

    def to_json(self) -> dict[str, Any]:
        """Plain values for a file."""
        return {
            "version": VERSION,
            "knowledge": self.knowledge.to_json(),
            "habits": self.habits.to_json(),
            "timings": {
                clef.value: [[timing.position, timing.t] for timing in timings]
                for clef, timings in self.timings.items()
            },
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Profile:
        """What :meth:`to_json` gave.

        Raises:
            ValueError: it is of another version, or damaged. The records are the truth: work
                the profile out again from them.
        """
        if data.get("version") != VERSION:
            raise ValueError(f"kept profile of version {data.get('version')!r}, not {VERSION}")
        try:
            timings = {
                Clef(clef): tuple(Timing(int(place), float(t)) for place, t in rows)
                for clef, rows in data["timings"].items()
            }
            knowledge = Knowledge.from_json(data["knowledge"])
            return cls(knowledge, Habits.from_json(data["habits"]), timings)
        except (KeyError, TypeError, AttributeError) as error:
            raise ValueError(f"kept profile is damaged: {error!r}") from None
