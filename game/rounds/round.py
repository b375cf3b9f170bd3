# SPDX-License-Identifier: MIT
"""A round at one moment, and what can be told from it."""

from __future__ import annotations

from dataclasses import dataclass, field

from game.levels.prompt import Prompt, Slot
from game.rounds.alignment import Alignment
from game.rounds.events import Press
from game.rounds.growing import Growing
from game.rounds.in_time import Pulse
from game.rounds.score import Score, SlotResult, score_of
from game.rounds.touch import Touch
from game.rounds.verdict import JudgedPress, Verdict

CHORD_WINDOW_S = 0.2
"""The keys of a slot count as going down together when they do so within this many seconds."""
RULES = 2
"""Of judging presses: 1 those of the first games, 2 with :mod:`game.rounds.touch`."""


@dataclass(frozen=True)
class Round:
    """A round at one moment. Build one with its first four fields; :func:`game.rounds.state.step`
    does the rest.

    Args:
        prompts: what is read, in order; at least one.
        limit_s: d, the level's limit per slot, in seconds; infinite where time does not count.
        seconds: length of a timed round; None for a round that ends with its prompts.
        window_s: within which the keys of a slot go down together.
        pulse: the beat, where the prompts are phrases read in time; None where each slot waits
            for its answer.
        misses: the round ends at this wrong first answer; None for no such end.
        rules: of judging presses, 1 to :data:`RULES`.
        results: the slots done with.
        phrases: in time, what was played of each phrase that was judged.
        prompt: index of the current prompt.
        slot: index of the current slot in it.
        presses: those of the current slot, also those that are no answer.
        began: when the first answer to the slot began, seconds since it became readable; None
            before that.
        first: the verdict on the first answer; None while it is undecided.
        struck: (key modulo :attr:`Slot.apart`, when it last went down, counted as `began`) of the
            slot's keys that did since the chord was begun, or begun anew.
        chord: when all keys of the slot before were down; None where it was no chord.
        touches: the keys of the last moment.
        flat_hand: whether the last press was part of a flat hand, and so taken back with it.
        heard: in time, the presses since the flip, `t` on the round's clock.
        since: when the current slot became readable; None until its prompt's flip.
        started: time of the first flip. Pauses move `since` and `started` on, so that
            now - started leaves them out.
        paused: when the pause under way began.
        ended: when the round ended.
    """

    prompts: tuple[Prompt, ...]
    limit_s: float
    seconds: float | None = None
    window_s: float = CHORD_WINDOW_S
    pulse: Pulse | None = None
    misses: int | None = None
    rules: int = RULES
    results: tuple[SlotResult, ...] = ()
    phrases: tuple[Alignment, ...] = ()
    prompt: int = 0
    slot: int = 0
    presses: Growing[JudgedPress] = Growing()  # noqa: RUF009 - a value, like a tuple
    began: float | None = None
    first: Verdict | None = None
    struck: tuple[tuple[int, float], ...] = ()
    chord: float | None = None
    touches: tuple[Touch, ...] = field(default=(), compare=False, repr=False)
    flat_hand: bool = field(default=False, compare=False)
    heard: Growing[Press] = Growing()  # noqa: RUF009
    since: float | None = None
    started: float | None = None
    paused: float | None = None
    ended: float | None = None

    @property
    def current(self) -> Prompt | None:
        """The prompt being read; None after the end."""
        return None if self.ended is not None else self.prompts[self.prompt]

    @property
    def answered(self) -> bool:
        """Whether anything was played in it."""
        return bool(self.results or self.presses or self.heard)

    @property
    def expected(self) -> frozenset[int]:
        """The keys of the current slot; empty after the end."""
        return frozenset() if self.ended is not None else self.slot_now.keys

    @property
    def complete(self) -> bool:
        """Whether the round ran to its end: all prompts found, the time up, or its misses made."""
        if self.ended is None or self.started is None:
            return False
        over = self.prompt == len(self.prompts) or self.time_is_up(self.ended)
        return over or self.missed_out

    @property
    def missed(self) -> int:
        """Wrong first answers so far, that of the current slot too; in time, slots missed too."""
        asleep = self.pulse is None  # a slot that the reader left is no wrong answer
        missed = sum(
            not (result.right or (asleep and result.verdict is Verdict.UNANSWERED))
            for result in self.results
        )
        if self.ended is None:
            missed += self.first not in (None, Verdict.RIGHT)
        return missed

    @property
    def asked(self) -> int:
        """How many keys are asked for at once now; in time, at most."""
        if self.ended is not None or self.since is None:
            return 0
        slots = [self.slot_now] if self.pulse is None else self.prompts[self.prompt].slots
        return max(len(slot.keys) for slot in slots)

    @property
    def score(self) -> Score:
        """The figures so far; before the end, no tempo while a prompt waits for its flip."""
        now = self.since if self.ended is None else self.ended
        seconds = 0.0 if now is None else self.elapsed(now)
        return score_of(self.results, seconds, summed=self.misses is not None)

    def elapsed(self, now: float) -> float:
        """Seconds since the first flip, pauses left out, to the end at most."""
        if self.started is None:
            return 0.0
        now = min(time for time in (now, self.paused, self.ended) if time is not None)
        if self.seconds is not None and self.time_is_up(now):
            return self.seconds
        return max(0.0, now - self.started)

    @property
    def phrase_end(self) -> float | None:
        """When the phrase under way is over; None where none is, or while the clock stands."""
        if self.pulse is None or self.since is None or self.paused is not None:
            return None
        return self.since + self.pulse.length_s(self.prompts[self.prompt]) + self.pulse.delay_s

    @property
    def slot_now(self) -> Slot:
        """The current slot, before the end."""
        return self.prompts[self.prompt].slots[self.slot]

    @property
    def missed_out(self) -> bool:
        """Whether its misses are made."""
        return self.misses is not None and self.missed >= self.misses

    @property
    def time_up(self) -> float | None:
        """When a timed round ends; None of others, and before the first flip."""
        if self.seconds is None or self.started is None:
            return None
        return self.started + self.seconds

    def time_is_up(self, now: float) -> bool:
        """Whether a timed round is over at `now`."""
        end = self.time_up
        return end is not None and now >= end
