# SPDX-License-Identifier: MIT
"""A round gone through again: what was to be seen at any moment of it.

Time here is the round's clock from its first flip, with pauses left out. Nothing is judged but by
:func:`game.rounds.state.step`, event by event, as it was when the round was played.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from itertools import chain

from game.rounds.alignment import Alignment
from game.rounds.events import Event, Flip, Press
from game.rounds.round import Round
from game.rounds.score import SlotResult
from game.rounds.state import step
from game.rounds.verdict import JudgedPress, Verdict

HELD_S = 0.25
"""A key is shown as down for so long: releases are not kept."""
LEAST_SLOW_S, USUAL_SLOW_S = 1.0, 3.0
_AT_THE_START_S = 0.5
_MOST_HELD = 64  # moments looked back on for keys that are down; nobody plays more in HELD_S


@dataclass(frozen=True, slots=True)
class Moment:
    """An event of a round, and what it did.

    Args:
        t: seconds of the replay.
        event: what happened.
        round: after it.
        judged: the press with its verdict, where it was one that counted.
        finished: the slot that it closed, or the last one of a phrase that it closed.
        shown: index of the prompt in view.
        since: index of the moment at which that came into view.
    """

    t: float
    event: Event
    round: Round
    judged: JudgedPress | None
    finished: SlotResult | None
    shown: int
    since: int

    @property
    def slot(self) -> int:
        """Which slot of the prompt in view the event was for."""
        return self.finished.slot if self.finished is not None else self.round.slot


@dataclass(frozen=True, slots=True)
class View:
    """What is to be seen at one time.

    Args:
        prompt: index of the prompt in view.
        answers: the moments at which presses on it were judged, so far, but for those that a flat
            hand has taken back.
        keys: MIDI keys that are down.
        waited: seconds since the slot under way could be read, in time since the phrase was
            shown; None while nothing is to be read.
        phrase: in time, what was played of the phrase in view, once it is judged.
        round: as it stood.
    """

    prompt: int
    answers: tuple[Moment, ...]
    keys: frozenset[int]
    waited: float | None
    phrase: Alignment | None
    round: Round


@dataclass(frozen=True)
class Replay:
    """A round as a line of moments. Make one with :meth:`of`.

    Args:
        start: the round before its first event.
        moments: in order of time.
    """

    start: Round
    moments: tuple[Moment, ...]

    @classmethod
    def of(cls, start: Round, events: Iterable[Event]) -> Replay:
        """The replay of a round from its events; those of pauses and after the end do nothing."""
        made: list[Moment] = []
        now, out, began, shown, since = start, 0.0, None, 0, 0
        for event in events:
            before, paused = now, now.paused
            done = step(now, event)
            now = done.round
            if paused is not None and now.paused is None:
                out += event.t - paused
            if now.started is None or (before.ended is not None and now.ended is not None):
                continue
            if began is None:
                began = event.t
            if isinstance(event, Flip) and before.since is None and now.since is not None:
                shown, since = now.prompt, len(made)
            elif now.flat_hand and now.prompt < shown:  # it has taken a whole answer back
                shown = now.prompt
                since = max(one.since for one in made if one.shown == shown)
            # During a pause the clock stands where the pause began.
            clock = event.t if paused is None or now.paused is None else paused
            clock = clock if now.ended is None else min(clock, now.ended)  # the time was up before
            t = max(clock - began - out, made[-1].t if made else 0.0)
            made.append(Moment(t, event, now, done.judged, done.finished, shown, since))
        return cls(start, tuple(made))

    @property
    def ended(self) -> Round:
        """The round after its last event."""
        return self.moments[-1].round if self.moments else self.start

    @property
    def length(self) -> float:
        """Seconds from the first flip to the last event."""
        return self.moments[-1].t if self.moments else 0.0

    def view(self, t: float) -> View:
        """What was to be seen `t` seconds after the first flip."""
        index = bisect_right(self._times, t) - 1
        if index < 0:
            return View(0, (), frozenset(), None, None, self.start)
        now = self.moments[index]
        came = self.moments[now.since]
        waited = None
        if now.round.since is not None and now.round.ended is None:
            stood = now.round.paused if now.round.paused is not None else now.event.t
            waited = stood - now.round.since + t - now.t
        judged = len(now.round.phrases) > len(came.round.phrases)
        of_prompt = (r.presses for r in now.round.results if r.prompt == now.shown)
        standing = {id(press) for press in chain(now.round.presses, *of_prompt)}
        return View(
            now.shown,
            tuple(m for m in self.moments[now.since : index + 1] if id(m.judged) in standing),
            frozenset(
                m.event.key
                for m in self.moments[: index + 1][-_MOST_HELD:]
                if isinstance(m.event, Press) and m.round.paused is None and t - m.t < HELD_S
            ),
            waited,
            now.round.phrases[-1] if judged else None,
            now.round,
        )

    @cached_property
    def starts(self) -> tuple[float, ...]:
        """When each prompt that was reached came into view."""
        return tuple(m.t for index, m in enumerate(self.moments) if m.since == index)

    @cached_property
    def mistakes(self) -> tuple[float, ...]:
        """When each slot that was not right at first showed to be so: at its wrong press; where
        there was none, and in time, when it was judged."""
        wrong = {(r.prompt, r.slot) for r in self.ended.results if not r.right}
        times: list[float] = []
        results = 0
        for moment in self.moments:
            closed = moment.round.results[results:]
            results = len(moment.round.results)
            found = {(result.prompt, result.slot) for result in closed}
            if moment.judged is not None and moment.judged.verdict is not Verdict.RIGHT:
                found.add((moment.shown, moment.slot))
            if found & wrong:
                wrong -= found
                times.append(moment.t)
        return tuple(times)

    @cached_property
    def slow_s(self) -> float:
        """From how many seconds on a slot was hesitated at: twice the round's median time, but
        never under 1 s; 3 s where nothing was right."""
        median_s = self.ended.score.median_s
        return USUAL_SLOW_S if median_s is None else max(LEAST_SLOW_S, 2 * median_s)

    @cached_property
    def hesitations(self) -> tuple[tuple[float, float], ...]:
        """From when to when slots waited for their first press, where that was :attr:`slow_s` or
        longer. None in time, where the beat does not wait."""
        found = []
        for before, moment in zip((None, *self.moments), self.moments, strict=False):
            first = before is None or before.round.began is None
            judged = moment.judged
            if judged is not None and first and judged.t >= self.slow_s:
                found.append((moment.t - judged.t, moment.t))
        return tuple(found)

    def prompt_start(self, t: float, by: int) -> float:
        """Where to go from `t`: the next prompt (`by` 1), or back (-1) to the beginning of this
        one, and from there to the one before."""
        if by > 0:
            return next((start for start in self.starts if start > t), self.length)
        earlier = [start for start in self.starts if start < t - _AT_THE_START_S]
        return earlier[-1] if earlier else 0.0

    def mistake(self, t: float, by: int = 1) -> float | None:
        """The next mistake after `t`, or the one before it (`by` -1); None where there is none."""
        if by > 0:
            return next((time for time in self.mistakes if time > t), None)
        return next((time for time in reversed(self.mistakes) if time < t), None)

    @cached_property
    def _times(self) -> tuple[float, ...]:
        return tuple(moment.t for moment in self.moments)
