# SPDX-License-Identifier: MIT
"""What the game knows of a reader, kept in the store beside the rounds it was learnt from."""

from __future__ import annotations

from collections.abc import Collection
from datetime import UTC, datetime, tzinfo

from game.levels import Compass, EmptyPool, Ladder, LevelFaults, parse_level
from game.reader import Profile, Progress, asked_places, practice, progress
from game.rounds import Round, Terms
from game.store import Store, StoreError

_KEY = "profile"
_LATEST_ROUNDS = 200  # which a profile is learnt from, where none was kept


def profile_of(store: Store, reader_id: int) -> Profile:
    """The profile of a reader: as kept, or learnt again from their latest rounds.

    Raises:
        StoreError: the store cannot be read.
    """
    kept = store.get_setting(_KEY, None, reader_id)
    if isinstance(kept, dict):
        try:
            return Profile.from_json(kept)
        except ValueError:
            pass  # damaged, or of another version: the rounds are still there
    profile = Profile()
    for brief in reversed(store.records(reader_id, limit=_LATEST_ROUNDS)):
        try:
            record = store.record(brief.id)
            ended = record.terms.replay(record.events)
        except (StoreError, LevelFaults, EmptyPool):
            continue
        profile = learnt(profile, ended, record.started)
    return profile


def keep_profile(store: Store, reader_id: int, profile: Profile) -> None:
    """Keep it.

    Raises:
        StoreError: the store cannot be written.
    """
    store.set_setting(_KEY, profile.to_json(), reader_id)


def learnt(profile: Profile, ended: Round, at: datetime | None = None) -> Profile:
    """A profile with one more round in it, that ended at `at`; None is now."""
    when = (at or datetime.now(UTC)).timestamp()
    profile = profile.begun(when)
    for result in ended.results:
        prompt = ended.prompts[result.prompt]
        before = ended.prompts[result.prompt - 1] if result.prompt else None
        in_time = ended.pulse is not None
        profile = profile.after(prompt, result, when, before, in_time=in_time).profile
    return profile


def progress_of(
    store: Store,
    reader_id: int,
    profile: Profile,
    ladder: Ladder,
    now: datetime | None = None,
    zone: tzinfo | None = None,
) -> Progress:
    """How a reader gets on.

    Args:
        store: has the reader's rounds.
        reader_id: who.
        profile: of the reader.
        ladder: what there is to learn.
        now: the time; None for this machine's.
        zone: whose days; None for this machine's.

    Raises:
        StoreError: the store cannot be read.
    """
    now = now or datetime.now(UTC)
    in_time = {rung.level.id for rung in ladder.rungs if rung.level.time is not None}
    rounds = [
        (
            played.started.astimezone(zone).toordinal(),
            None if played.level_id in in_time else played.tempo_per_min,
        )
        for played in store.figures(reader_id)
    ]
    today = now.astimezone(zone).toordinal()
    return progress(profile, rounds, asked_places(ladder), now.timestamp(), today)


def todays_practice(
    profile: Profile, ladder: Ladder, passed: Collection[str], seed: int, compass: Compass
) -> Terms:
    """A round of what is due, what is weak and a little of what is known.

    Args:
        profile: of the reader.
        ladder: whose levels it draws on: those passed, and the first that is not.
        passed: ids of the levels passed.
        seed: 0 or more.
        compass: the keys of the reader's keyboard.

    Raises:
        EmptyPool: nothing can be practised on this keyboard.
    """
    first = next((rung for rung in ladder.rungs if rung.level.id not in passed), None)
    reached = [rung for rung in ladder.rungs if rung.level.id in passed or rung is first]
    now = datetime.now(UTC).timestamp()
    text = practice(profile.knowledge, reached, seed, now, compass=compass).text
    level = parse_level(text, "today's practice")
    return Terms.counted(level, text, seed, None, compass)


def seen_before(store: Store, reader_id: int, terms: Terms) -> bool:
    """Whether a reader has begun a round of this day on this level and seen its notes.

    Raises:
        StoreError: the store cannot be read.
    """
    earlier = store.records(reader_id, terms.level_id, limit=None, state=None)
    same = [brief for brief in earlier if brief.terms.day and brief.terms.seed == terms.seed]
    return any(store.record(brief.id).events for brief in same)
