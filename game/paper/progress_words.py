# SPDX-License-Identifier: MIT
"""What is said of a reader's progress, wherever it is shown, and its plots."""

from __future__ import annotations

from datetime import UTC, date, datetime, tzinfo

from game.notation import TOP_LINE, Clef, NoteNames, Pitch, ledger_lines
from game.paper.plot import Plot, Point, day_labels
from game.reader import (
    COUNTING_MS,
    DAY_S,
    Counting,
    Days,
    Estimate,
    Example,
    MisreadShare,
    Progress,
    StaffPosition,
    spelled,
)
from game.reader.progress import FEW_MISREADS, SourceKnown, Tempo
from game.reader.sign import Source
from game.reader.slope import LEAST_ANSWERS, LEAST_PLACES
from game.words.counts import count
from game.words.dates import day_words, local
from game.words.percents import percent

SOURCES = {
    Source.NONE: "plain notes",
    Source.SIGNATURE: "altered by the key signature",
    Source.PRINTED: "with a sign printed",
    Source.HELD: "under a sign that still holds",
}
NOTHING = "Nothing has been read yet. After the first round there is something to see here."


def days_line(days: Days, today: int) -> str:
    """On which days was read, told without pressing."""
    if days.last is None:
        return "No day of reading yet."
    if not days.lately:
        last = day_words(date.fromordinal(days.last))
        return (
            f"You last read on {last}, {count(days.total, 'day')} in all. What you knew is kept "
            "here."
        )
    line = f"You read on {days.lately} of the last 7 days"
    if days.run > 1:
        line += f", {days.run} in a row"
    return f"{line}; {count(days.total, 'day')} in all."


def rounds_line(progress: Progress) -> str:
    """How much all this rests on."""
    return f"{count(progress.rounds, 'round')}, {count(len(progress.signs), 'different note')} met"


def place_name(clef: Clef, position: int, names: NoteNames) -> str:
    """The natural note of a line or space, such as ``F4``."""
    return names.name(Pitch.at_step(clef.step_at(position)), octave=True)


def place_words(clef: Clef, position: int) -> str:
    """Where a line or space is, such as ``2nd line, treble``."""
    lines = ledger_lines(position)
    if lines or not 0 <= position <= TOP_LINE:
        side = "above" if position > TOP_LINE else "below"
        if not lines:
            return f"space {side} the staff, {clef.value}"
        line = f"{_nth(abs(lines))} ledger line"
        if position % 2:
            return f"{side} the {line}, {clef.value}"
        return f"{line} {side} the staff, {clef.value}"
    kind = "space" if position % 2 else "line"
    return f"{_nth(position // 2 + 1)} {kind}, {clef.value}"


def known_words(place: StaffPosition, now: float) -> str:
    """What is known of a line or space, in one line."""
    estimate = place.estimate
    if estimate is None:
        return place.band.value
    band = "few answers lately" if place.few else place.band.value
    return (
        f"{band}: {certainty_words(estimate)}, {time_words(estimate)}, "
        f"{count(round(estimate.answers), 'answer')}, {due_words(estimate, now)}"
    )


def altered_words(place: StaffPosition) -> str:
    """What its figures are of, where the plain note was never met; else nothing."""
    if place.sign is None or place.sign.source is Source.NONE:
        return ""
    return f" ({SOURCES[place.sign.source]})"


def certainty_words(estimate: Estimate) -> str:
    """Such as ``92 % right (81 to 97)``."""
    sure = estimate.certainty
    return f"{percent(sure.mean)} % right ({percent(sure.low)} to {percent(sure.high)})"


def time_words(estimate: Estimate) -> str:
    """The usual time of a right answer; a dash where none was timed."""
    return f"{estimate.time_s.mean:.1f} s" if estimate.timed else "–"


def due_words(estimate: Estimate, now: float) -> str:
    """When a sign should be seen again."""
    if estimate.due is None:
        return ""
    days = (estimate.due - now) / DAY_S
    if days <= 0:
        return "due now"
    if days < 1:
        return "due within a day"
    return f"due in {count(round(days), 'day')}"


def source_words(known: SourceKnown) -> str:
    """How notes are read that are altered in one way."""
    if known.certainty is None:
        return "not met yet"
    sure = known.certainty
    time = "" if known.time_s is None else f", {known.time_s:.1f} s"
    return (
        f"{percent(sure.mean)} % right ({percent(sure.low)} to {percent(sure.high)}){time}, "
        f"{count(round(known.answers), 'answer')} lately"
    )


def counting_words(counting: Counting | None) -> str:
    """Whether a reader counts, with the figure that says so."""
    if counting is None:
        return (
            f"Too little to tell yet: it takes {LEAST_ANSWERS} right answers to single notes, "
            f"on {LEAST_PLACES} places or more."
        )
    step, low, high = map(round, (counting.ms_per_step, counting.low, counting.high))
    figure = f"{step} ms a step ({low} to {high})"
    figure = figure.replace("-", "−")
    if counting.counts is None:
        return f"{figure}: not clear yet whether you count or recognise."
    if counting.counts:
        return f"{figure}: you count from the notes that you know by heart."
    return f"{figure}: you recognise the notes."


def misread_title(misread: MisreadShare) -> str:
    """The kind of a misread, as a heading."""
    words = misread.kind.value
    return "No clear reason" if words == "unknown" else words[0].upper() + words[1:]


def misread_words(misread: MisreadShare, total: float) -> str:
    """How often it was made."""
    if total < FEW_MISREADS:
        return f"{round(misread.count) or 1} of {count(round(total), 'misread')} so far"
    return f"about {percent(misread.share)} % of your misreads lately"


def example_words(example: Example, names: NoteNames) -> str:
    """What was shown and what was played."""
    shown = names.name(example.shown, octave=True)
    played = spelled(example.prompt, example.note, example.played, example.read)
    return f"shown {shown} ({example.note.clef.value}), played {names.name(played, octave=True)}"


def tempo_plot(tempo: Tempo) -> Plot:
    """Reading tempo over time."""
    by = {0: "each round of a level", 1: "median of each day", 7: "median of each week"}
    what = by.get(tempo.days, f"median of {tempo.days} days each")
    title = f"Reading tempo, {what}"
    up = "right at first, per minute"
    empty = "A finished round that is not read in time gives the first point."
    if not tempo.days:
        points = tuple(Point(n, p.median) for n, p in enumerate(tempo.points, 1))
        words = {1: "first round", len(points): f"round {len(points)}"} if len(points) > 1 else {}
        labels = tuple((float(x), text) for x, text in words.items())
        return Plot(title, up, points, labels, empty)
    points = tuple(Point(p.day, p.median, p.low, p.high) for p in tempo.points)
    labels = day_labels([p.day for p in tempo.points])
    return Plot(title, up, points, labels, empty, band="from the slowest to the quickest round")


def slope_plot(progress: Progress, clef: Clef, zone: tzinfo | None = None) -> Plot:
    """How the slope under a clef came about."""
    history = progress.slopes[clef]
    days = [local(datetime.fromtimestamp(at, UTC), zone).toordinal() for at, _ in history]
    points = tuple(
        Point(day, slope.ms_per_step, slope.low, slope.high)
        for day, (_, slope) in zip(days, history, strict=True)
    )
    return Plot(
        f"Counting in the {clef.value} clef",
        "ms for each step; counting above the dashed line",
        points,
        day_labels(days),
        counting_words(None),
        COUNTING_MS,
        "95 % interval",
    )


def _nth(number: int) -> str:
    return f"{number}{('st', 'nd', 'rd')[number - 1] if number <= 3 else 'th'}"
