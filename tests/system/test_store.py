# SPDX-License-Identifier: MIT
"""What is kept comes back: readers, settings, rounds with every event, bests."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from store_builders import NOON, TERMS, minutes, play, result

from game.reader.names import NameRefused
from game.rounds import Event, Flip, Pause, Press, Resume, Stop, Terms, Tick
from game.store import (
    RoundState,
    Store,
    StoreError,
    terms_from_json,
    terms_to_json,
)

NAMES = (
    "Anna",
    "Ольга",
    "山田 花子",
    "مريم",
    "नीलम",
    "Δάφνη",
    "שרה",
    "น้ำฝน",
    "Zoë",
    "👩‍🎤",
    "O'Neill; --",
)


@pytest.fixture
def reader(store: Store) -> int:
    return store.add_reader("Anna").id


@pytest.fixture
def reopened(store: Store, stores_url: str) -> Callable[[], Store]:
    def reopen() -> Store:
        store.close()
        return Store.open(stores_url)

    return reopen


# Readers


def test_names_in_any_script_come_back_after_reopening(store, reopened):
    for name in NAMES:
        store.add_reader(name)
    with reopened() as again:
        assert tuple(reader.name for reader in again.readers()) == NAMES


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("Anna", "Anna"),
        ("Anna", "  anna "),
        ("Jean  Luc", "Jean\tLuc"),
        # Unicode TR15: é as one character, and as e with a combining accent.
        ("Jos\u00e9", "Jose\u0301"),
        # Unicode case folding: ß folds to ss.
        ("Strauß", "STRAUSS"),
        # Unicode compatibility: full-width letters, as typed on a Japanese keyboard.
        ("Ken", "Ｋｅｎ"),
    ],
)
def test_one_name_typed_in_two_ways_is_one_reader(store, first, second):
    store.add_reader(first)
    with pytest.raises(NameRefused, match="has this name already"):
        store.add_reader(second)
    assert len(store.readers()) == 1


def test_names_that_differ_in_an_accent_are_two_readers(store):
    store.add_reader("Zoe")
    store.add_reader("Zoë")
    assert len(store.readers()) == 2


@pytest.mark.parametrize("name", ["", "   ", "\u200b", "a\0b", "a\x1bb", "\udc80a", "x" * 81])
def test_what_cannot_be_a_name_is_refused_and_nothing_kept(store, name):
    with pytest.raises(NameRefused):
        store.add_reader(name)
    assert store.readers() == ()


def test_an_archived_reader_is_not_offered_but_keeps_name_and_records(store, reader):
    record = play(store, reader)
    store.archive_reader(reader)
    assert store.readers() == ()
    assert [kept.archived for kept in store.readers(include_archived=True)] == [True]
    with pytest.raises(NameRefused):
        store.add_reader("Anna")
    assert [kept.id for kept in store.records(reader)] == [record]
    store.archive_reader(reader, archived=False)
    assert [kept.name for kept in store.readers()] == ["Anna"]


def test_a_reader_can_be_renamed_but_not_to_another_readers_name(store, reader):
    other = store.add_reader("Ben").id
    store.rename_reader(reader, "ANNA")
    with pytest.raises(NameRefused):
        store.rename_reader(other, "anna")
    store.rename_reader(other, "Bea")
    assert [kept.name for kept in store.readers()] == ["ANNA", "Bea"]


def test_unknown_readers_and_rounds_are_named_in_the_message(store):
    with pytest.raises(StoreError, match="no reader 9"):
        store.begin(9, TERMS, NOON)
    with pytest.raises(StoreError, match="no reader 9"):
        store.rename_reader(9, "Anna")
    for ask in (store.record, store.discard, lambda n: store.append(n, Flip(0.0))):
        with pytest.raises(StoreError, match="no round 9"):
            ask(9)
    with pytest.raises(StoreError, match="no round 9"):
        store.finish(9, result(1))
    assert store.pending == 0


# Settings


@pytest.mark.parametrize("value", [None, False, 0, 0.1, "ハニホ", [1, [2]], {"a": {"b": None}}])
def test_a_setting_is_any_json_value(store, value, reopened):
    store.set_setting("key", "before")
    store.set_setting("key", value)
    with reopened() as again:
        assert again.get_setting("key", "default") == value


def test_a_reader_has_settings_apart_from_those_of_all(store, reader):
    store.set_setting("names", "german")
    store.set_setting("names", "letters", reader)
    assert store.get_setting("names") == "german"
    assert store.get_setting("names", None, reader) == "letters"
    assert store.get_setting("size", 3, reader) == 3


def test_a_number_that_is_not_finite_is_refused_in_settings_and_results(store, reader):
    store.set_setting("speed", 1.5)
    for value in (float("nan"), [float("inf")]):
        with pytest.raises(ValueError):
            store.set_setting("speed", value)
        with pytest.raises(ValueError):
            store.change_setting("speed", lambda _, value=value: value)
    record = store.begin(reader, TERMS, NOON)
    with pytest.raises(ValueError, match="finite"):
        store.finish(record, replace(result(1), median_s=float("nan")))
    assert store.get_setting("speed") == 1.5
    assert store.record(record).state is RoundState.OPEN


@pytest.mark.parametrize("before", [None, [0]])
def test_a_change_holds_no_other_copy_up_and_loses_nothing_of_it(store, stores_url, before):
    if before is not None:
        store.set_setting("list", before)
    found = []

    def slowly(kept):
        """Another copy changes the value while this one works."""
        found.append(kept)
        if len(found) <= 2:
            other.change_setting("list", lambda now: [*(now or []), len(found)])
        return [*(kept or []), "mine"]

    with Store.open(stores_url) as other:
        store.change_setting("list", slowly)
    assert store.get_setting("list") == [*(before or []), 1, 2, "mine"]
    assert len(found) == 3


# Rounds

TIMES = st.floats(allow_nan=False, allow_infinity=False)
EVENTS = st.lists(
    st.one_of(
        *(st.builds(kind, TIMES) for kind in (Flip, Pause, Resume, Tick, Stop)),
        st.builds(
            Press,
            TIMES,
            st.integers(0, 127),
            st.integers(1, 127),
            st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0")),
        ),
    ),
    max_size=12,
)


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(events=EVENTS)
def test_events_come_back_exactly_and_in_order(store, events: list[Event]):
    readers = store.readers()
    reader = readers[0].id if readers else store.add_reader("Anna").id
    record = store.begin(reader, TERMS, NOON)
    for event in events:
        assert store.append(record, event)
    assert store.record(record).events == tuple(events)


def test_a_keyboards_unstorable_name_does_not_lose_its_press(store, reader):
    record = store.begin(reader, TERMS, NOON)
    assert store.append(record, Press(0.5, 60, 64, "Piano\0 \udcff"))
    (event,) = store.record(record).events
    assert (event.t, event.key) == (0.5, 60)


def test_a_time_that_is_no_number_is_refused_and_blocks_nothing(store, reader):
    record = store.begin(reader, TERMS, NOON)
    with pytest.raises(ValueError, match="finite"):
        store.append(record, Flip(float("nan")))
    assert store.append(record, Flip(0.0))
    assert store.record(record).events == (Flip(0.0),)


@pytest.mark.parametrize(
    "terms", [TERMS, Terms("x", "", 2**62, 240, 60, 36, 96, 0.1)], ids=["counted", "timed"]
)
def test_a_round_comes_back_with_its_terms_and_result(store, reader, terms, reopened):
    record = store.begin(reader, terms, NOON)
    assert store.record(record).state is RoundState.OPEN
    assert store.record(record).result is None
    store.append(record, Flip(0.25))
    summary = replace(result(-12.5), median_s=None, tempo_per_min=None)
    store.finish(record, summary)
    with reopened() as again:
        kept = again.record(record)
    assert (kept.reader_id, kept.terms, kept.started) == (reader, terms, NOON)
    assert (kept.state, kept.result, kept.events) == (RoundState.FINISHED, summary, (Flip(0.25),))


def test_terms_of_a_newer_game_are_read_by_what_is_known_of_them():
    kept = terms_to_json(TERMS)
    assert terms_from_json(kept | {"metronome": 60}) == TERMS
    without_defaults = {k: kept[k] for k in ("level_id", "level_text", "seed", "prompts")}
    assert terms_from_json(without_defaults) == TERMS
    with pytest.raises(ValueError, match="seed"):
        terms_from_json({k: v for k, v in kept.items() if k != "seed"})


def test_unfinished_rounds_are_offered_until_finished_or_discarded(store, reader, reopened):
    ben = store.add_reader("Ben").id
    first = store.begin(reader, TERMS, minutes(0))
    second = store.begin(reader, TERMS, minutes(1))
    other = store.begin(ben, TERMS, minutes(2))
    store.append(first, Flip(0.0))
    with reopened() as again:
        offered = again.open_rounds(reader)
        assert [record.id for record in offered] == [second, first]
        assert offered[1].events == (Flip(0.0),)
        assert [record.id for record in again.open_rounds()] == [other, second, first]
        # It goes on where it was broken off.
        again.append(first, Press(1.0, 60))
        assert again.record(first).events == (Flip(0.0), Press(1.0, 60))
        again.finish(first, result(10))
        again.discard(second)
        assert again.open_rounds(reader) == ()
        assert again.record(second).state is RoundState.DISCARDED


def test_discarding_a_finished_round_leaves_it_finished(store, reader):
    record = play(store, reader)
    store.discard(record)
    assert store.record(record).state is RoundState.FINISHED


def test_history_is_newest_first_and_by_level(store, reader):
    other = replace(TERMS, level_id="bass")
    ids = [
        play(store, reader, at=minutes(n), terms=t) for n, t in ((2, TERMS), (3, other), (1, TERMS))
    ]
    store.begin(reader, TERMS, minutes(9))
    assert [kept.id for kept in store.records(reader)] == [ids[1], ids[0], ids[2]]
    assert [kept.id for kept in store.records(reader, limit=1)] == [ids[1]]
    assert [kept.id for kept in store.records(reader, "treble-lines")] == [ids[0], ids[2]]
    assert len(store.records(reader, state=None)) == 4


def test_times_are_kept_in_utc_and_need_a_zone(store, reader):
    tokyo = timezone(timedelta(hours=9))
    record = store.begin(reader, TERMS, datetime(2026, 3, 1, 21, 0, 0, 5, tokyo))
    assert store.record(record).started == NOON + timedelta(microseconds=5)
    assert store.record(record).started.tzinfo is UTC
    with pytest.raises(ValueError, match="zone"):
        store.begin(reader, TERMS, datetime(2026, 3, 1))


def test_the_figures_of_finished_rounds_come_oldest_first_as_they_were_kept(store, reader):
    later = play(store, reader, 40.0, minutes(9), passed=True)
    earlier = play(store, reader, -5.0, minutes(2), complete=False)
    play(store, store.add_reader("Ben").id)
    store.begin(reader, TERMS, NOON)  # still open
    store.discard(store.begin(reader, TERMS, NOON))
    figures = store.figures(reader)
    assert [one.id for one in figures] == [earlier, later]
    for one in figures:
        record = store.record(one.id)
        kept = record.result
        assert (one.started, one.level_id) == (record.started, record.terms.level_id)
        assert one.kind == record.terms.kind
        assert (one.score, one.accuracy, one.median_s) == (kept.score, kept.accuracy, kept.median_s)
        assert (one.tempo_per_min, one.slots, one.right) == (
            kept.tempo_per_min,
            kept.slots,
            kept.right,
        )
        assert (one.passed, one.complete) == (kept.passed, kept.complete)


# Bests


def test_a_best_must_be_beaten_so_of_equals_the_earlier_one_stays(store, reader):
    assert store.best(reader, TERMS.level_id, TERMS.kind) is None
    late = play(store, reader, 40.0, minutes(5))
    early = play(store, reader, 40.0, minutes(4))  # entered later, played earlier
    same = play(store, reader, 40.0, minutes(4))
    best = store.best(reader, TERMS.level_id, TERMS.kind)
    assert (best.record_id, best.score, best.when) == (early, 40.0, minutes(4))
    higher = play(store, reader, 40.000001, minutes(6))
    assert store.best(reader, TERMS.level_id, TERMS.kind).record_id == higher
    assert len({late, early, same, higher}) == 4


def test_bests_below_zero_still_compare(store, reader):
    play(store, reader, -30.0, minutes(0))
    better = play(store, reader, -10.0, minutes(1))
    assert store.best(reader, TERMS.level_id, TERMS.kind).record_id == better


def test_only_complete_finished_rounds_of_the_same_reader_level_and_kind_compete(store, reader):
    mine = play(store, reader, 10.0)
    play(store, store.add_reader("Ben").id, 90.0)
    play(store, reader, 90.0, complete=False)
    timed = play(store, reader, 20.0, terms=replace(TERMS, seconds=60))
    bass = play(store, reader, 30.0, terms=replace(TERMS, level_id="bass"))
    store.begin(reader, TERMS, NOON)
    bests = store.bests(reader)
    assert {place: best.record_id for place, best in bests.items()} == {
        ("treble-lines", "counted:24"): mine,
        ("treble-lines", "timed:60"): timed,
        ("bass", "counted:24"): bass,
    }
    for (level, kind), best in bests.items():
        assert store.best(reader, level, kind) == best


def test_days_on_which_a_level_was_passed_are_the_readers_own_days(store, reader):
    for hour in (1, 14, 16):
        play(store, reader, at=datetime(2026, 3, 1, hour, tzinfo=UTC), passed=True)
    play(store, reader, at=datetime(2026, 3, 5, tzinfo=UTC), passed=False)
    assert store.pass_days(reader, UTC) == {"treble-lines": 1}
    # 16:00 UTC is the next morning in Tokyo.
    assert store.pass_days(reader, timezone(timedelta(hours=9))) == {"treble-lines": 2}
    assert store.pass_days(reader + 1) == {}
