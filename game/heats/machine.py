# SPDX-License-Identifier: MIT
"""The heat as a state machine: (heat, event) -> heat and what the event was worth.

Inside, each seat is a :class:`game.rounds.Round`, which alone judges; the heat says when it
starts, stands still and ends.

A heat waits, counts in, runs, and waits again; what runs is one seat in turn, or all together that
have still to play. When everyone has played it still waits, for a redo or somebody late, until it
is closed. So the edges are:

- **Ready** is only shown, and never asked for: the teacher starts whoever is there. While the heat
  waits, middle C makes the seat ready whose turn it is; together, any key makes its seat ready.
- **Presses** while it waits or counts in are not judged. Those that are no seat's are counted.
- **A pause** stops all clocks; in a count-in, that begins again afterwards.
- **The end of a run.** It is over when nobody that counts is still playing. A disqualified seat
  plays on while others do; where it was cut off because they had finished and it is reinstated,
  it plays again.
- **What is cut** by a stop, a redo or the next turn ends as by its own clock: the slot under way
  counts only if it was answered wrong already, or could be read for longer than the limit.
- **Somebody late** has their whole time in turn. Together they begin at once and have the time that
  is left (all prompts, where those are counted); a redo gives them the whole.
- **A redo** waits until the run is over, then plays in the next one, alone or with the others that
  have still to play.
- Events that mean nothing at their moment, or name no seat, change nothing.

A heat that was broken off goes on from its kept events: :func:`play`, then a Pause at the time of
the last of them, and a Resume on the same clock when everybody is ready.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache

from game.heats.events import (
    Bound,
    CountIn,
    Disqualify,
    End,
    HeatEvent,
    Join,
    NextSeat,
    Redo,
    Reinstate,
    SeatFlip,
    SeatPress,
    SeatReady,
    Start,
)
from game.heats.forms import form_of
from game.heats.heat import Chair, Heat, HeatPhase, HeatStep
from game.heats.setup import HeatSetup, PlayMode, Seat
from game.rounds import Event, Flip, Pause, Press, Resume, Round, Stop, Terms, Tick
from game.rounds import step as round_step

MIDDLE_C = 60
"""MIDI key by which a reader says that they are ready."""


def begin(setup: HeatSetup) -> Heat:
    """The heat before its first event.

    Raises:
        LevelFaults: the setup's level text is damaged.
        EmptyPool: the keys of a seat are too few for the level.
    """
    chairs: list[Chair] = []
    for seat in sorted(setup.seats, key=lambda seat: seat.number):
        chairs.append(_seated(setup, seat, chairs))
    turn = setup.seats[0].number if setup.manner is PlayMode.IN_TURN else None
    return Heat(setup, tuple(chairs), turn=turn)


def play(setup: HeatSetup, events: Iterable[HeatEvent]) -> Heat:
    """The heat after all these events."""
    heat = begin(setup)
    for event in events:
        heat = step(heat, event).heat
    return heat


def step(heat: Heat, event: HeatEvent) -> HeatStep:
    """Apply one event; events come in order of time.

    With every event time passes for all seats, so a Tick need be kept only where it changed
    something (where ``step(heat, tick).heat is not heat``).

    Raises:
        EmptyPool: somebody joins whose keys are too few for the level.
    """
    if heat.phase is HeatPhase.ENDED:
        return HeatStep(heat)
    if not isinstance(event, SeatPress | SeatFlip):  # those tell their own round the time
        heat = _time_passed(heat, event.t)
    match event:
        case SeatPress():
            return _pressed(heat, event)
        case SeatFlip(t, number):
            return _fed(_time_passed(heat, t, but=number), number, Flip(t))
        case SeatReady(_, number):
            return HeatStep(_ready(heat, number), number)
        case CountIn(t):
            if heat.phase is HeatPhase.WAITING and _starters(heat):
                heat = replace(heat, phase=HeatPhase.COUNT_IN, since=t)
        case Start(t):
            heat = _started(heat, t)
        case Pause(t):
            heat = _paused(heat, t)
        case Resume(t):
            heat = _resumed(heat, t)
        case NextSeat(t, number):
            heat = _next(heat, t, number)
        case Stop(t):
            heat = _stopped(heat, t)
        case End(t):
            heat = replace(_stopped(heat, t), phase=HeatPhase.ENDED)
        case Disqualify(t, number) | Reinstate(t, number) | Redo(t, number):
            heat = _marked(heat, event)
            return HeatStep(_settled(heat, t), number)
        case Join(t, seat):
            return HeatStep(_joined(heat, t, seat), seat.number)
        case Bound(_, number, binding):
            chair = heat.chair(number)
            if chair is not None:
                heat = _with(heat, replace(chair, seat=replace(chair.seat, binding=binding)))
            return HeatStep(heat, number)
        case Tick():
            pass
    return HeatStep(heat)


# Presses and flips


def _pressed(heat: Heat, press: SeatPress) -> HeatStep:
    number = press.seat
    if number is None and heat.setup.manner is PlayMode.IN_TURN:
        number = heat.turn
    chair = heat.chair(number)
    if chair is None or (heat.turn is not None and number != heat.turn):
        heat = _time_passed(heat, press.t)
        return HeatStep(replace(heat, strays=heat.strays + 1))
    if heat.phase is HeatPhase.WAITING and (heat.turn is None or press.key == MIDDLE_C):
        return HeatStep(_ready(heat, number), number)
    heat = _time_passed(heat, press.t, but=number)
    return _fed(heat, number, Press(press.t, press.key, press.velocity, press.keyboard))


def _fed(heat: Heat, number: int | None, event: Event) -> HeatStep:
    """An event of one seat's round."""
    chair = heat.chair(number)
    if chair is None or chair.round is None or not chair.playing:
        return HeatStep(heat, None if chair is None else number)
    done = round_step(chair.round, event)
    heat = _with(heat, replace(chair, round=done.round))
    if done.round.ended is not None:
        heat = _settled(heat, event.t)
    return HeatStep(heat, number, done)


def _ready(heat: Heat, number: int | None) -> Heat:
    chair = heat.chair(number)
    if chair is None or chair.ready or not chair.to_play or heat.turn not in (None, number):
        return heat
    return _with(heat, replace(chair, ready=True))


# Start, end and pauses


def _starters(heat: Heat) -> tuple[Chair, ...]:
    """Who begins at a start."""
    return tuple(
        chair for chair in heat.chairs if chair.to_play and heat.turn in (None, chair.seat.number)
    )


def _started(heat: Heat, t: float) -> Heat:
    starters = _starters(heat)
    waits = heat.phase in (HeatPhase.WAITING, HeatPhase.COUNT_IN) and heat.paused is None
    if not waits or not starters:
        return heat
    for chair in starters:
        heat = _with(heat, replace(chair, round=replace(chair.start, started=t)))
    return replace(heat, phase=HeatPhase.RUNNING, since=t)


def _time_passed(heat: Heat, t: float, but: int | None = None) -> Heat:
    """Rounds and phrases whose end has come are over."""
    if heat.phase is not HeatPhase.RUNNING or heat.paused is not None:
        return heat
    if heat.setup.seconds is not None and heat.since is not None:
        due = t >= heat.since + heat.setup.seconds
    else:
        due = False
    changed = False
    for chair in heat.chairs:
        if chair.seat.number == but or chair.round is None or not chair.playing:
            continue
        phrase_end = chair.round.phrase_end
        if due or (phrase_end is not None and t >= phrase_end):
            heat = _with(heat, replace(chair, round=round_step(chair.round, Tick(t)).round))
            changed = True
    return _settled(heat, t) if changed else heat


def _settled(heat: Heat, t: float) -> Heat:
    """The run or count-in is over where nobody that counts is in it any more."""
    if heat.phase is HeatPhase.COUNT_IN and not _starters(heat):
        return _waiting(heat)
    if heat.phase is not HeatPhase.RUNNING:
        return heat
    if any(chair.playing and not chair.disqualified for chair in heat.chairs):
        return heat
    for chair in heat.chairs:
        if chair.round is not None and chair.playing:
            cut = _cut(chair.round, t)
            heat = _with(heat, replace(chair, round=cut, cut_off=True))
    return _waiting(heat)


def _waiting(heat: Heat) -> Heat:
    chairs = tuple(replace(chair, ready=False) if chair.ready else chair for chair in heat.chairs)
    return replace(heat, chairs=chairs, phase=HeatPhase.WAITING, since=None, paused=None)


def _stopped(heat: Heat, t: float) -> Heat:
    """Whatever runs is cut, and the heat waits."""
    if heat.phase is HeatPhase.WAITING:
        return heat
    for chair in heat.chairs:
        if chair.round is not None and chair.playing:
            heat = _with(heat, replace(chair, round=_cut(chair.round, t)))
    return _waiting(heat)


def _cut(now: Round, t: float) -> Round:
    """A round ended from outside, with the slot under way judged as at the end of its clock."""
    now = round_step(round_step(now, Resume(t)).round, Tick(t)).round
    if now.ended is not None:
        return now
    ended = round_step(replace(now, started=t, seconds=0), Tick(t)).round
    return replace(ended, started=now.started, seconds=now.seconds)


def _paused(heat: Heat, t: float) -> Heat:
    if heat.phase not in (HeatPhase.COUNT_IN, HeatPhase.RUNNING) or heat.paused is not None:
        return heat
    return replace(_all_fed(heat, Pause(t)), paused=t)


def _resumed(heat: Heat, t: float) -> Heat:
    if heat.paused is None or heat.since is None:
        return heat
    if heat.phase is HeatPhase.COUNT_IN:
        return replace(heat, since=t, paused=None)  # nobody counts on from the middle
    since = t - (heat.paused - heat.since)
    return replace(_all_fed(heat, Resume(t)), since=since, paused=None)


def _all_fed(heat: Heat, event: Event) -> Heat:
    for chair in heat.chairs:
        if chair.round is not None and chair.playing:
            heat = _with(heat, replace(chair, round=round_step(chair.round, event).round))
    return heat


# Turns and seats


def _next(heat: Heat, t: float, number: int | None) -> Heat:
    if heat.turn is None:
        return heat
    if number is None:
        waiting = [other for other in heat.to_play if other != heat.turn]
        later = [other for other in waiting if other > heat.turn]
        number = next(iter(later or waiting), heat.turn)
    if heat.chair(number) is None:
        return heat
    return replace(_waiting(_stopped(heat, t)), turn=number)


def _marked(heat: Heat, event: Disqualify | Reinstate | Redo) -> Heat:
    chair = heat.chair(event.seat)
    if chair is None:
        return heat
    match event:
        case Disqualify():
            return _with(heat, replace(chair, disqualified=True))
        case Reinstate():
            chair = replace(chair, disqualified=False)
            return _again(heat, chair, event.t) if chair.cut_off else _with(heat, chair)
        case Redo():
            return _again(heat, chair, event.t)


def _again(heat: Heat, chair: Chair, t: float) -> Heat:
    """The present try is set aside for one on a new form."""
    if chair.round is None:
        return _with(heat, chair)
    tries = (*chair.tries, _cut(chair.round, t))
    fresh = _seated(heat.setup, chair.seat, heat.chairs, chair.attempt + 1)
    return _with(heat, replace(fresh, tries=tries, disqualified=chair.disqualified))


def _joined(heat: Heat, t: float, seat: Seat) -> Heat:
    if heat.chair(seat.number) is not None:
        return heat
    chair = _seated(heat.setup, seat, heat.chairs)
    if heat.phase is HeatPhase.RUNNING and heat.turn is None:
        now = t if heat.paused is None else heat.paused
        late = replace(chair.start, started=now, paused=heat.paused)
        left = heat.left(now)
        chair = replace(chair, round=late if left is None else replace(late, seconds=left))
    chairs = sorted((*heat.chairs, chair), key=lambda other: other.seat.number)
    return replace(heat, chairs=tuple(chairs))


def _seated(setup: HeatSetup, seat: Seat, others: Iterable[Chair], attempt: int = 0) -> Chair:
    form = form_of(setup, seat, attempt, [other.form for other in others])
    compass = setup.compass_of(seat)
    terms = replace(setup.terms(), prompts=1, compass_low=compass.low, compass_high=compass.high)
    return Chair(seat, form, replace(_blank(terms), prompts=form), attempt)


@lru_cache(maxsize=8)
def _blank(terms: Terms) -> Round:
    """A round on these terms; its prompts are to be replaced."""
    return terms.begin()


def _with(heat: Heat, chair: Chair) -> Heat:
    number = chair.seat.number
    chairs = tuple(chair if other.seat.number == number else other for other in heat.chairs)
    return replace(heat, chairs=chairs)
