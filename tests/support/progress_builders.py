# SPDX-License-Identifier: MIT
"""Readers with something to show for it: rounds in a store, and the profile learnt from them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from random import Random

from builders import shipped
from simulated_readers import lognormal

from game.levels import Level, Prompt, deal
from game.notation import ledger_lines
from game.reader import Profile
from game.rounds import Event, Flip, Press, Round, Stop, Terms, play
from game.session.profiles import learnt
from game.store import ResultSummary, Store


def played(prompts: Sequence[Prompt], rng: Random, error: float, base_s: float) -> list[Event]:
    """A reader who counts, errs more on ledger lines, and finds every key in the end."""
    events: list[Event] = []
    now = 0.0
    for prompt in prompts:
        events.append(Flip(now))
        for slot in (slot for slot in prompt.slots if slot.keys):
            far = max(abs(ledger_lines(note.position)) for note in slot.notes)
            steps = min(abs(slot.notes[0].position - 2), 6)
            now += lognormal(rng, base_s + 0.12 * steps, 0.25)
            if rng.random() < error + 0.08 * far:
                away = (-12, -4, -2, -1, 1, 2, 3, 12)[int(8 * rng.random())]
                events.append(Press(now, max(slot.keys) + away))
                now += 0.8
            events += [Press(now, k) for k in sorted(slot.keys)]
    return [*events, Stop(now + 1)]


def read_round(
    store: Store,
    reader: int,
    profile: Profile,
    level: Level,
    at: datetime,
    rng: Random,
    *,
    error: float = 0.12,
    base_s: float = 1.2,
    prompts: int = 16,
) -> Profile:
    """One round, kept in the store and learnt from."""
    seed = int(1e6 * rng.random())
    terms = Terms(level.id, "kept without its text", seed=seed, prompts=prompts)
    dealt = deal(level, seed, prompts)
    ended = play(Round(dealt, level.limit_s), played(dealt, rng, error, base_s))
    score = ended.score
    record = store.begin(reader, terms, at)
    store.finish(
        record,
        ResultSummary(
            score.score,
            score.mean_points,
            score.accuracy,
            score.median_s,
            score.tempo_per_min,
            score.slots,
            score.right,
        ),
    )
    return learnt(profile, ended, at)


def practised(store: Store, reader: int, first: datetime, days: int = 40, seed: int = 1) -> Profile:
    """Two rounds a day, up the ladder, growing quicker; two days in nine are missed."""
    rng, profile = Random(seed), Profile()
    levels = [rung.level for rung in shipped().rungs if rung.level.time is None]
    for day in range(days):
        if day % 9 in (4, 5):
            continue
        for nth in range(2):
            level = levels[min(len(levels) - 1, int(day * 0.9) + nth)]
            at = first + timedelta(days=day, minutes=10 * nth)
            base = 1.6 * 0.985**day
            profile = read_round(store, reader, profile, level, at, rng, base_s=base)
    store.set_setting("profile", profile.to_json(), reader)
    return profile
