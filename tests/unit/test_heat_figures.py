# SPDX-License-Identifier: MIT
"""What is reported of a heat, in figures, in words and as a table."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from statistics import fmean

import pytest
from builders import level_text
from heat_builders import answered, keys_of, merged, setup_of
from heat_report_builders import LONG, NAMES, alike, heats, nobody_answers, robots, seats, told

from game.heats import End, Heat, Redo, SeatFlip, SeatPress, Start, begin, play
from game.heats.standings import SeatOutcome, Shows
from game.notation import Clef
from game.paper import heat_slip_words as slip
from game.paper import heat_words as words
from game.paper.heat_csv import COLUMNS, results_csv
from game.paper.heat_figures import heat_figures
from game.paper.heat_words import FileCheck
from game.reader import Misread


@pytest.fixture(scope="module")
def edges() -> dict[str, Heat]:
    return heats()


def row_of(found, number: int):
    return next(one for one in found.seats if one.row.seat.number == number)


def table(page: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(page.decode("utf-8-sig"), newline="")))


# Signs and misreads


def stepped(number: int, start: float = 0.0, wrong: int = 1) -> Heat:
    """A heat of one in which the first `wrong` answers are a white key too high."""
    setup = setup_of(seats(("Ada",)), prompts=number)
    heat = begin(setup)
    events: list = [Start(start)]
    t = start
    for nth, key in enumerate(keys_of(heat, 1)):
        events.append(SeatFlip(t, 1))
        if nth < wrong:
            up = {60: 62, 62: 64, 64: 65, 65: 67, 67: 69}[key]  # C4 to G4, the key next door
            events.append(SeatPress(t + 1.0, 1, up))
        events.append(SeatPress(t + 2.0, 1, key))
        t += 2.0
    return play(setup, [*events, End(t + 1)])


def test_the_signs_that_were_missed_are_counted_where_they_stand():
    heat = stepped(12, wrong=3)
    found = heat_figures(heat)
    notes = [slot.notes[0] for prompt in heat.chair(1).form for slot in prompt.slots]
    for note in notes:
        missed = sum(other.position == note.position for other in notes[:3])
        asked = sum(other.position == note.position for other in notes)
        assert found.places[Clef.TREBLE, note.position] == (missed, asked)
    assert sum(missed for missed, _ in found.places.values()) == 3
    assert found.met[0].missed > 0
    assert [one.missed for one in found.met] == sorted((m.missed for m in found.met), reverse=True)
    assert dict(found.misreads)[Misread.STEP] == 3
    # The engraved example is that very note, alone.
    first = found.met[0]
    [alone] = first.prompt.notes
    assert (alone.pitch, alone.position) == (first.pitch, first.sign.position)


def test_a_slip_names_missed_signs_first_then_slow_ones_and_never_more_than_three():
    [seat] = heat_figures(stepped(12, wrong=1)).seats
    assert len(seat.again) <= 3
    assert seat.again[0].missed == 1
    assert all(one.missed or one.usual_s > seat.row.score.median_s for one in seat.again)
    setup = setup_of(seats(("Ada",)), prompts=10)
    heat = begin(setup)
    times = [1.0] * 9 + [4.0]
    slow = keys_of(heat, 1)[9]
    played = play(setup, [Start(0.0), *answered(heat, 1, *times), End(60.0)])
    [seat] = heat_figures(played).seats
    if keys_of(heat, 1).count(slow) == 1:
        assert [one.pitch.key for one in seat.again] == [slow]
    assert slip.tip(seat) == "Not one wrong key!"


def test_a_note_under_a_signature_is_engraved_with_what_altered_it():
    text = level_text('treble = ["F4", "C5"]\nsignatures = [3]')
    setup = setup_of(seats(("Ada",)), text=text, prompts=2)
    heat = begin(setup)
    events = answered(heat, 1, 1.0, 1.0)
    [seat] = heat_figures(play(setup, [Start(0.0), *events, End(9.0)])).seats
    assert {words.sign_name(met, told(heat).names) for met in seat.met} == {"F♯4", "C♯5"}
    for met in seat.met:
        assert met.prompt.signature.fifths == 3
        assert met.prompt.notes[0].sign is None


def test_disqualified_seats_are_in_no_figure_of_the_class(edges):
    found = heat_figures(edges["all disqualified"])
    assert found.places == {}
    assert found.misreads == ()
    assert [*words.class_lines(told(edges["all disqualified"]))] == [words.NOTHING_COUNTS]
    assert {one.row.outcome for one in found.seats} == {SeatOutcome.DISQUALIFIED}
    assert any(one.met for one in found.seats), "their own slips still have their signs"


# The class


def test_the_class_total_is_the_sum_of_all_that_count(edges):
    told_of = told(edges["any script"])
    standings = told_of.figures.standings
    total = sum(
        max(0, sum(result.points for result in chair.round.results))
        for chair in edges["any script"].chairs
    )
    assert standings.total == pytest.approx(total)
    assert f"{words.points(total)} points" in next(words.class_lines(told_of))


def test_readers_who_are_equal_share_a_place_and_the_next_is_left_out():
    found = heat_figures(alike())
    cells = [words.row(one, one.row.seat.title)[:2] for one in found.seats]
    assert cells == [("1", "Ada"), ("2 =", "Bo"), ("2 =", "Cy"), ("4", "Di")]


@pytest.mark.parametrize(
    ("shows", "names"),
    [(Shows.ALL, "Ada Bo Cy Di"), (Shows.PODIUM, "Ada Bo Cy"), (Shows.CLASS, "")],
)
def test_who_is_listed_is_as_the_setting_says(shows, names):
    found = words.listed(heat_figures(alike()), shows)
    assert " ".join(one.row.seat.name for one in found) == names


def test_nobody_is_named_as_out_where_not_all_are_listed(edges):
    figures = heat_figures(edges["all disqualified"])
    assert [*words.left_out(figures, Shows.ALL)] == ["Not counted: Ada, Bo, Seat 3."]
    assert [*words.left_out(figures, Shows.PODIUM)] == []
    broken = told(edges["one seat"], checked=FileCheck("", ("seat 1: place 2 is now 1",)))
    assert any("Seat 1" in line for line in words.warnings(broken, Shows.ALL))
    assert not any("eat 1" in line for line in words.warnings(broken, Shows.CLASS))
    assert words.BROKEN in words.warnings(broken, Shows.CLASS)


def test_a_heat_that_nobody_answered_has_no_places_slips_or_signs():
    found = told(nobody_answers())
    assert [one.row.place for one in found.figures.seats] == [None, None, None]
    assert [one.row.score.slots for one in found.figures.seats] == [1, 1, 1]
    assert found.figures.places == {}
    assert found.figures.played == ()
    assert [*words.class_lines(found)] == [words.NOTHING_COUNTS]
    assert dict(words.facts(found))["Seats"] == "0 counted, 3 did not play"


def test_a_reader_below_0_is_at_0_in_every_table_and_on_the_slip():
    setup = setup_of(seats(("Ada", "Bo")), prompts=4)
    heat = begin(setup)
    right = answered(heat, 1, *[1.0] * 4)
    wrong = answered(heat, 2, *[1.0] * 4, off=range(4))
    found = told(play(setup, [Start(0.0), *merged(right, wrong), End(60.0)]))
    ada, bo = found.figures.seats
    assert bo.row.sum_points < 0
    assert words.row(bo, "Bo")[2:4] == ("0.0", "0.0")
    assert [much for _, much, _ in slip.figures(bo, found.level)][:2] == ["0.0", "0 of 4"]
    rows = table(results_csv(found))
    assert [float(row["points"]) for row in rows] == [pytest.approx(ada.row.points, abs=1e-4), 0]
    assert float(rows[1]["score"]) == 0
    lines = " ".join(words.class_lines(found))
    assert "-" not in lines and "−" not in lines
    assert f"Class total: {words.points(ada.row.points)} points of 2 readers" in lines
    assert f"the mean of their scores is {words.points(ada.row.score.score / 2)}" in lines


def test_of_one_right_note_no_half_is_told():
    [seat] = heat_figures(stepped(2, wrong=1)).seats
    said = " ".join(means for _, _, means in slip.figures(seat, told(stepped(2, wrong=1)).level))
    assert seat.row.score.right == 1
    assert "your one right note" in said and "half of" not in said
    both = stepped(2, wrong=0)
    [seat] = heat_figures(both).seats
    assert "half of" in " ".join(means for _, _, means in slip.figures(seat, told(both).level))


def test_a_try_that_was_done_again_counts_once_and_says_so():
    setup = setup_of(seats(("Ada",)), prompts=2)
    heat = begin(setup)
    first = [Start(0.0), *answered(heat, 1, 1.0, 1.0), Redo(5.0, 1), Start(6.0)]
    now = play(setup, first)
    second = answered(now, 1, 3.0, 3.0, start=6.0)
    [one] = heat_figures(play(setup, [*first, *second, End(60.0)])).seats
    assert one.row.score.median_s == pytest.approx(3.0)
    assert words.row(one, "Ada")[1] == "Ada (try 2)"


# Change


def test_only_those_who_counted_in_both_heats_are_compared():
    now = setup_of(seats(("Ada", "Bo", "New", "")), seed=1)
    then = setup_of(seats(("Bo", "Ada", "Gone", "")), seed=2)
    a, b = play(now, robots(now)), play(then, robots(then, seed=5))
    found = heat_figures(a, b)
    before = {one.row.seat.name: one.row.score.score for one in heat_figures(b).seats}
    after = {one.row.seat.name: one.row.score.score for one in heat_figures(a).seats}
    wanted = {name: after[name] - before[name] for name in ("Ada", "Bo")}
    for one in found.seats:
        assert one.change == (
            pytest.approx(wanted[one.row.seat.name]) if one.row.seat.name in wanted else None
        )
    assert found.change.mean == pytest.approx(fmean(wanted.values()))
    assert "2 readers" in words.change_line(found)


def test_a_member_of_the_roster_is_known_under_another_name_and_namesakes_by_number():
    now = setup_of(seats(("Ada", "Bo"), members=True), seed=1)
    then = setup_of(seats(("Ada", "Robert"), members=True), seed=2)
    found = heat_figures(play(now, robots(now)), play(then, robots(then)))
    assert row_of(found, 2).change is not None
    twins = setup_of(seats(("Kim", "Kim")), seed=1)
    again = setup_of(seats(("Kim", "Kim")), seed=2)
    found = heat_figures(play(twins, robots(twins)), play(again, robots(again)))
    assert [one.change for one in found.seats] == [None, None]
    assert words.change_line(found).endswith("nobody counted in both.")


@pytest.mark.parametrize(
    "other",
    [{"prompts": 5}, {"seconds": 20}, {"text": level_text('treble = "C4 to A4"')}],
)
def test_heats_of_another_length_or_level_are_not_compared(other):
    setup, then = setup_of(seats(("Ada",))), setup_of(seats(("Ada",)), **other)
    with pytest.raises(ValueError, match="cannot be compared"):
        heat_figures(play(setup, robots(setup)), play(then, robots(then)))


def test_a_slip_tells_of_oneself_alone(edges):
    heat = edges["any script"]
    then = replace(heat.setup, seed=99)
    found = told(heat, play(then, robots(then, seed=3)))
    for one in found.figures.played:
        said = [slip.change_line(one), slip.tip(one), slip.head(found, one)]
        said += [word for each in slip.figures(one, found.level) for word in each]
        others = [
            other for other in NAMES if other and other != one.row.seat.name and len(other) > 3
        ]
        assert not any(name in line for name in others for line in said)
        assert not any("place" in line.lower() for line in said)


def test_every_kind_of_misread_has_its_words_and_a_friendly_line(edges):
    [seat] = heat_figures(edges["one seat"]).seats
    for kind in Misread:
        assert words.misread_title(kind)
        line = slip.tip(replace(seat, misreads=((kind, 1),)))
        assert line.endswith((".", "?"))


# The table


def test_the_table_reads_back_as_the_standings(edges):
    found = told(edges["forty seats"])
    rows = table(results_csv(found))
    assert tuple(rows[0]) == COLUMNS
    assert len(rows) == 40
    for row, one in zip(rows, found.figures.seats, strict=True):
        assert int(row["seat"]) == one.row.seat.number
        assert int(row["place"]) == one.row.place
        assert float(row["points"]) == pytest.approx(one.row.points, abs=1e-4)
        assert float(row["accuracy"]) == pytest.approx(one.row.score.accuracy, abs=1e-4)
        assert row["date"] == "2026-11-25"
        assert row["seed"] == "7"
        assert row["chain"] == "0a1b 2c3d 4e5f 6071"


def test_names_come_through_and_none_is_a_formula(edges):
    rows = table(results_csv(told(edges["any script"], group="=cmd|' /C calc'!A0")))
    by_seat = {int(row["seat"]): row["reader"] for row in rows}
    for number, name in enumerate(NAMES, 1):
        kept = by_seat[number]
        assert (kept[1:] if kept.startswith("'") else kept) == name
    for row in rows:
        for column in ("class", "reader", "level"):
            assert not row[column].startswith(("=", "+", "-", "@"))
    assert LONG in by_seat.values()


@pytest.mark.parametrize("name", ["all disqualified", "nobody answered", "nobody played"])
def test_a_table_of_nothing_has_its_rows_and_empty_cells(edges, name):
    rows = table(results_csv(told(edges[name])))
    assert len(rows) == 3
    if name == "nobody played":
        assert {row["outcome"] for row in rows} == {"did not play"}
        assert {row["points"] + row["place"] + row["median_s"] for row in rows} == {""}
    assert (
        table(results_csv(told(edges[name], checked=FileCheck("", ("x",)))))[0]["chain"] == "broken"
    )
