# SPDX-License-Identifier: MIT
"""The round as a state machine: (round, event) -> round and what the event was worth."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from game.levels.prompt import Prompt, Slot
from game.rounds.alignment import Alignment
from game.rounds.events import Event, Flip, Pause, Press, Resume, Stop, Tick
from game.rounds.growing import Growing
from game.rounds.in_time import Pulse, performed, results
from game.rounds.score import Score, SlotResult, points, score_of
from game.rounds.touch import BOUNCE_S, Touch, flat_hand, lately
from game.rounds.verdict import JudgedPress, Verdict, judge_key, together

CHORD_WINDOW_S = 0.2
"""The keys of a slot count as going down together when they do so within this many seconds."""
RULES = 2
"""Of judging presses: 1 those of the first games, 2 with :mod:`game.rounds.touch`."""


@dataclass(frozen=True)
class Round:
    """A round at one moment. Build one with its first four fields; :func:`step` does the rest.

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
        return frozenset() if self.ended is not None else self._slot.keys

    @property
    def complete(self) -> bool:
        """Whether the round ran to its end: all prompts found, the time up, or its misses made."""
        if self.ended is None or self.started is None:
            return False
        over = self.prompt == len(self.prompts) or self._time_is_up(self.ended)
        return over or self._missed_out

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
        slots = [self._slot] if self.pulse is None else self.prompts[self.prompt].slots
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
        if self.seconds is not None and self._time_is_up(now):
            return self.seconds
        return max(0.0, now - self.started)

    @property
    def phrase_end(self) -> float | None:
        """When the phrase under way is over; None where none is, or while the clock stands."""
        if self.pulse is None or self.since is None or self.paused is not None:
            return None
        return self.since + self.pulse.length_s(self.prompts[self.prompt]) + self.pulse.delay_s

    @property
    def _slot(self) -> Slot:
        return self.prompts[self.prompt].slots[self.slot]

    @property
    def _missed_out(self) -> bool:
        return self.misses is not None and self.missed >= self.misses

    @property
    def _time_up(self) -> float | None:
        if self.seconds is None or self.started is None:
            return None
        return self.started + self.seconds

    def _time_is_up(self, now: float) -> bool:
        end = self._time_up
        return end is not None and now >= end


class Step(NamedTuple):
    """What an event did.

    Args:
        round: the round after it.
        judged: the press with its verdict; None when the event was not a judged press.
        finished: the slot that it closed, if any; the last of them where it closed a phrase.
    """

    round: Round
    judged: JudgedPress | None = None
    finished: SlotResult | None = None


def step(now: Round, event: Event) -> Step:
    """Apply one event; events come in order of time.

    Not judged, and without effect: presses before the flip of their prompt, during a pause
    or after the end, and those that :mod:`game.rounds.touch` calls no answer. A flat hand takes
    back what its first keys did, also an end that they brought about.
    A timed round ends by the first event at its end or later, whatever it is, and that event has
    no other effect. A flip during a pause counts from its end. A phrase read in time is judged by
    the first event at its end or later, and begins again with its count-in after a pause.
    """
    if now.ended is not None:
        return _touched(now, event) if isinstance(event, Press) and now.touches else Step(now)
    if now.paused is None and now._time_is_up(event.t):
        return _time_up(now)
    if now.phrase_end is not None and event.t >= now.phrase_end:
        over = _phrase_over(now, now.phrase_end)
        done = step(over.round, event)
        return Step(done.round, done.judged, done.finished or over.finished)
    match event:
        case Flip(t):
            if now.since is not None:
                return Step(now)
            t = t if now.paused is None else now.paused  # the resumption moves it on
            started = t if now.started is None else now.started
            return Step(replace(now, since=t, started=started))
        case Pause(t):
            apart = tuple(replace(one, before=None) for one in now.touches)  # of any hand to come
            return Step(now if now.paused is not None else replace(now, paused=t, touches=apart))
        case Resume(t):
            return Step(_resumed(now, t))
        case Stop(t):
            return _stopped(_resumed(now, t), t)
        case Tick():
            return Step(now)
        case Press():
            return _touched(now, event) if now.rules > 1 else _pressed(now, event)


def play(start: Round, events: Iterable[Event]) -> Round:
    """The round after all these events."""
    for event in events:
        start = step(start, event).round
    return start


def _touched(now: Round, press: Press) -> Step:
    """A press, unless it is no answer."""
    t, window_s = press.t, now.window_s
    touches = lately(now.touches, t, window_s)
    for place, one in enumerate(touches):
        if one.press.key == press.key and together(one.last, t, BOUNCE_S):
            touches = (*touches[:place], replace(one, last=t), *touches[place + 1 :])
            now = replace(now, touches=touches, flat_hand=False)
            return Step(_unanswered(now, press, Verdict.BOUNCE))
    before = replace(now, touches=()) if now.paused is None else None
    touches = (*touches, Touch(press, t, before))
    hand = flat_hand(touches, window_s)
    if hand:
        return Step(_taken_back(hand, touches))
    now = replace(now, touches=touches, flat_hand=False)
    if now.ended is not None:
        return Step(now)
    if now.chord is not None and together(now.chord, t, window_s) and not _asked_for(now, press):
        return Step(_unanswered(now, press, Verdict.EXTRA))
    done = _pressed(now, press)
    if done.judged is None or done.judged.verdict is not Verdict.RIGHT:
        return done
    touches = (*touches[:-1], replace(touches[-1], right=True))
    return done._replace(round=replace(done.round, touches=touches))


def _taken_back(hand: Sequence[Touch], touches: Sequence[Touch]) -> Round:
    """The round as it was before a flat hand came down."""
    new = [one for one in hand if not one.out]
    now = new[0].before
    assert now is not None
    for one in new:
        now = _unanswered(now, one.press, Verdict.FLAT_HAND)
    out = tuple(replace(one, before=now, out=True) if one in hand else one for one in touches)
    return replace(now, touches=out, flat_hand=True)


def _unanswered(now: Round, press: Press, verdict: Verdict) -> Round:
    """The press stands beside the slot under way, and changes nothing."""
    if now.ended is not None or now.pulse is not None or not _readable(now, press):
        return now
    return replace(now, presses=now.presses.then(_judged(now, press, verdict)))


def _readable(now: Round, press: Press) -> bool:
    return now.paused is None and now.since is not None and press.t >= now.since


def _asked_for(now: Round, press: Press) -> bool:
    return judge_key(now._slot.keys, press.key, now._slot.apart) is Verdict.RIGHT


def _judged(now: Round, press: Press, verdict: Verdict) -> JudgedPress:
    assert now.since is not None
    return JudgedPress(press.t - now.since, press.key, press.velocity, verdict, press.keyboard)


def _pressed(now: Round, press: Press) -> Step:
    if not _readable(now, press):
        return Step(now)
    if now.pulse is not None:
        return Step(replace(now, heard=now.heard.then(press)))
    if now.rules == 1 and _struck_again(now, press):
        return Step(now)
    keys, apart = now._slot.keys, now._slot.apart
    judged = _judged(now, press, judge_key(keys, press.key, apart))
    t, right = judged.t, judged.verdict is Verdict.RIGHT
    began = t if now.began is None else now.began
    struck, done = dict(now.struck), False
    near = {key: at for key, at in struck.items() if together(at, t, now.window_s)}
    if right:
        done = {press.key % apart, *near} == {key % apart for key in keys}
    first = now.first
    if first is None and not right:
        first = judged.verdict
    elif first is None and not together(began, t, now.window_s):
        first = Verdict.WRONG
    elif first is None and done:
        first = Verdict.RIGHT
    decided = first is not now.first
    if right:
        again = press.key % apart in struck  # the chord is begun anew
        if decided and first is Verdict.WRONG:
            judged = replace(judged, late_s=t - began)
        elif len(near) < len(struck) and not (done or again):
            judged = replace(judged, late_s=t - min(struck.values()))
        struck = (near if again else struck) | {press.key % apart: t}
    now = replace(
        now,
        presses=now.presses.then(judged),
        began=began,
        first=first,
        struck=tuple(struck.items()),
    )
    if decided and now._missed_out:
        return _ended(now, press.t, completed=done)._replace(judged=judged)
    if not done:
        return Step(now, judged)
    result = _result(now, press.t, completed=True)
    return Step(_advanced(now, result, press.t), judged, result)


def _struck_again(now: Round, press: Press) -> bool:
    """Whether it is a key of the chord just completed, which went down twice in its window."""
    assert now.since is not None
    before = now.prompts[now.prompt].slots[now.slot - 1].keys if now.slot else frozenset()
    again = len(before) > 1 and press.key in before and press.key not in now._slot.keys
    return again and press.t - now.since <= now.window_s


def _advanced(now: Round, result: SlotResult, t: float) -> Round:
    """The next slot; within a prompt it is readable at once, a new prompt waits for its flip.

    A slot whose notes only continue a tie asks for nothing, and is passed over.
    """
    chord = t if len(result.expected) > 1 else None
    now = replace(_slot_over(now), results=(*now.results, result), chord=chord)
    slots = now.prompts[now.prompt].slots
    following = next((n for n in range(now.slot + 1, len(slots)) if slots[n].keys), None)
    return _next_prompt(now, t) if following is None else replace(now, slot=following, since=t)


def _slot_over(now: Round) -> Round:
    return replace(now, presses=Growing(), began=None, first=None, struck=())


def _next_prompt(now: Round, t: float) -> Round:
    now = replace(now, prompt=now.prompt + 1, slot=0, since=None)
    return replace(now, ended=t) if now.prompt == len(now.prompts) else now


def _phrase_over(now: Round, t: float) -> Step:
    """A phrase has come to its end."""
    judged = _judge_phrase(now, t)
    over = _next_prompt(judged.round, t)
    if over._missed_out:
        over = replace(over, ended=t)
    return judged._replace(round=over)


def _judge_phrase(now: Round, t: float) -> Step:
    """What was played of a phrase until `t`."""
    assert now.pulse is not None and now.since is not None
    prompt, since = now.prompts[now.prompt], now.since
    heard = [replace(press, t=press.t - since) for press in now.heard]
    played = performed(prompt, now.pulse, heard, t - since)
    closed = results(prompt, now.prompt, now.pulse, now.limit_s, played)
    closed = tuple(replace(result, done_s=now.elapsed(t)) for result in closed)
    phrases = (*now.phrases, played)
    now = replace(now, results=(*now.results, *closed), phrases=phrases, heard=Growing())
    return Step(now, None, closed[-1] if closed else None)


def _time_up(now: Round) -> Step:
    """A timed round ends on its own clock.

    A slot that the clock cut short is not counted; one that could be read for longer than the
    limit and was not answered is, or waiting would cost nothing.
    """
    end, now = now._time_up, replace(now, touches=())
    assert end is not None
    if now.since is None:
        return Step(replace(now, ended=end))
    if now.pulse is not None:
        return _ended(now, end)
    cut_short = _undecided(now, end) if now.began is not None else end - now.since < now.limit_s
    if cut_short:
        return Step(replace(now, ended=end))
    return _ended(now, end)


def _undecided(now: Round, t: float) -> bool:
    """Whether what was pressed may still become the right first answer at `t`."""
    assert now.since is not None and now.began is not None
    return now.first is None and together(now.began, t - now.since, now.window_s)


def _stopped(now: Round, t: float) -> Step:
    """The reader, or the end of a played file, left the slot unfinished: it counts."""
    now = replace(now, touches=())
    if now.since is None:
        return Step(replace(now, ended=t))
    return _ended(now, t)


def _ended(now: Round, t: float, *, completed: bool = False) -> Step:
    """The end in mid-slot, with the slot counted as it stands."""
    if now.pulse is not None:
        cut = _judge_phrase(now, t)
        return cut._replace(round=replace(cut.round, ended=t))
    result = _result(now, t, completed=completed)
    return Step(replace(now, results=(*now.results, result), ended=t), None, result)


def _resumed(now: Round, t: float) -> Round:
    if now.paused is None:
        return now

    def moved(time: float | None) -> float | None:
        # As far before the resumption as it was before the pause: exact where that is 0.
        return None if time is None or now.paused is None else t - (now.paused - time)

    if now.pulse is not None and now.since is not None and now.started is not None:
        # Nobody goes on in mid-phrase: it begins again, and what was played of it is left out.
        return replace(
            now, paused=None, heard=Growing(), since=t, started=t - (now.since - now.started)
        )
    return replace(now, paused=None, since=moved(now.since), started=moved(now.started))


def _result(now: Round, at: float, *, completed: bool) -> SlotResult:
    verdict, worth = Verdict.UNANSWERED, 0.0
    if now.began is not None:
        # A chord begun and never finished was not answered right.
        verdict = now.first or Verdict.WRONG
        worth = points(verdict is Verdict.RIGHT, now.began, now.limit_s)
    return SlotResult(
        now.prompt,
        now.slot,
        tuple(sorted(now._slot.keys)),
        verdict,
        now.began,
        worth,
        tuple(now.presses),
        completed,
        now.elapsed(at),
    )
