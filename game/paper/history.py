# SPDX-License-Identifier: MIT
"""A reader's rounds over time: what is said of them, their plots, a page and a table."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from html import escape

from game.levels import Level, tempo_mark
from game.notation import NoteNames
from game.paper.csv_table import ROUND, csv_table
from game.paper.html import document, table
from game.paper.plot import Plot, Point, day_labels, plot_svg
from game.paper.progress_words import place_name
from game.reader.gain import Gain
from game.reader.sign import ReadingItem, Source
from game.rounds import tempo_word
from game.session.records import History, compares, day_of, week_of
from game.store import RoundFigures
from game.words.dates import day_words, local, moment_words
from game.words.percents import percent

NOTHING = "No finished round yet. After the first one there is something to see here."
TABLE_HEAD = ("Round", "Started", "Kind", "Points", "Accuracy", "Median time", "Right a minute", "")
CSV_HEAD = (
    "level", "round", "started", "week", "kind", "score", "accuracy", "median_s", "tempo_per_min",
    "slots", "right", "passed", "complete", "best_of_week", "dated_ahead",
)  # fmt: skip
_SOURCES = {
    Source.NONE: "",
    Source.SIGNATURE: " (signature)",
    Source.PRINTED: " (printed sign)",
    Source.HELD: " (sign that holds)",
}


@dataclass(frozen=True)
class HistoryReport:
    """A history with what stands beside it.

    Args:
        title: of the level.
        history: its rounds.
        gain: over the latest of them; None where there is too little to tell.
        metre: of the level.
    """

    title: str
    history: History
    gain: Gain | None
    metre: str = "4/4"

    @classmethod
    def of(cls, level: Level | None, history: History, gain: Gain | None) -> HistoryReport:
        """Of a level that is on the ladder, or (None) is there no more."""
        if level is None:
            return cls(history.level_id, history, gain)
        return cls(level.title, history, gain, level.show.metre)


def kind_name(kind: str, metre: str = "4/4") -> str:
    """A kind of round (:attr:`Terms.kind`) in a few words, such as ``24 prompts``.

    Args:
        kind: of a round.
        metre: of its level; matters where a tempo was chosen.
    """
    what, _, length = kind.partition(":")
    length, at, tempo = length.partition("@")
    if what == "day":
        length = day_words(date.fromisoformat(length))
    names = {
        "counted": f"{length} prompt{'' if length == '1' else 's'}",
        "timed": f"{length} s",
        "endless": f"until miss {length}",
        "accuracy": f"{length}, no clock",
        "day": f"day {length}",
    }
    return names.get(what, kind) + (f", {tempo_mark(float(tempo), metre)}" if at else "")


def round_words(name: str, number: int, *more: str) -> str:
    """Whose round it was and its number, by which commands know it."""
    return " · ".join((name, f"round {number}", *more))


def started_words(when: datetime, zone: tzinfo | None = None) -> str:
    """When a round was begun, by the clock on the wall: ``25 Nov 2026, 14:05``."""
    return moment_words(local(when, zone))


def cells(one: RoundFigures, told: HistoryReport, zone: tzinfo | None = None) -> tuple[str, ...]:
    """A round as a row under :data:`TABLE_HEAD`."""
    note = ["broken off"] if not one.complete else ["passed"] if one.passed else []
    note += ["dated in the future"] if one.id in told.history.ahead else []
    return (
        str(one.id),
        started_words(one.started, zone),
        kind_name(one.kind, told.metre),
        f"{one.score:.1f}",
        f"{percent(one.accuracy)} %",
        "–" if one.median_s is None else f"{one.median_s:.2f} s",
        "–" if one.tempo_per_min is None else f"{one.tempo_per_min:.0f}",
        ", ".join(note),
    )


def best_words(told: HistoryReport) -> list[tuple[str, str]]:
    """(week, its best) of every week, the latest first."""
    found = []
    for week in reversed(told.history.weeks):
        best, words = week.best or week.apart, "no whole round"
        if best is not None:
            words = f"{best.score:.1f} points ({kind_name(best.kind, told.metre)})"
        found.append((week.name, words))
    return found


def gain_words(gain: Gain | None, names: NoteNames) -> str:
    """What would be gained if the slowest signs were as fast as the median one."""
    if gain is None:
        return (
            "Too little was read lately to tell which notes cost you time: it takes three right "
            "answers to each of several notes, not read to a beat."
        )
    signs = ", ".join(f"{sign_name(sign, names)} {t:.2f} s" for sign, t in gain.slow)
    number = {1: "note that takes", 2: "two notes that take", 3: "three notes that take",
              4: "four notes that take", 5: "five notes that take"}[len(gain.slow)]  # fmt: skip
    # What is the same once rounded is no gain to speak of.
    changes = []
    then_s, now_s = f"{gain.median_then_s:.2f}", f"{gain.median_s:.2f}"
    if then_s != now_s:
        changes.append(f"your median time would be {then_s} s instead of {now_s} s")
    then, now = round(gain.tempo_then_per_min), round(gain.tempo_per_min)
    if then != now:
        would = "" if changes else "would be "
        changes.append(
            f"your reading tempo {would}{then} right a minute ({tempo_word(then)}) instead of "
            f"{now} ({tempo_word(now)})"
        )
    if not changes:
        return f"No note costs you much time lately: the slowest are {signs}."
    return (
        f"If the {number} you longest ({signs}) took as long as the median one, "
        f"{gain.usual_s:.2f} s, {', and '.join(changes)}."
    )


def sign_name(sign: ReadingItem, names: NoteNames) -> str:
    """A sign by its line or space, such as ``F5`` or ``bass F3 (signature)``."""
    name = place_name(sign.clef, sign.position, names)
    return f"{sign.clef.value} {name}{_SOURCES[sign.source]}"


def plots(history: History, zone: tzinfo | None = None) -> tuple[Plot, Plot, Plot, Plot]:
    """Score, accuracy, median time and reading tempo of every round over time.

    Only rounds whose points compare are in the first, and none broken off in any.
    """
    found = [one for one in history.plotted if one.complete]
    one_day = len({day_of(one.started, zone) for one in found}) <= 1
    places = _numbers(found, history) if one_day else _days(found, zone)

    def plot(title: str, up: str, value: Callable[[RoundFigures], float | None]) -> Plot:
        points = [
            Point(x, y)
            for x, one in zip(places, found, strict=True)
            if (y := value(one)) is not None
        ]
        ends = dict.fromkeys((points[0].x, points[-1].x)) if points else ()
        if one_day:
            labels = [(x, f"round {x:.0f} of {len(history.rounds)}") for x in ends]
        else:
            days = day_labels([int(x) for x in ends])
            labels = [(max(x, points[0].x), words) for x, words in days]
        return Plot(title, up, tuple(points), tuple(labels), NOTHING)

    return (
        plot("Score", "points", lambda one: one.score if compares(one) else None),
        plot("Accuracy", "per cent right at first", lambda one: 100 * one.accuracy),
        plot("Median time", "seconds, of right answers", lambda one: one.median_s),
        plot("Reading tempo", "right at first, per minute", lambda one: one.tempo_per_min),
    )


def _numbers(found: Sequence[RoundFigures], history: History) -> list[float]:
    """Along the axis while all are of one day: which of all rounds each is, from 1."""
    order = {one.id: float(number) for number, one in enumerate(history.rounds, 1)}
    return [order[one.id] for one in found]


def _days(found: Sequence[RoundFigures], zone: tzinfo | None) -> list[float]:
    """Along the axis otherwise: days, in which the rounds of a day are spread evenly."""
    days = [day_of(one.started, zone).toordinal() for one in found]
    return [day + (number - days.index(day)) / days.count(day) for number, day in enumerate(days)]


# A page and a table


def history_html(
    name: str, told: Sequence[HistoryReport], names: NoteNames, zone: tzinfo | None = None
) -> str:
    """The page of a reader's rounds, level by level.

    Args:
        name: of the reader, any text.
        told: the levels.
        names: how notes are called.
        zone: whose days; None for this machine's.
    """
    return document(f"Rounds of {name}", _body(name, told, names, zone))


def _body(
    name: str, told: Sequence[HistoryReport], names: NoteNames, zone: tzinfo | None
) -> Iterator[str]:
    yield f"<h1>{escape(name)}</h1>"
    yield '<p class="quiet">Rounds over time, level by level</p>'
    if not told:
        yield f"<p>{NOTHING}</p>"
    for level in told:
        history = level.history
        yield f"<h2>{escape(level.title)}</h2>"
        figures = "".join(f"<figure>{plot_svg(one)}</figure>" for one in plots(history, zone))
        yield f'<div class="plots">{figures}</div>'
        yield f"<p>{escape(gain_words(level.gain, names))}</p>"
        yield table(best_words(level), ("Week", "Best"))
        rows = [cells(one, level, zone) for one in reversed(history.rounds)]
        yield table(rows, TABLE_HEAD)


def history_csv(histories: Sequence[History], zone: tzinfo | None = None) -> bytes:
    """All rounds as a table: CSV as RFC 4180 has it, UTF-8 with a mark that spreadsheets know.

    Times are ISO 8601 in UTC, weeks those of `zone` (None for this machine's); figures are not
    rounded; an empty cell is what is not known.
    """
    return csv_table(CSV_HEAD, _rows(histories, zone))


def _rows(histories: Sequence[History], zone: tzinfo | None) -> Iterator[list[object]]:
    for history in histories:
        best = {week.best.id for week in history.weeks if week.best is not None}
        for one in history.rounds:
            row = {name: value(one) for name, value in ROUND.items()}
            row["week"] = week_of(one.started, zone)
            row["best_of_week"] = int(one.id in best)
            row["dated_ahead"] = int(one.id in history.ahead)
            yield [row[column] for column in CSV_HEAD]
