# SPDX-License-Identifier: MIT
"""What the game knows of a reader, kept in the store beside the rounds it was learnt from."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import UTC, datetime, tzinfo
from operator import attrgetter
from typing import Any

from game.levels import Compass, EmptyPool, Ladder, LevelFaults, Rung, parse_level
from game.reader import (
    PRACTICE_ID,
    LevelSearch,
    Profile,
    Progress,
    asked_places,
    opened,
    practice,
    progress,
)
from game.reader.profile import VERSION
from game.rounds import COMPARED, READ_FROM, Round, Terms
from game.session.live_round import LiveRound
from game.store import RoundState, Store, StoreError
from game.words.dates import local

_KEY, _PLACED = "profile", "placement"
_LATEST_ROUNDS = 200  # which a profile is learnt from, where none was kept


def profile_of(store: Store, reader_id: int) -> Profile:
    """The profile of a reader: as kept, or learnt again from their latest rounds.

    Raises:
        StoreError: the store cannot be read.
    """
    kept = store.get_setting(_KEY, {}, reader_id)
    found = _from_kept(kept)
    if found is not None:
        return found
    if kept.get("version") == VERSION:
        store.set_aside(_KEY, reader_id)
    profile = Profile()
    for brief in reversed(store.records(reader_id, limit=_LATEST_ROUNDS, state=None)):
        try:
            record = store.record(brief.id)
            ended = record.terms.replay(record.events)
        except (StoreError, LevelFaults, EmptyPool):
            continue
        if ended.ended is None or record.state is RoundState.OPEN:
            continue  # of the discarded ones, those of a search for a level came to their end
        profile = learnt(profile, ended, record.started)
    return profile


def learn(store: Store, reader_id: int, profile: Profile, ended: Sequence[Round]) -> Profile:
    """The profile with rounds in it that have just ended; it is kept.

    It goes on from what is kept by now, since another copy of the game may have taught it more,
    and again where one does so meanwhile (the slopes of a new day take some tenths of a second);
    where that is damaged, from `profile`.

    Raises:
        StoreError: the store cannot be written.
    """
    found = profile

    def change(kept: object) -> object:
        nonlocal found
        found = _from_kept(kept) or profile
        for round in ended:
            found = learnt(found, round)
        return found.to_json()

    store.change_setting(_KEY, change, reader_id)
    return found


def _from_kept(kept: object) -> Profile | None:
    """None: there is none, or it is damaged or of another version. The rounds are still there."""
    if not isinstance(kept, dict):
        return None
    try:
        return Profile.from_json(kept)
    except (ValueError, OverflowError, RecursionError):
        return None


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
    # Practice seeks out what is slow, and the last miss ends an endless round: their tempo tells
    # less of the reader than of the round.
    apart = {rung.level.id for rung in ladder.rungs if rung.level.time is not None}
    apart.add(PRACTICE_ID)
    rounds = [
        (
            local(played.started, zone).toordinal(),
            played.tempo_per_min
            if played.level_id not in apart and played.kind.startswith(COMPARED)
            else None,
        )
        # By number, not by date: the clock may have been set back since.
        for played in sorted(store.figures(reader_id), key=lambda played: played.id)
    ]
    today = local(now, zone).toordinal()
    return progress(profile, rounds, asked_places(ladder), now.timestamp(), today)


def search_of(store: Store, reader_id: int) -> tuple[dict[str, Any] | None, str]:
    """What is kept of a search for a reader's level, and the id of the level that was found.

    Raises:
        StoreError: the store cannot be read.
    """
    match store.get_setting(_PLACED, None, reader_id):
        case {"search": dict() as search, "level": str() as level_id}:
            return search, level_id
    return None, ""


def keep_search(store: Store, reader_id: int, search: LevelSearch) -> str:
    """Keep it; the id of the level that was found, empty while it goes on.

    Raises:
        StoreError: the store cannot be written.
    """
    level_id = search.rung.level.id if search.done else ""
    store.set_setting(_PLACED, {"search": search.to_json(), "level": level_id}, reader_id)
    return level_id


def todays_practice(
    profile: Profile,
    ladder: Ladder,
    passed: Collection[str],
    seed: int,
    compass: Compass,
    placed: str = "",
    after: LiveRound | None = None,
) -> Terms:
    """A round of what is due, what is weak and a little of what is known.

    Args:
        profile: of the reader.
        ladder: whose levels it draws on, by :func:`game.reader.opened`.
        passed: ids of the levels passed.
        seed: 0 or more.
        compass: the keys of the reader's keyboard.
        placed: id of the level that the reader was found to be at; those before it count as
            passed.
        after: the practice round just played: what was missed in it returns.

    Raises:
        EmptyPool: nothing can be practised on this keyboard.
    """
    ids = [rung.level.id for rung in ladder.rungs]
    known = {*passed, *ids[: ids.index(placed)]} if placed in ids else {*passed}
    now = datetime.now(UTC).timestamp()
    rungs = opened(profile.knowledge, ladder.rungs, known, now, compass)
    again = None if after is None else (Rung(after.level, after.terms.level_text), after.round)
    text = practice(profile.knowledge, rungs, seed, now, compass=compass, after=again).text
    level = parse_level(text, "today's practice")
    return Terms.counted(level, text, seed, None, compass)


def seen_before(store: Store, reader_id: int, terms: Terms) -> bool:
    """Whether a reader has read these notes: in a round of the same deal or, where all rounds of
    the level hold the same bars, in any, from :data:`READ_FROM` on; in the round of this day, from
    its first key on.

    Raises:
        StoreError: the store cannot be read.
        LevelFaults: the level's text is damaged.
    """
    of = attrgetter("level_text", "seed")
    if terms.level().same_bars(terms.prompts):
        of = attrgetter("level_text")
    elif terms.day:
        of = attrgetter("day", "seed")

    def read(number: int) -> bool:
        record = store.record(number)
        return bool(record.events) and (
            bool(terms.day)
            or record.terms.share(record.terms.replay(record.events), record.events[-1].t)
            >= READ_FROM
        )

    earlier = store.records(reader_id, terms.level_id, limit=None, state=None)
    return any(read(brief.id) for brief in earlier if of(brief.terms) == of(terms))
