# SPDX-License-Identifier: MIT
"""A performance without a window, such as a MIDI file, as the events of a round; and back."""

from __future__ import annotations

from collections.abc import Iterable

from game.rounds.events import Event, Flip, Press, Stop, Tick
from game.rounds.round import Round
from game.rounds.state import step


def judged(start: Round, presses: Iterable[Press]) -> Round:
    """The round after :func:`events_of`."""
    return _played(start, presses)[0]


def events_of(start: Round, presses: Iterable[Press]) -> tuple[Event, ...]:
    """The events of a round that is played by `presses` and shows each prompt without delay.

    The first prompt flips at 0, each later one at the instant at which the one before it was
    completed. Presses are taken strictly in the order given, so one at that very instant
    belongs to the next prompt exactly when it comes after the completing press. When they run
    out, a timed round goes on to its end and any other one stops at the last press. A phrase that
    is read in time turns over at its end instead, and the last one begun is read to its end.

    Args:
        start: the round before its first event.
        presses: in order of time; `t` counts from the first flip. Those after the end of the
            round are left out.

    Returns:
        Events that, replayed from `start`, end the round.
    """
    return tuple(_played(start, presses)[1])


def _played(start: Round, presses: Iterable[Press]) -> tuple[Round, list[Event]]:
    events: list[Event] = [Flip(0.0)]
    now = step(start, events[0]).round
    last = 0.0
    after: list[Press] = []

    def turn_over(until: float) -> None:
        """Phrases read in time end by themselves, and the next one shows at that instant."""
        nonlocal now
        while now.phrase_end is not None and now.phrase_end <= until:
            end = now.phrase_end
            for event in (Tick(end), Flip(end)):
                events.append(event)
                now = step(now, event).round

    for press in presses:
        turn_over(press.t)
        over = now.ended
        if over is not None and press.t - over > now.window_s:
            break
        now = step(now, press).round
        after.append(press)
        if over is not None and now.ended is not None:
            continue  # unless a flat hand takes the end back, it stays out
        events += after
        after.clear()
        last = press.t
        if now.since is None and now.ended is None:  # never in time: phrases turn over above
            events.append(Flip(last))
            now = step(now, events[-1]).round
    if start.pulse is not None and now.phrase_end is not None:
        turn_over(now.phrase_end)  # the phrase under way is read to its end
        last = events[-1].t
    if now.ended is None:
        events.append(Stop(last) if start.seconds is None else Tick(start.seconds))
        now = step(now, events[-1]).round
    return now, events


def presses_of(ended: Round) -> tuple[Press, ...]:
    """The presses that were judged, on the clock of reading: what :func:`events_of` takes.

    That clock stands still in pauses, and from the moment at which a prompt was answered to the
    flip of the next one, so `t` of every slot is as it was in the round; of phrases read in time,
    each begins where the one before was over. Presses that nothing asked for (before a flip, in a
    pause, in a phrase that was broken off) are left out. A slot that the clock of a timed round cut
    short is too.

    Returns:
        In order of time, `t` at 0 seconds or later.
    """
    presses: list[Press] = []
    base = 0.0
    if ended.pulse is not None:
        for prompt, phrase in zip(ended.prompts, ended.phrases, strict=False):
            lead = base + ended.pulse.lead_s(prompt)
            heard = [note.press for note in phrase.notes if note.press is not None]
            # With the delay taken off, the first of the count-in may lie before the phrase.
            moved = [
                Press(max(base, lead + p.t), p.key, p.velocity) for p in (*heard, *phrase.extras)
            ]
            presses += sorted(moved, key=lambda press: press.t)
            base += ended.pulse.length_s(prompt)
        return tuple(presses)
    for result in ended.results:
        presses += [Press(base + p.t, p.key, p.velocity) for p in result.answers]
        base = presses[-1].t if result.answers else base
    return tuple(presses)
