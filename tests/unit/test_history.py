# SPDX-License-Identifier: MIT
"""Rounds over time: weeks, bests, clocks that were wrong, the page, the table, the command."""

from __future__ import annotations

import csv
import io
from datetime import UTC, date, datetime, timedelta, timezone
from html.parser import HTMLParser

import command_line
import pytest
from robot_rounds import keep, robot_record, robot_terms

from game.cli import main
from game.notation import NOTE_NAMES, Clef
from game.paper.history import HistoryReport, cells, gain_words, history_csv, history_html, plots
from game.reader.gain import Gain
from game.reader.sign import ReadingItem
from game.rounds import tempo_word
from game.rounds.score import TEMPO_BANDS
from game.session.records import histories_of, history_of, recent_rounds, week_of
from game.store import RoundFigures, Store

pytestmark = pytest.mark.usefixtures("alone")

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
LETTERS = NOTE_NAMES["letters"]


def one(number: int, started: datetime, score: float = 50.0, **more) -> RoundFigures:
    figures = {
        "level_id": "grand-staff", "kind": "counted:24", "accuracy": 0.9, "median_s": 1.5,
        "tempo_per_min": 30.0, "slots": 24, "right": 22, "passed": False, "complete": True,
    }  # fmt: skip
    return RoundFigures(number, started, score=score, **(figures | more))


def days_before(number: float) -> datetime:
    return NOW - timedelta(days=number)


@pytest.mark.parametrize("day", ["2026-01-01", "2026-12-31", "2027-01-03", "2021-01-03"])
def test_weeks_are_those_of_iso_8601(day):
    when = datetime.fromisoformat(f"{day}T12:00:00+00:00")
    year, week, _ = date.fromisoformat(day).isocalendar()  # ISO 8601: the first has 4 January
    assert week_of(when, UTC) == f"{year}-W{week:02d}"


def test_a_week_begins_on_monday_by_the_clock_on_the_wall():
    sunday = datetime(2026, 11, 22, 23, 30, tzinfo=UTC)
    assert week_of(sunday, UTC) == "2026-W47"
    assert week_of(sunday, timezone(timedelta(hours=1))) == "2026-W48"


def test_the_best_of_each_week():
    monday = datetime(2026, 11, 23, 9, tzinfo=UTC)
    rounds = [
        one(1, monday - timedelta(days=7), 40),
        one(2, monday, 60),
        one(3, monday + timedelta(hours=1), 70),
        one(4, monday + timedelta(hours=2), 70),  # not better than the one before
        one(5, monday + timedelta(hours=3), 90, complete=False),
        one(6, monday + timedelta(hours=4), 95, kind="endless:3"),
        one(7, monday + timedelta(hours=5), 99, kind="accuracy:24"),
        one(8, monday - timedelta(days=21), 99, complete=False),
    ]
    weeks = history_of(rounds, "grand-staff", NOW, UTC).weeks
    told = [(w.name, w.rounds, w.best and w.best.id) for w in weeks]
    assert told == [("2026-W45", 1, None), ("2026-W47", 1, 1), ("2026-W48", 6, 3)]


# Clocks that were wrong


def test_rounds_out_of_order_and_from_the_future_break_nothing():
    rounds = [
        one(1, days_before(1)),
        one(2, days_before(9)),  # kept later, dated earlier: the clock was set back
        one(3, NOW + timedelta(days=400)),
        one(4, NOW + timedelta(minutes=5)),
        one(5, datetime(1970, 1, 1, tzinfo=UTC)),
        one(6, datetime(1, 1, 1, tzinfo=UTC)),
        one(7, datetime(9999, 12, 31, 23, 59, tzinfo=UTC)),
    ]
    for hours in (-12, 0, 14):
        zone = timezone(timedelta(hours=hours))
        history = history_of(rounds, "grand-staff", NOW, zone)
        assert [r.id for r in history.rounds] == [6, 5, 2, 1, 4, 3, 7]
        assert history.ahead == {3, 7}
        assert [r.id for r in history.plotted] == [6, 5, 2, 1, 4]
        for plot in plots(history, zone):
            places = [point.x for point in plot.points]
            assert places == sorted(places) and len(places) == 5
        page = history_html("A", [HistoryReport("L", history, None)], LETTERS, zone)
        assert page.count("dated in the future") == 2
        assert len(rows_of(history_csv([history], zone))) == 8
    assert "dated in the future" in cells(history.rounds[-1], HistoryReport("L", history, None))


def test_the_level_played_last_comes_first():
    rounds = [one(1, days_before(3), level_id="b"), one(2, days_before(1), level_id="a")]
    rounds += [one(3, days_before(9), level_id="a"), one(4, days_before(2), level_id="c")]
    assert [h.level_id for h in histories_of(rounds, NOW)] == ["a", "c", "b"]


# What is plotted


def test_plots_have_every_whole_round_and_only_scores_that_compare():
    rounds = [
        one(1, days_before(3), 10),
        one(2, days_before(3), 20, kind="endless:3", median_s=None),
        one(3, days_before(2), 30, complete=False),
        one(4, days_before(2), 40, kind="timed:60"),
    ]
    score, accuracy, median, tempo = plots(history_of(rounds, "grand-staff", NOW, UTC), UTC)
    assert [p.y for p in score.points] == [10, 40]
    assert len(accuracy.points) == len(tempo.points) == 3
    assert len(median.points) == 2
    day = days_before(3).toordinal()
    assert [p.x for p in accuracy.points] == [day, day + 0.5, day + 1]


def test_the_rounds_of_one_day_are_plotted_in_their_order():
    rounds = [one(n, NOW + timedelta(minutes=n), n) for n in range(1, 5)]
    score = plots(history_of(rounds, "grand-staff", NOW, UTC), UTC)[0]
    assert [p.x for p in score.points] == [1, 2, 3, 4]
    assert [words for _x, words in score.labels] == ["round 1 of 4", "round 4 of 4"]


def test_the_axis_counts_the_rounds_as_the_list_does():
    """Those stopped early are listed, and not plotted."""
    early = {2, 5}
    rounds = [one(n, NOW + timedelta(minutes=n), n, complete=n not in early) for n in range(1, 6)]
    score = plots(history_of(rounds, "grand-staff", NOW, UTC), UTC)[0]
    assert [p.x for p in score.points] == [1, 3, 4]
    assert [words for _x, words in score.labels] == ["round 1 of 5", "round 4 of 5"]


@pytest.mark.parametrize("number", [0, 1])
def test_one_round_or_none_can_be_plotted(number):
    history = history_of([one(1, NOW)][:number], "grand-staff", NOW)
    for plot in plots(history):
        assert len(plot.points) == number
        assert plot.points or plot.empty
    assert "<svg" in history_html("A", [HistoryReport("L", history, None)], LETTERS)


# The page and the table


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.fetched: list[str] = []

    def handle_starttag(self, tag, attrs):
        if tag not in ("meta", "br", "circle", "path", "rect"):
            self.open.append(tag)
        self.fetched += [v for k, v in attrs if k in ("src", "href", "srcset") and v]

    def handle_endtag(self, tag):
        if tag not in ("circle", "path", "rect"):
            assert self.open.pop() == tag


def test_the_page_is_whole_fetches_nothing_and_takes_any_name():
    history = history_of([one(n, days_before(n), n) for n in range(1, 40)], "grand-staff", NOW)
    page = history_html(
        "<script>Zoë & ハニ</script>", [HistoryReport("A < B", history, None)], LETTERS
    )
    parser = _Page()
    parser.feed(page)
    parser.close()
    assert parser.open == []
    assert parser.fetched == []
    assert "<script" not in page and "&lt;script&gt;Zoë &amp; ハニ" in page
    assert "A &lt; B" in page
    assert "url(" not in page and "http" not in page.replace("http-equiv", "")
    assert page.count("<tr>") == 2 + 39 + len(history.weeks)


def rows_of(content: bytes) -> list[list[str]]:
    assert content.startswith(b"\xef\xbb\xbf")
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def test_the_table_has_every_round_with_its_figures_unrounded():
    rounds = [
        one(1, days_before(8), 41.123456789, median_s=None),
        one(2, days_before(1), 60, level_id="=evil"),
    ]
    histories = histories_of(rounds, NOW, UTC)
    head, *rows = rows_of(history_csv(histories, UTC))
    told = [dict(zip(head, row, strict=True)) for row in rows]
    assert [row["round"] for row in told] == ["2", "1"]
    assert told[0]["level"] == "'=evil"  # no spreadsheet takes it for a formula
    assert told[1]["score"] == "41.123456789" and told[1]["median_s"] == ""
    assert told[1]["started"] == days_before(8).isoformat(timespec="seconds")
    assert [row["best_of_week"] for row in told] == ["1", "1"]


# The command


@pytest.fixture
def anna(tmp_path):
    """A reader with rounds on two levels."""
    with Store.open() as store:
        reader = store.add_reader("Anna")
        for seed in range(4):
            started = datetime.now(UTC) - timedelta(days=8 - seed)
            terms = robot_terms("landmarks-upper", seed, prompts=30)
            keep(store, reader.id, robot_record(terms, started=started))
        keep(store, reader.id, robot_record(robot_terms("time-six"), started=NOW))
    return reader


def test_the_command_tells_lists_and_writes(anna, tmp_path, capsys):
    assert main(["history", "anna"]) == 0
    out = capsys.readouterr().out
    assert "Best by week" in out and "treble G4" in out
    html, table = tmp_path / "a.html", tmp_path / "a.csv"
    argv = ["history", "Anna", "landmarks-upper", "--html", str(html), "--csv", str(table)]
    assert main(argv) == 0
    assert "4 rounds" in capsys.readouterr().out
    assert len(rows_of(table.read_bytes())) == 5
    assert "<svg" in html.read_text(encoding="utf-8")
    assert any("--force" in line for line in command_line.refused(capsys, *argv))
    assert main([*argv, "--force"]) == 0


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (["Berta"], "there are Anna"),
        (["Anna", "grand-staff"], "levels: landmarks-upper, time-six"),
        (["Anna", "--html", "a.pdf"], "must end in .html"),
        (["Anna", "--csv", "folder"], "must end in .csv"),
    ],
)
def test_what_the_command_refuses(anna, capsys, argv, words):
    (line,) = command_line.refused(capsys, "history", *argv)
    assert words in line


def test_a_reader_without_rounds_is_told_so(capsys):
    with Store.open() as store:
        store.add_reader("New")
    assert main(["history", "New"]) == 0
    assert "No finished round yet" in capsys.readouterr().out


def test_rounds_whose_level_is_gone_are_listed_and_not_played_again(anna):
    with Store.open() as store:
        bad = robot_record(robot_terms("landmarks-upper"))
        terms = robot_terms("landmarks-upper", 9)
        number = store.begin(anna.id, type(terms)("landmarks-upper", "gone", 1, 5), NOW)
        store.finish(number, bad.result)
        history = history_of(store.figures(anna.id), "landmarks-upper", NOW)
        assert len(history.rounds) == 5
        assert len(recent_rounds(store, history)) == 4


def test_a_gain_that_rounding_takes_away_is_not_told():
    slow = ((ReadingItem(Clef.TREBLE, 2), 0.70),)
    assert "instead of" not in gain_words(Gain(slow, 0.66, 0.661, 0.659, 30.2, 30.3), LETTERS)
    only_tempo = gain_words(Gain(slow, 0.66, 0.661, 0.659, 30.2, 33.0), LETTERS)
    assert "median time would be" not in only_tempo
    assert "would be 33 right a minute" in only_tempo


def test_the_word_of_a_tempo_is_that_of_the_figure_beside_it():
    start = next(start for start, _word in TEMPO_BANDS if start > 0)
    slow = ((ReadingItem(Clef.TREBLE, 2), 2.0),)
    words = gain_words(Gain(slow, 1.0, 1.5, 1.4, start - 0.4, start + 3.0), LETTERS)
    assert words.count(f"{start:g} ({tempo_word(start)})") == 1
