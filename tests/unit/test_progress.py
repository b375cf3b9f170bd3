# SPDX-License-Identifier: MIT
"""How a reader gets on, worked out for readers with much, little or odd things to show."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from random import Random

import pytest
from builders import bar_of, key, shipped
from hypothesis import given
from hypothesis import strategies as st
from progress_builders import practised, read_round

from game.levels import deal
from game.notation import GRAND_STAFF, Clef, ledger_lines
from game.reader import (
    DAY_S,
    PRACTICE_ID,
    Band,
    Misread,
    Profile,
    ReadingItem,
    Source,
    asked_places,
    progress,
)
from game.reader.progress import (
    BANDS,
    EACH_ROUND,
    MOST_POINTS,
    Days,
    band_of,
    days_of,
    tempo_over,
)
from game.rounds import Event, Flip, Press, Round, Stop, Terms, play
from game.session.profiles import profile_of, progress_of
from game.store import ResultSummary, Store

NOW = datetime(2026, 3, 20, 18, 0, tzinfo=UTC)
TODAY = NOW.toordinal()
ASKED = asked_places(shipped())


def seen(profile: Profile, now: datetime = NOW):
    return progress(profile, [], ASKED, now.timestamp(), now.toordinal())


def after(profile: Profile, spelling: str, *pressed: str, at: datetime = NOW) -> Profile:
    """After one note answered by these keys, a second apart, the right one at the end."""
    prompt = bar_of(spelling)
    presses: list[Event] = [Press(1.0 + n, key(one)) for n, one in enumerate(pressed)]
    ended = play(Round((prompt,), 8.0), [Flip(0.0), *presses, Stop(60.0)])
    return profile.after(prompt, ended.results[0], at.timestamp()).profile


# Places


def test_every_place_that_a_level_of_the_ladder_shows_is_on_the_page():
    for rung in shipped().rungs:
        for prompt in deal(rung.level, 3, 30):
            for note in prompt.notes:
                if note.id not in prompt.hidden and abs(ledger_lines(note.position)) <= 4:
                    assert (note.clef, note.position) in ASKED, (rung.level.id, note)


def test_the_whole_of_both_staves_is_asked_for():
    for clef in GRAND_STAFF:
        assert {place for of, place in ASKED if of is clef} >= set(range(9))


def test_a_reader_with_nothing_has_every_place_unread_and_no_figure():
    found = seen(Profile())
    assert {(p.clef, p.position) for p in found.places} == ASKED
    assert {place.band for place in found.places} == {Band.UNREAD}
    assert {known.certainty for known in found.sources} == {None}
    assert (found.signs, found.misreads, found.tempo.points) == ((), (), ())
    assert found.days == Days()
    assert set(found.counting.values()) == {None}


def test_three_presses_are_shown_and_said_to_be_few():
    profile = Profile()
    for spelling in ("E4", "G4", "B4"):
        profile = after(profile, spelling, spelling)
    found = seen(profile)
    read = [place for place in found.places if place.band is not Band.UNREAD]
    assert [place.position for place in read] == [0, 2, 4]
    for place in read:
        assert place.few
        sure = place.estimate.certainty
        assert sure.high - sure.low > 0.25


def test_one_who_only_errs_is_told_so_without_a_figure_that_cannot_be():
    profile = Profile()
    for _ in range(12):
        for spelling, pressed in (("E4", "E5"), ("G4", "G3"), ("B4", "B5")):
            profile = after(profile, spelling, pressed)
    found = seen(profile)
    read = [place for place in found.places if place.estimate is not None]
    assert {place.band for place in read} == {Band.SHAKY}
    assert not any(place.few for place in read)
    for place in read:
        sure = place.estimate.certainty
        assert 0 < sure.low < sure.mean < sure.high < 0.5
    [octave] = found.misreads
    assert (octave.kind, octave.share) == (Misread.OCTAVE, pytest.approx(1.0, abs=0.2))
    assert octave.example.shown.spelling == "B4"
    assert all(known.time_s is None for known in found.sources)


def test_what_was_read_long_ago_rests_on_few_answers_again():
    profile = Profile()
    for _ in range(20):
        profile = after(profile, "G4", "G4")
    place = next(p for p in seen(profile).places if p.estimate is not None)
    assert not place.few
    later = NOW + timedelta(days=120)
    place = next(p for p in seen(profile, later).places if p.estimate is not None)
    assert place.few


def test_a_place_is_told_by_its_plain_note_where_that_was_met():
    profile = after(Profile(), "G#4", "G#4")
    sharp = ReadingItem(Clef.TREBLE, 2, Source.PRINTED)
    [place] = [p for p in seen(profile).places if p.estimate is not None]
    assert place.sign == sharp
    for _ in range(5):
        profile = after(profile, "G#4", "G#4")
    profile = after(profile, "G4", "G4")
    found = seen(profile)
    [place] = [p for p in found.places if p.estimate is not None]
    assert place.sign == ReadingItem(Clef.TREBLE, 2)
    assert place.estimate == profile.knowledge.estimate(place.sign, NOW.timestamp())
    answers = {known.source: known.answers for known in found.sources}
    assert answers[Source.PRINTED] > answers[Source.NONE] > answers[Source.HELD] == 0


def test_a_place_beyond_four_ledger_lines_is_shown_once_it_was_met():
    profile = after(Profile(), "C8", "C8")
    assert (Clef.TREBLE, 26) not in ASKED
    assert (Clef.TREBLE, 26) in {(p.clef, p.position) for p in seen(profile).places}


def test_places_come_from_low_to_high_treble_first():
    places = [(p.clef is Clef.BASS, p.position) for p in seen(Profile()).places]
    assert places == sorted(places)


@given(st.floats(0, 1))
def test_a_surer_place_is_never_in_a_lower_band(certainty):
    order = [band for _, band in reversed(BANDS)]
    assert order.index(band_of(certainty)) >= order.index(band_of(certainty * 0.9))


# Days


@pytest.mark.parametrize(
    ("ago", "lately", "run"),
    [
        ([0], 1, 1),
        ([1], 1, 1),  # today is still open
        ([2], 1, 0),
        ([0, 1, 2, 4], 4, 3),
        ([0, 2, 4, 6], 4, 1),
        ([0, 7], 1, 1),
        ([1, 2, 3, 4, 5, 6, 7, 8], 6, 8),
        ([30], 0, 0),
        ([], 0, 0),
    ],
)
def test_days_are_counted_as_the_calendar_has_them(ago, lately, run):
    days = days_of([TODAY - n for n in ago for _ in range(3)], TODAY)
    assert (days.total, days.lately, days.run) == (len(ago), lately, run)


def test_days_that_the_clock_has_not_reached_are_left_out():
    days = days_of([TODAY - 1, TODAY, TODAY + 400], TODAY)
    assert (days.total, days.lately, days.run, days.last) == (2, 2, 2, TODAY)


# Tempo


def test_few_rounds_are_shown_one_by_one_in_their_order():
    rounds = [(TODAY, 20.0 + n) for n in range(EACH_ROUND)]
    tempo = tempo_over(rounds, TODAY)
    assert tempo.days == 0
    assert [point.median for point in tempo.points] == [t for _, t in rounds]


def test_more_rounds_are_gathered_by_the_day_with_their_spread():
    rounds = [(TODAY - n // 4, 20.0 + n % 4) for n in reversed(range(40))]
    tempo = tempo_over(rounds, TODAY)
    assert tempo.days == 1
    assert [point.day for point in tempo.points] == [TODAY - n for n in reversed(range(10))]
    assert {(p.rounds, p.low, p.median, p.high) for p in tempo.points} == {(4, 20.0, 21.5, 23.0)}


@given(st.lists(st.tuples(st.integers(-9000, 900), st.floats(0, 120)), min_size=1, max_size=400))
def test_no_history_makes_too_many_points_and_none_lies_in_the_future(rounds):
    dated = [(TODAY + day, tempo) for day, tempo in rounds]
    tempo = tempo_over(dated, TODAY)
    assert len(tempo.points) <= MOST_POINTS
    assert all(point.day <= TODAY for point in tempo.points)
    assert sum(point.rounds for point in tempo.points) == len(rounds)
    if tempo.days:
        assert [p.day for p in tempo.points] == sorted({p.day for p in tempo.points})
    for point in tempo.points:
        assert point.low <= point.median <= point.high


# From the store


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    with Store.open(tmp_path_factory.mktemp("progress") / "store.db") as opened:
        yield opened


@pytest.fixture(scope="module")
def reader(store):
    reader = store.add_reader("Anna").id
    practised(store, reader, NOW - timedelta(days=24), days=25)
    return reader


def test_a_reader_of_some_weeks_has_everything_to_show(store, reader):
    found = progress_of(store, reader, profile_of(store, reader), shipped(), NOW, UTC)
    figures = store.figures(reader)
    assert found.rounds == len(figures)
    assert found.days.total == len({one.started.date() for one in figures})
    assert found.tempo.days == 1
    assert len(found.tempo.points) == found.days.total
    assert len(found.slopes[Clef.TREBLE]) > 3
    assert found.slopes[Clef.TREBLE][-1][1] == found.counting[Clef.TREBLE]
    assert sum(one.share for one in found.misreads) <= 1 + 1e-9
    assert all(one.example is not None for one in found.misreads[:3])
    assert {place.band for place in found.places} > {Band.UNREAD, Band.GOOD}


def test_days_are_those_of_the_readers_own_zone(store):
    reader = store.add_reader("Night owl").id
    late = datetime(2026, 3, 19, 23, 30, tzinfo=UTC)
    level = shipped().rungs[0].level
    profile = read_round(store, reader, Profile(), level, late, Random(1))
    at_home = progress_of(store, reader, profile, shipped(), NOW, UTC)
    eastward = progress_of(store, reader, profile, shipped(), NOW, timezone(timedelta(hours=2)))
    assert at_home.days.last == TODAY - 1
    assert eastward.days.last == TODAY


def test_music_in_time_has_no_reading_tempo_of_the_readers_own(store):
    reader = store.add_reader("Metronome").id
    level = next(rung.level for rung in shipped().rungs if rung.level.time is not None)
    easy = shipped().rungs[0].level
    rng = Random(2)
    profile = read_round(store, reader, Profile(), easy, NOW, rng)
    store.finish(
        store.begin(reader, _terms(level.id), NOW),
        _summary(tempo=60.0),
    )
    found = progress_of(store, reader, profile, shipped(), NOW, UTC)
    assert found.rounds == 2
    assert len(found.tempo.points) == 1


def test_a_clock_set_back_between_sessions_leaves_a_page_of_today(store):
    reader, rng = store.add_reader("Time traveller").id, Random(3)
    level = shipped().find("treble-staff").level
    profile = Profile()
    for days in (400, 401, 402, -2, -1, 0):  # the first three under a clock that ran ahead
        at = NOW + timedelta(days=days)
        profile = read_round(store, reader, profile, level, at, rng, prompts=24)
    found = progress_of(store, reader, profile, shipped(), NOW, UTC)
    assert found.slopes[Clef.TREBLE]
    assert found.days.lately == found.days.run == 3
    assert all(point.day <= TODAY for point in found.tempo.points)
    for history in found.slopes.values():
        dates = [at for at, _ in history]
        assert dates == sorted(dates)
        assert all(at <= NOW.timestamp() for at in dates)
    for place in found.places:
        if place.estimate is not None:
            assert place.estimate.due <= NOW.timestamp() + 366 * DAY_S


@pytest.mark.parametrize(("level_id", "misses"), [(PRACTICE_ID, None), ("treble-staff", 3)])
def test_the_tempo_over_time_is_of_level_rounds_that_compare(store, level_id, misses):
    reader = store.add_reader(f"Reads {level_id} otherwise").id
    for terms, tempo in (
        (_terms("treble-staff"), 30.0),
        (Terms(level_id, "text", seed=1, prompts=4, misses=misses), 90.0),
    ):
        store.finish(store.begin(reader, terms, NOW), _summary(tempo=tempo))
    found = progress_of(store, reader, Profile(), shipped(), NOW, UTC)
    assert [point.median for point in found.tempo.points] == [30.0]
    assert found.rounds == 2


def test_after_the_clock_was_set_back_the_round_read_last_is_still_the_last(store):
    reader = store.add_reader("Clock set back").id
    for days, tempo in ((300, 41.0), (0, 59.0)):
        at = NOW + timedelta(days=days)
        store.finish(store.begin(reader, _terms("treble-staff"), at), _summary(tempo=tempo))
    found = progress_of(store, reader, Profile(), shipped(), NOW, UTC)
    assert [point.median for point in found.tempo.points] == [41.0, 59.0]


@pytest.mark.parametrize("year", [1, 9999])
def test_a_clock_at_the_end_of_the_calendar_does_no_harm(store, year):
    reader = store.add_reader(f"In the year {year}").id
    edge = datetime(year, 1, 1, tzinfo=UTC) if year == 1 else datetime(year, 12, 31, 23, tzinfo=UTC)
    store.finish(store.begin(reader, _terms("treble-staff"), edge), _summary(tempo=30.0))
    for hours in (-12, 12):
        zone = timezone(timedelta(hours=hours))
        found = progress_of(store, reader, Profile(), shipped(), NOW, zone)
        assert found.rounds == len(found.tempo.points) == 1
        assert found.days.lately == 0


def _terms(level_id: str):
    return Terms(level_id, "text", seed=1, prompts=4)


def _summary(tempo: float):
    return ResultSummary(50.0, 50.0, 0.5, 1.0, tempo, 4, 2)
