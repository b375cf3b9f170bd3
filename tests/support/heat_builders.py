# SPDX-License-Identifier: MIT
"""Builds heats for the tests, and plays them by hand or with a class of robot readers."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence
from itertools import count

from builders import level_text

from game.heats import (
    Binding,
    End,
    Forms,
    Heat,
    HeatEvent,
    HeatSetup,
    PlayMode,
    Seat,
    SeatFlip,
    SeatPress,
    Start,
    begin,
    step,
)
from game.keyboards import RobotReader
from game.rounds import Tick

TEXT = level_text()
TOGETHER, IN_TURN = PlayMode.TOGETHER, PlayMode.IN_TURN


def setup_of(
    seats: int | Iterable[Seat] = 3,
    *,
    text: str = TEXT,
    prompts: int | None = 4,
    seconds: int | None = None,
    manner: PlayMode = TOGETHER,
    forms: Forms = Forms.OWN,
    seed: int = 7,
    **more: object,
) -> HeatSetup:
    """A heat of so many nameless seats on a level of five notes; `seconds` makes it timed."""
    made = tuple(Seat(n + 1) for n in range(seats)) if isinstance(seats, int) else tuple(seats)
    length = (None, seconds) if seconds is not None else (prompts, None)
    return HeatSetup("tested", "T", text, seed, *length, manner, forms, made, **more)


def halves(*splits: int, keyboard: str = "long") -> list[Seat]:
    """Seats on one keyboard, split at these keys, the lowest part first."""
    lows, highs = (0, *splits), (*(at - 1 for at in splits), 127)
    return [
        Seat(number, binding=Binding(keyboard, low, high))
        for number, (low, high) in enumerate(zip(lows, highs, strict=True), 1)
    ]


def after(heat: Heat, *events: HeatEvent) -> Heat:
    """The heat after these events."""
    for event in events:
        heat = step(heat, event).heat
    return heat


def keys_of(heat: Heat, number: int) -> list[int]:
    """The keys that a seat's form asks for, one after another, of a form of single notes."""
    return [next(iter(slot.keys)) for prompt in heat.chair(number).form for slot in prompt.slots]


def answered(
    heat: Heat, number: int, *times: float, start: float = 0.0, off: Sequence[int] = ()
) -> list[HeatEvent]:
    """Flips and presses of a seat, from its first prompt on.

    Args:
        times: seconds that each answer takes; the next prompt is shown at once.
        start: when the first prompt is shown.
        off: indices of the answers that are first a semitone off, half a second before.
    """
    events: list[HeatEvent] = []
    for index, (key, each) in enumerate(zip(keys_of(heat, number), times, strict=False)):
        events.append(SeatFlip(start, number))
        if index in off:
            events.append(SeatPress(start + each - 0.5, number, key + 1))
        start += each
        events.append(SeatPress(start, number, key))
    return events


def merged(*lists: Iterable[HeatEvent]) -> list[HeatEvent]:
    """Events of several seats in order of time."""
    return list(heapq.merge(*lists, key=lambda event: event.t))


def class_of(number: int, seed: int = 1) -> dict[int, RobotReader]:
    """Robot readers for the seats 1, 2 …, from slow and careless to fast and sure."""
    return {
        seat: RobotReader(seed * 100 + seat, 0.4 + 1.2 / seat, 0.25, 0.4 / seat)
        for seat in range(1, number + 1)
    }


def played_by_robots(
    setup: HeatSetup,
    readers: dict[int, RobotReader],
    start: float = 3.0,
    stop: float = 1e9,
    flip_s: float = 0.3,
) -> list[HeatEvent]:
    """The events of a run that all seats play together, and that is closed afterwards.

    Args:
        setup: of a heat that is played together.
        readers: seat -> robot.
        start: when it starts.
        stop: what would happen at this time or later does not.
        flip_s: seconds from an answer to the next prompt.
    """
    heat, order = begin(setup), count()
    queue: list[tuple[float, int, HeatEvent]] = []
    events: list[HeatEvent] = []

    def put(event: HeatEvent) -> None:
        heapq.heappush(queue, (event.t, next(order), event))

    def answer(number: int) -> None:
        round = heat.chair(number).round
        if round.since is None or round.ended is not None:
            return
        prompt, robot = round.current, readers[number]
        if round.pulse is not None:
            presses = robot.perform(prompt, round.pulse, round.since)
            put(Tick(round.phrase_end))
        else:
            presses = robot.answer(prompt.slots[round.slot], round.since)
        for one in presses:
            put(SeatPress(one.t, number, one.key, one.velocity, f"keyboard {number}"))

    put(Start(start))
    for number in readers:
        put(SeatFlip(start + 0.03, number))
    if setup.seconds is not None:
        put(Tick(start + setup.seconds))
    t = start
    while queue and queue[0][0] < stop:
        t, _, event = heapq.heappop(queue)
        before = heat
        heat = step(heat, event).heat
        events.append(event)
        for chair in heat.chairs:
            number, was = chair.seat.number, before.chair(chair.seat.number).round
            if chair.round is None or chair.round is was or not chair.playing:
                continue
            if was is not None and chair.round.since is None and was.since is not None:
                put(SeatFlip(t + flip_s, number))
            elif was is None or (chair.round.since, chair.round.slot) != (was.since, was.slot):
                answer(number)
    return [*events, End(min(stop, t + 1.0))]
