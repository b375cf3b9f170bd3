# SPDX-License-Identifier: MIT
"""All that is kept about how a reader reads; each slot that was played turns it into the next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

from game.levels.prompt import Prompt
from game.notation import Clef
from game.reader.answers import answers_of, explain_result, timing_of, wrong_press
from game.reader.example import Example, example_of
from game.reader.explain import Explanation, Habits
from game.reader.history import Slopes, filed, slopes_from_json, slopes_to_json
from game.reader.knowledge import Knowledge
from game.reader.misread import Misread
from game.reader.retention import DAY_S
from game.reader.slope import LATEST, Counting, TimedAnswer, counting
from game.rounds import OctaveRun, SlotResult

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
        timed_at: when the last of them was given, in seconds since 1970.
        slopes: under each clef, how much the reader counted at the end of earlier days.
        examples: of each kind of misread, the latest.
        octaves: how the latest first presses were octaves off.
        unshifted: what was known when that began; None while they were not, and once they tell of
            the keyboard, as the profile then is what it was.
    """

    knowledge: Knowledge = field(default_factory=Knowledge)
    habits: Habits = field(default_factory=Habits)
    timings: Mapping[Clef, tuple[TimedAnswer, ...]] = field(default_factory=dict)
    timed_at: Mapping[Clef, float] = field(default_factory=dict)
    slopes: Mapping[Clef, Slopes] = field(default_factory=dict)
    examples: Mapping[Misread, Example] = field(default_factory=dict)
    octaves: OctaveRun = field(default_factory=OctaveRun)
    unshifted: Profile | None = None

    def begun(self, at: float) -> Profile:
        """The profile as a round that begins at `at` finds it, in seconds since 1970.

        On another day than that of the last answers, their slopes go into the history first.
        That takes up to some tenths of a second: it is for between rounds.
        """
        slopes = dict(self.slopes)
        for clef, last in self.timed_at.items():
            if last // DAY_S != at // DAY_S:
                slope = self.counting(clef)
                if slope is not None:
                    slopes[clef] = filed(slopes.get(clef, ()), last, slope, at)
        return replace(self, slopes=slopes)

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

        First presses that are as many octaves off in a row tell of the keyboard: from the third
        on (:class:`OctaveRun`) the profile is again what it was before the first of them.

        Args:
            prompt: what was read.
            result: of one of its slots.
            at: when, in seconds since 1970.
            before: the prompt before it in the round.
            in_time: whether the music set the time.
        """
        learnt = self._taught(prompt, result, at, before, in_time)
        if not result.answers:
            return learnt
        run = self.octaves.after(result.expected, result.answers[0])
        if run.tells:  # no answer of the run was right: it has put nothing into the timings
            known = replace(self.unshifted or self, slopes=self.slopes)
            return learnt._replace(profile=replace(known, octaves=run, unshifted=None))
        unshifted = self.unshifted if run.length > 1 else None
        if run.length == 1:
            unshifted = replace(self, octaves=OctaveRun(), unshifted=None)
        profile = replace(learnt.profile, octaves=run, unshifted=unshifted)
        return learnt._replace(profile=profile)

    def _taught(
        self, prompt: Prompt, result: SlotResult, at: float, before: Prompt | None, in_time: bool
    ) -> Learnt:
        """:meth:`after`, whatever is off."""
        median_s = None if in_time else self.knowledge.usual_s
        explanation = explain_result(prompt, result, self.habits, median_s=median_s, before=before)
        knowledge = self.knowledge
        for answer in answers_of(prompt, result, at, explanation, in_time=in_time):
            knowledge = knowledge.after(answer)
        habits = self.habits if explanation is None else self.habits.after(explanation)
        examples = self.examples
        if explanation is not None:
            press = wrong_press(result)
            assert press is not None
            example = example_of(prompt, result.slot, press.key, explanation, at, before)
            if example is not None:
                examples = {**examples, explanation.kind: example}
        timings, timed_at = dict(self.timings), dict(self.timed_at)
        found = None if in_time else timing_of(prompt, result)
        if found is not None:
            clef, timing = found
            timings[clef] = (*timings.get(clef, ()), timing)[-LATEST:]
            timed_at[clef] = at
        learnt = replace(
            self,
            knowledge=knowledge,
            habits=habits,
            timings=timings,
            timed_at=timed_at,
            examples=examples,
        )
        return Learnt(learnt, explanation)

    def counting(self, clef: Clef) -> Counting | None:
        """How much the reader counts under a clef; None while too little is known."""
        return counting(self.timings.get(clef, ()))

    def slope_history(self, clef: Clef, now: Counting | None) -> Slopes:
        """How much the reader counted under a clef, day by day up to the last answers.

        Args:
            clef: which.
            now: what :meth:`counting` says.
        """
        kept = self.slopes.get(clef, ())
        at = self.timed_at.get(clef)
        return kept if now is None or at is None else filed(kept, at, now, at)

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
            "timed_at": {clef.value: at for clef, at in self.timed_at.items()},
            "slopes": {clef.value: slopes_to_json(kept) for clef, kept in self.slopes.items()},
            "examples": {kind.value: kept.to_json() for kind, kept in self.examples.items()},
            "octaves": [self.octaves.octaves, self.octaves.length],
            "unshifted": None if self.unshifted is None else self.unshifted.to_json(),
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Profile:
        """What :meth:`to_json` gave; what an older game did not keep is empty.

        Raises:
            ValueError: it is of another version, or damaged. The records are the truth: work
                the profile out again from them.
        """
        if data.get("version") != VERSION:
            raise ValueError(f"kept profile of version {data.get('version')!r}, not {VERSION}")
        try:
            timings = {
                Clef(clef): tuple(TimedAnswer(int(place), float(t)) for place, t in rows)
                for clef, rows in data["timings"].items()
            }
            knowledge = Knowledge.from_json(data["knowledge"])
            timed_at = {Clef(clef): float(at) for clef, at in data.get("timed_at", {}).items()}
            unshifted = data.get("unshifted")
            for clef in timings:
                timed_at.setdefault(clef, _last_answer(knowledge, clef))
            return cls(
                knowledge,
                Habits.from_json(data["habits"]),
                timings,
                timed_at,
                {
                    Clef(clef): slopes_from_json(rows)
                    for clef, rows in data.get("slopes", {}).items()
                },
                {
                    Misread(kind): Example.from_json(kept)
                    for kind, kept in data.get("examples", {}).items()
                },
                OctaveRun(*(int(number) for number in data.get("octaves", ()))),
                None if unshifted is None else cls.from_json(unshifted),
            )
        except (KeyError, TypeError, AttributeError) as error:
            raise ValueError(f"kept profile is damaged: {error!r}") from None


def _last_answer(knowledge: Knowledge, clef: Clef) -> float:
    """When a sign under a clef was last answered, for a profile that does not say."""
    return max(
        (known.at for sign, known in knowledge.signs.items() if sign.clef is clef), default=0.0
    )
