# SPDX-License-Identifier: MIT
"""Rounds played by the robot reader with no window: flips, pauses and moments between prompts."""

from __future__ import annotations

from datetime import datetime

from builders import shipped
from store_builders import NOON

from game.keyboards import RobotReader
from game.rounds import RULES, Event, Flip, Pause, Press, Resume, Stop, Terms, Tick, step
from game.session.records import SharedRound, figures_of
from game.store import Store

BETWEEN_S = 0.2  # an answered prompt stays in view, as in the window


def robot_terms(level_id: str, seed: int = 7, **more: object) -> Terms:
    """Terms of a shipped level; eight prompts unless said otherwise."""
    rung = shipped().find(level_id)
    return Terms(level_id, rung.text, seed, **({"prompts": 8, "rules": RULES} | more))


def robot_events(
    terms: Terms, robot: RobotReader, *, pause_at: int | None = None, stop_at: int | None = None
) -> tuple[Event, ...]:
    """The events of a whole round.

    Args:
        terms: of the round.
        robot: who plays.
        pause_at: at this prompt the round is paused for ten seconds.
        stop_at: at this prompt it is broken off.
    """
    now, events, t = terms.begin(), list[Event](), 0.5

    def feed(event: Event) -> None:
        nonlocal now
        events.append(event)
        now = step(now, event).round

    while now.ended is None:
        feed(Flip(t))
        prompt = now.prompt
        if prompt == stop_at:
            feed(Stop(t + 1.0))
            break
        if prompt == pause_at:
            feed(Pause(t + 0.1))
            feed(Resume(t + 10.1))
            t += 10.1 if now.pulse is not None else 10.0
        if now.pulse is not None:
            for press in robot.perform(now.prompts[prompt], now.pulse, t):
                feed(press)
            feed(Tick(now.phrase_end if now.phrase_end is not None else events[-1].t))
            t = events[-1].t
        while now.ended is None and now.pulse is None and now.prompt == prompt:
            slot = now.prompts[prompt].slots[now.slot]
            for press in robot.answer(slot, t):
                feed(Press(press.t, press.key, press.velocity))
            t = events[-1].t
        t += BETWEEN_S
    return tuple(events)


def robot_record(
    terms: Terms,
    robot: RobotReader | None = None,
    *,
    name: str = "",
    started: datetime = NOON,
    **how: int,
) -> SharedRound:
    """The record of a round that the robot played."""
    events = robot_events(terms, robot or RobotReader(3, error_rate=0.3), **how)
    figures = figures_of(terms, terms.replay(events))
    return SharedRound(name, terms, events, started, "0.1.0", figures)


def keep(store: Store, reader_id: int, shared: SharedRound) -> int:
    """Keep a record as a finished round of a reader; its number."""
    number = store.begin(reader_id, shared.terms, shared.started)
    for event in shared.events:
        store.append(number, event)
    store.finish(number, shared.result)
    return number
