# SPDX-License-Identifier: MIT
"""How a reader gets on, as a value: what a page about it shows, and nothing of how it looks.

It is made of a profile and of one pair of figures a round, never of presses, so its cost grows
only with the number of rounds. Days are ordinals (1 is 1 January of year 1), counted by whoever
knows the reader's time zone.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from math import exp
from statistics import median

from game.levels import Ladder, Level
from game.levels.written import read_slot
from game.notation import GRAND_STAFF, Clef
from game.reader.example import Example
from game.reader.history import Slopes
from game.reader.knowledge import Estimate, Knowledge, Range, beta_interval
from game.reader.misread import Misread
from game.reader.profile import Profile
from game.reader.sign import ReadingItem, Source
from game.reader.slope import Counting

Position = tuple[Clef, int]
"""A line or space: a clef and a staff position, 0 = bottom line, 8 = top line."""

LEDGERS = 4
LOWEST, HIGHEST = -2 * LEDGERS - 1, 8 + 2 * LEDGERS + 1
"""Staff positions with at most four ledger lines."""

FEW_ANSWERS = 5.0
"""With fewer (faded) answers a figure is a first impression, and is said to be one."""
FEW_MISREADS = 5.0
EACH_ROUND = 30
"""So many rounds are shown one by one; more are gathered by the day."""
MOST_POINTS = 120
_SPANS = (1, 7, 28, 91, 364)  # days in a point


class Band(Enum):
    """How well a line or space is known; the value is what it is called."""

    UNREAD = "not read yet"
    SHAKY = "shaky"
    GROWING = "growing"
    GOOD = "good"
    SURE = "sure"


BANDS: tuple[tuple[float, Band], ...] = (
    (0.95, Band.SURE),
    (0.85, Band.GOOD),
    (0.70, Band.GROWING),
    (0.0, Band.SHAKY),
)
"""From this certainty on; ours, by judgement."""


@dataclass(frozen=True, slots=True)
class StaffPosition:
    """A line, space or ledger position.

    Args:
        clef, position: where it is.
        sign: what the figures are of: the plain note, or where that was never met, the way of
            altering it that was met most; None where nothing was.
        estimate: what is known of it; None where nothing was met.
    """

    clef: Clef
    position: int
    sign: ReadingItem | None = None
    estimate: Estimate | None = None

    @property
    def band(self) -> Band:
        """How well it is known."""
        return Band.UNREAD if self.estimate is None else band_of(self.estimate.certainty.mean)

    @property
    def few(self) -> bool:
        """Whether it rests on so few answers, or so old ones, that it may change soon."""
        return self.estimate is not None and self.estimate.answers < FEW_ANSWERS


@dataclass(frozen=True, slots=True)
class SourceKnown:
    """How notes are read whose alteration comes from one source.

    Args:
        source: which.
        signs: how many different signs of it were met.
        answers: how many answers, faded.
        certainty: share of right ones; None when there are none.
        time_s: usual seconds of a right one; None when none was timed.
    """

    source: Source
    signs: int
    answers: float
    certainty: Range | None
    time_s: float | None


@dataclass(frozen=True, slots=True)
class TempoPoint:
    """Reading tempo, in notes or chords right at first per minute.

    Args:
        day: the first day that it stands for.
        rounds: how many.
        median, low, high: of them.
    """

    day: int
    rounds: int
    median: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Tempo:
    """Reading tempo over time.

    Args:
        points: oldest first.
        days: how many days a point stands for; 0 for one point a round.
    """

    points: tuple[TempoPoint, ...] = ()
    days: int = 0


@dataclass(frozen=True, slots=True)
class MisreadShare:
    """A kind of misread.

    Args:
        kind: which.
        count: how many, the older ones faded.
        share: of all misreads, 0 to 1.
        example: the latest; None when none was kept.
    """

    kind: Misread
    count: float
    share: float
    example: Example | None


@dataclass(frozen=True, slots=True)
class Days:
    """On which days rounds were read.

    Args:
        total: how many days.
        lately: how many of the last seven, today included.
        run: how many in a row up to today, or up to yesterday while today is still open.
        first, last: the first and the last day up to today; None when there is none.
    """

    total: int = 0
    lately: int = 0
    run: int = 0
    first: int | None = None
    last: int | None = None


@dataclass(frozen=True)
class Progress:
    """How a reader gets on.

    Args:
        now: when that was so, in seconds since 1970.
        today: likewise, as a day.
        places: every line and space that is asked for or was met, from low to high.
        sources: plain notes, then each way in which a note can be altered.
        signs: each sign that was met, with what is known of it.
        tempo: reading tempo over time.
        counting: under each clef, how much the reader counts; None while too little is known.
        slopes: under each clef, how that came about.
        misreads: the most frequent first, those without a clear reason last.
        misread_count: how many misreads they rest on, the older ones faded.
        days: on which days rounds were read.
        rounds: how many rounds.
    """

    now: float
    today: int
    places: tuple[StaffPosition, ...]
    sources: tuple[SourceKnown, ...]
    signs: tuple[tuple[ReadingItem, Estimate], ...]
    tempo: Tempo
    counting: Mapping[Clef, Counting | None]
    slopes: Mapping[Clef, Slopes]
    misreads: tuple[MisreadShare, ...]
    misread_count: float
    days: Days
    rounds: int


def progress(
    profile: Profile,
    rounds: Sequence[tuple[int, float | None]],
    asked: Collection[Position],
    now: float,
    today: int,
) -> Progress:
    """How a reader gets on.

    Args:
        profile: of the reader.
        rounds: of each finished round the day and the reading tempo (None where the music set
            the tempo, or none could be measured), in the order in which they were played.
        asked: the lines and spaces that are to be learnt.
        now: seconds since 1970.
        today: the day of `now`.
    """
    knowledge = profile.knowledge
    signs = {sign: knowledge.estimate(sign, now) for sign in sorted(knowledge.signs, key=_order)}
    total = sum(profile.habits.counts.values())
    misreads = [
        MisreadShare(kind, count, count / total, profile.examples.get(kind))
        for kind, count in profile.habits.counts.items()
        if count >= 1 or kind in profile.examples
    ]
    places = _places(signs, asked)
    clefs = dict.fromkeys((*GRAND_STAFF, *(place.clef for place in places)))
    counting = {clef: profile.counting(clef) for clef in clefs}
    history = {clef: profile.slope_history(clef, counting[clef]) for clef in clefs}
    return Progress(
        now,
        today,
        places,
        tuple(_source(knowledge, source, now) for source in Source),
        tuple(signs.items()),
        tempo_over([(day, tempo) for day, tempo in rounds if tempo is not None], today),
        counting,
        history,
        tuple(sorted(misreads, key=lambda one: (one.kind is Misread.UNKNOWN, -one.count))),
        total,
        days_of((day for day, _ in rounds), today),
        len(rounds),
    )


def band_of(certainty: float) -> Band:
    """The band of a certainty, 0 to 1."""
    return next(band for least, band in BANDS if certainty >= least)


def asked_places(ladder: Ladder) -> frozenset[Position]:
    """Every line and space with at most four ledger lines that some level may show."""
    found = {place for rung in ladder.rungs for place in _asked(rung.level)}
    return frozenset((clef, place) for clef, place in found if LOWEST <= place <= HIGHEST)


def _asked(level: Level) -> Iterable[Position]:
    show = level.show
    if show.texture == "written":
        for written in show.written:
            for text in written.slots:
                for _, clef, pitch in read_slot(text):
                    yield clef, clef.position(pitch)
        return
    for clef, steps in zip(show.clefs, (show.upper, show.lower), strict=True):
        for step in steps or ():
            yield clef, step - clef.bottom_line.step


def _order(sign: ReadingItem) -> tuple[int, int, int]:
    return [*Clef].index(sign.clef), sign.position, [*Source].index(sign.source)


def _places(
    signs: Mapping[ReadingItem, Estimate], asked: Collection[Position]
) -> tuple[StaffPosition, ...]:
    met: dict[Position, ReadingItem] = {}
    for sign, estimate in signs.items():  # of each place the plain one comes first
        here = sign.clef, sign.position
        other = met.get(here)
        if other is None or (
            other.source is not Source.NONE and estimate.answers > signs[other].answers
        ):
            met[here] = sign
    all_places = sorted({*asked, *met}, key=lambda place: _order(ReadingItem(*place)))
    return tuple(
        StaffPosition(clef, position, met[clef, position], signs[met[clef, position]])
        if (clef, position) in met
        else StaffPosition(clef, position)
        for clef, position in all_places
    )


def _source(knowledge: Knowledge, source: Source, now: float) -> SourceKnown:
    """All signs of one source together: one made-up answer at the reader's average, and theirs."""
    kept = [
        (known, known.fade(now)) for sign, known in knowledge.signs.items() if sign.source is source
    ]
    right = sum(fade * known.right for known, fade in kept)
    wrong = sum(fade * known.wrong for known, fade in kept)
    timed = sum(fade * known.timed for known, fade in kept)
    time_s = exp(sum(fade * known.log_time for known, fade in kept) / timed) if timed else None
    if not kept:
        return SourceKnown(source, 0, 0.0, None, None)
    usual = knowledge.totals.right / knowledge.totals.answers
    a, b = right + usual, wrong + 1 - usual
    certainty = Range(a / (a + b), *beta_interval(a, b))
    return SourceKnown(source, len(kept), right + wrong, certainty, time_s)


def tempo_over(rounds: Sequence[tuple[int, float]], today: int) -> Tempo:
    """Reading tempo over time: each round, or where there are many, the median of some days.

    Args:
        rounds: day and tempo of each, in the order in which they were played.
        today: a round that is dated later (the clock was set back since) counts as of today.
    """
    dated = [(min(day, today), tempo) for day, tempo in rounds]
    if len(dated) <= EACH_ROUND:
        return Tempo(tuple(TempoPoint(day, 1, tempo, tempo, tempo) for day, tempo in dated))
    first = min(day for day, _ in dated)
    points: dict[int, list[float]] = {}
    for span in _SPANS:
        points = {}
        for day, tempo in dated:
            points.setdefault((day - first) // span, []).append(tempo)
        if len(points) <= MOST_POINTS:
            break
    return Tempo(
        tuple(
            TempoPoint(first + span * n, len(of), median(of), min(of), max(of))
            for n, of in sorted(points.items())
        ),
        span,
    )


def days_of(days: Iterable[int], today: int) -> Days:
    """On which days rounds were read; days later than today (a clock set back) are left out."""
    read = {day for day in days if day <= today}
    if not read:
        return Days()
    end = today if today in read else today - 1
    run = 0
    while end - run in read:
        run += 1
    lately = sum(today - 7 < day for day in read)
    return Days(len(read), lately, run, min(read), max(read))
