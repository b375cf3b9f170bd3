# SPDX-License-Identifier: MIT
"""The round as a state machine: (round, event) -> round and what the event was worth."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

from game.rounds.events import Event, Flip, Pause, Press, Resume, Stop, Tick
from game.rounds.growing import Growing
from game.rounds.in_time import performed, results
from game.rounds.round import Round
from game.rounds.score import SlotResult, points
from game.rounds.touch import BOUNCE_S, Touch, flat_hand, lately
from game.rounds.verdict import JudgedPress, Verdict, judge_key, together


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
    if now.paused is None and now.time_is_up(event.t):
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
    return judge_key(now.slot_now.keys, press.key, now.slot_now.apart) is Verdict.RIGHT


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
    keys, apart = now.slot_now.keys, now.slot_now.apart
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
    if decided and now.missed_out:
        return _ended(now, press.t, completed=done)._replace(judged=judged)
    if not done:
        return Step(now, judged)
    result = _result(now, press.t, completed=True)
    return Step(_advanced(now, result, press.t), judged, result)


def _struck_again(now: Round, press: Press) -> bool:
    """Whether it is a key of the chord just completed, which went down twice in its window."""
    assert now.since is not None
    before = now.prompts[now.prompt].slots[now.slot - 1].keys if now.slot else frozenset()
    again = len(before) > 1 and press.key in before and press.key not in now.slot_now.keys
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
    if over.missed_out:
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
    end, now = now.time_up, replace(now, touches=())
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
        tuple(sorted(now.slot_now.keys)),
        verdict,
        now.began,
        worth,
        tuple(now.presses),
        completed,
        now.elapsed(at),
    )
