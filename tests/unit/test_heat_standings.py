# SPDX-License-Identifier: MIT
"""Who came where, and what of it is shown: tables worked by hand."""

from __future__ import annotations

import numpy as np
import pytest
from builders import level_text
from heat_builders import after, answered, keys_of, merged, setup_of
from heat_report_builders import IN_TIME, shipped_setup
from hypothesis import given
from hypothesis import strategies as st

from game.heats import (
    Disqualify,
    Redo,
    Seat,
    SeatFlip,
    SeatOutcome,
    SeatPress,
    Shows,
    Standing,
    Standings,
    Start,
    begin,
    change,
    reading_of,
    reading_of_class,
    shown,
    standings_of,
)
from game.heats.standings import ranked, spread_of
from game.notation import Clef
from game.reader import Misread, ReadingItem
from game.rounds import Score, Stop, Tick

OUT, ABSENT = SeatOutcome.DISQUALIFIED, SeatOutcome.DID_NOT_PLAY


def row(
    seat: int,
    points: float,
    accuracy: float = 1.0,
    median_s: float | None = 1.0,
    outcome: SeatOutcome = SeatOutcome.PLACED,
    member: str | None = None,
) -> Standing:
    """A result of ten slots."""
    score = Score(max(0, points / 10), points / 10, accuracy, median_s, 30.0, 10, 9, 20.0)
    return Standing(Seat(seat, member=member), outcome, None, points, score)


def places(*rows: Standing) -> list[tuple[int, int | None]]:
    return [(row.seat.number, row.place) for row in ranked(rows)]


def standings(*rows: Standing, level: str = "a", kind: str = "counted:10") -> Standings:
    return Standings(level, kind, ranked(rows))


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([row(1, 500), row(2, 700), row(3, 600)], [(2, 1), (3, 2), (1, 3)]),
        # equal points: the more accurate; then the faster; then one place, and the next left out
        ([row(1, 500, 0.8), row(2, 500, 0.9)], [(2, 1), (1, 2)]),
        ([row(1, 500, 0.9, 1.5), row(2, 500, 0.9, 1.2)], [(2, 1), (1, 2)]),
        (
            [row(1, 500), row(2, 500), row(3, 900), row(4, 100)],
            [(3, 1), (1, 2), (2, 2), (4, 4)],
        ),
        ([row(1, 500), row(2, 500), row(3, 500)], [(1, 1), (2, 1), (3, 1)]),
        # accuracy breaks a tie before speed does
        ([row(1, 500, 0.9, 0.5), row(2, 500, 1.0, 3.0)], [(2, 1), (1, 2)]),
        # nobody answered right: no median time comes after any
        ([row(1, 0, 0, None), row(2, 0, 0, 2.0), row(3, -1, 0, None)], [(2, 1), (1, 2), (3, 2)]),
        # whoever reads on and misses more is not behind one who stopped at the first wrong note
        ([row(1, -79, 0.0, None), row(2, -155, 0.3, 2.0)], [(2, 1), (1, 2)]),
        ([row(1, -79, 0.3, 1.0), row(2, -155, 0.3, 1.0), row(3, 1, 0.1)], [(3, 1), (1, 2), (2, 2)]),
        # the last digits of a clock decide nothing
        ([row(2, 500 + 1e-9), row(1, 500, 1.0, 1 + 1e-9)], [(1, 1), (2, 1)]),
        (
            [row(1, 900, outcome=OUT), row(2, 1), row(3, 0, outcome=ABSENT)],
            [(2, 1), (1, None), (3, None)],
        ),
        ([row(1, 5, outcome=SeatOutcome.DISQUALIFIED)], [(1, None)]),
        ([], []),
    ],
)  # fmt: skip
def test_places_by_the_tie_rule(rows, expected):
    assert places(*rows) == expected


@given(st.lists(st.sampled_from([100.0, 200.0, 300.0]), max_size=12))
def test_a_place_is_one_more_than_the_number_of_those_who_are_better(points):
    for standing in ranked(row(n, p) for n, p in enumerate(points, 1)):
        assert standing.place == 1 + sum(p > standing.points for p in points)


def test_points_are_the_sum_and_a_timed_heat_is_not_won_by_stopping_early():
    heat = after(begin(setup_of(2, seconds=12)), Start(0.0))
    quick, steady = answered(heat, 1, 0.6), answered(heat, 2, *[1.2] * 9)
    heat = after(heat, *merged(quick, steady), Tick(12.0))
    first, second = standings_of(heat).rows
    # limit 6 s. Seat 1: 90 points and nothing more. Seat 2: nine times 80.
    assert (first.seat.number, first.points) == (2, pytest.approx(9 * 80))
    assert (second.seat.number, second.points) == (1, pytest.approx(90))
    assert second.score.mean_points > first.score.mean_points


def test_standings_while_it_runs_and_who_has_no_place():
    heat = after(begin(setup_of(4, prompts=2)), Start(0.0))
    heat = after(heat, *answered(heat, 1, 1.0), *answered(heat, 2, 2.0), Disqualify(3.0, 2))
    live = standings_of(heat)
    assert [(r.seat.number, r.place, r.outcome.value) for r in live.rows] == [
        (1, 1, "placed"),
        (2, None, "disqualified"),
        (3, None, "did not play"),
        (4, None, "did not play"),
    ]
    assert live.total == live.of(1).points
    ended = standings_of(after(heat, Stop(4.0)))
    assert [r.place for r in ended.rows] == [1, None, None, None]


def test_a_try_that_was_redone_does_not_count_and_is_told():
    heat = after(begin(setup_of(1, prompts=2)), Start(0.0))
    heat = after(heat, *answered(heat, 1, 1.0, 1.0), Redo(5.0, 1))
    assert standings_of(heat).rows[0].outcome is SeatOutcome.DID_NOT_PLAY
    heat = after(heat, Start(6.0))
    heat = after(heat, *answered(heat, 1, 3.0, 3.0, start=6.0))
    only = standings_of(heat).rows[0]
    assert (only.points, only.redone) == (pytest.approx(100.0), 1)  # twice 100 (1 - 3/6)


def reading_on(heat, number: int, right: int, wrong: int):
    """So many right answers of a second, then wrong ones at half of it."""
    count = right + wrong
    return answered(heat, number, *[1.0] * count, off=range(right, count))


def test_nobody_stands_higher_for_having_stopped():
    heat = after(begin(setup_of(3, seconds=20)), Start(0.0))
    one, more, most = (
        reading_on(heat, 1, 0, 1),
        reading_on(heat, 2, 2, 4),
        reading_on(heat, 3, 1, 9),
    )
    found = standings_of(after(heat, *merged(one, more, most), Tick(20.0)))
    sums = [row.sum_points for row in found.rows]
    assert [row.seat.number for row in found.rows] == [2, 3, 1]
    assert all(total < 0 for total in sums) and sums != sorted(sums, reverse=True)
    assert [row.place for row in found.rows] == [1, 2, 3]


def test_nothing_is_below_0_of_a_reader_or_of_the_class():
    heat = after(begin(setup_of(2, seconds=20)), Start(0.0))
    good, bad = reading_on(heat, 1, 6, 0), reading_on(heat, 2, 0, 6)
    found = standings_of(after(heat, *merged(good, bad), Tick(20.0)))
    first, last = found.rows
    assert first.score.mean_points > 0 > last.score.mean_points
    assert (last.points, found.total) == (0, first.points)
    assert found.mean == pytest.approx(first.score.mean_points / 2)
    assert (found.spread.low, found.spread.high) == (0, first.score.score)
    assert shown(found, Shows.CLASS, best=-12.0).best == 0  # of a heat that was kept long ago
    assert all(value["points"] >= 0 <= value["score"] for value in found.to_json())


def test_who_pressed_nothing_has_no_place_and_is_not_in_the_mean():
    heat = after(begin(setup_of(3, seconds=20)), Start(0.0))
    played = answered(heat, 1, *[1.0] * 4)
    shown_only = [SeatFlip(0.0, 2)]  # longer than the limit: its slot counts, as not answered
    late = [SeatFlip(0.0, 3), SeatPress(9.0, 3, keys_of(heat, 3)[0] + 1)]
    found = standings_of(after(heat, *merged(played, shown_only, late), Tick(20.0)))
    assert found.of(2).score.slots == 1
    assert [(row.seat.number, row.place, row.outcome) for row in found.rows] == [
        (1, 1, SeatOutcome.PLACED), (3, 2, SeatOutcome.PLACED), (2, None, ABSENT),
    ]  # fmt: skip
    assert found.mean == pytest.approx(found.of(1).score.score / 2)


def test_who_pressed_nothing_in_time_has_no_place_either():
    setup = shipped_setup(IN_TIME, ("Ada", "Bo"), prompts=1)
    heat = after(begin(setup), Start(0.0), SeatFlip(0.0, 1), SeatFlip(0.0, 2))
    end = heat.chair(1).round.phrase_end
    found = standings_of(after(heat, SeatPress(end - 0.1, 2, 30), Tick(end + 1)))
    assert found.of(1).score.slots > 0
    assert [(row.seat.number, row.place) for row in found.rows] == [(2, 1), (1, None)]


def test_a_heat_without_anybody_has_no_mean():
    empty = standings_of(begin(setup_of(2)))
    assert (empty.total, empty.mean, empty.spread, empty.placed) == (0, None, None, ())


@given(st.lists(st.floats(-100, 100), min_size=1, max_size=40))
def test_quartiles_are_those_of_numpy(scores):
    # numpy's default method is "linear", Hyndman & Fan's definition 7 (numpy.percentile's manual).
    found = spread_of(scores)
    values = (found.low, found.quarter, found.median, found.three_quarters, found.high)
    assert values == pytest.approx(np.percentile(scores, [0, 25, 50, 75, 100]), abs=1e-9)


# Change


def test_the_change_is_of_those_who_played_in_both():
    now = standings(row(1, 600, member="mia"), row(2, 500, member="tom"), row(3, 900))
    before = standings(
        row(7, 400, member="mia"), row(2, 900, member="eva"), row(3, 100),
        row(4, 100, member="tom", outcome=SeatOutcome.DISQUALIFIED),
    )  # fmt: skip
    found = change(now, before)
    assert found.each == {"mia": pytest.approx(20.0)}  # scores 60 and 40
    assert found.mean == pytest.approx(20.0)


def test_a_change_from_below_0_counts_from_0():
    now, before = standings(row(1, 300, member="mia")), standings(row(1, -500, member="mia"))
    assert change(now, before).mean == pytest.approx(30.0)
    assert change(before, before).mean == 0


def test_other_levels_and_lengths_do_not_compare():
    now = standings(row(1, 600, member="mia"))
    assert change(now, standings(row(1, 1, member="mia"), level="b")) is None
    assert change(now, standings(row(1, 1, member="mia"), kind="timed:60")) is None
    assert change(now, standings(row(1, 1))).mean is None


# What a projector shows


FIVE = standings(
    row(1, 500), row(2, 900), row(3, 500), row(4, 500), row(5, 100),
    row(6, 999, outcome=SeatOutcome.DISQUALIFIED), row(7, 0, outcome=SeatOutcome.DID_NOT_PLAY),
)  # fmt: skip


def test_all_shows_every_place_and_nobody_without_one():
    view = shown(FIVE, Shows.ALL, best=99.0)
    assert [r.seat.number for r in view.rows] == [2, 1, 3, 4, 5]
    assert (view.total, view.mean, view.best) == (2500, None, None)


def test_the_podium_shows_places_one_to_three_and_the_total():
    view = shown(FIVE, Shows.PODIUM)
    assert [(r.seat.number, r.place) for r in view.rows] == [(2, 1), (1, 2), (3, 2), (4, 2)]
    assert view.total == 2500


def test_the_class_against_its_own_best_shows_no_reader():
    view = shown(FIVE, Shows.CLASS, best=48.0)
    assert (view.rows, view.total) == ((), None)
    assert (view.mean, view.best) == (pytest.approx(50.0), 48.0)


# What was misread


def test_the_signs_missed_most_and_the_kinds_of_misread_of_a_class():
    # Two places; everybody takes D5 for D4, once, and reads F4 right.
    heat = after(
        begin(setup_of(3, text=level_text('treble = ["F4", "D5"]'), prompts=4)), Start(0.0)
    )
    events = []
    for number in (1, 2, 3):
        t, wrong = 0.0, False
        for key in keys_of(heat, number):
            events.append(SeatFlip(t, number))
            if key == 74 and not wrong:
                events.append(SeatPress(t + 1.0, number, 62))
                wrong = True
            t += 2.0
            events.append(SeatPress(t, number, key))
    heat = after(heat, *sorted(events, key=lambda event: event.t), Disqualify(20.0, 3))
    reading = reading_of_class(heat)
    d5, f4 = ReadingItem(Clef.TREBLE, 6), ReadingItem(Clef.TREBLE, 1)
    assert reading.missed == {d5: 2}
    assert reading.seen[d5] == reading.seen[f4] == 4
    assert reading.kinds() == ((Misread.OCTAVE, 2),)
    alone = reading_of(heat.chair(1).round)
    assert (alone.missed[d5], alone.missed[f4], alone.seen[d5]) == (1, 0, 2)


def test_nothing_played_is_nothing_misread():
    reading = reading_of_class(begin(setup_of(2)))
    assert (reading.missed, reading.kinds()) == ({}, ())
