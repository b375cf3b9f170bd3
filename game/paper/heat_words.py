# SPDX-License-Identifier: MIT
"""What is said of a heat and of each of its readers, whatever it is printed on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime

from game.heats.forms import Fairness
from game.heats.setup import Forms, PlayMode, Seat
from game.heats.standings import SeatOutcome, Shows
from game.heats.standings import shown as shown_of
from game.levels import Level
from game.notation import NoteNames
from game.paper.heat_figures import HeatFigures, Met, SeatFigures
from game.paper.progress_words import place_words
from game.reader import Misread
from game.rounds import Score
from game.words.counts import count
from game.words.dates import day_words, moment_words
from game.words.percents import percent

NO_VALUE = "–"
SAME = "±0.0"
SCORES = (0, 25, 50, 75, 100)
"""Marks on the axis of scores."""
_MOST = 4  # faults that are named one by one
_MOST_SIGNS = 8
PROVES = (
    "Every event of the heat is chained to the one before it, and this is where the chain ends. A "
    "file that ends otherwise is not the one that this page was made from: an event was altered, "
    "left out, added or moved. It does not show who sat at which seat, since names stand outside "
    "it, nor that the file was honest when this page was printed."
)
TIE_RULE = (
    "Points are added up over all that was read; the score is their mean, 100 at most. Either is "
    "0 where it would be below. More points come first; of equal points, also of several 0s, the "
    "higher accuracy, of equal accuracy the shorter median. Whoever is equal in all three shares a "
    "place (=), and as many places after it are left out. Whoever pressed no key has no "
    "place."
)
NOTHING_COUNTS = "Nobody's round counts, so there are no standings."
NOTHING_MISSED = "Nothing was misread."
NOTHING_READ = "No printed note was answered, so there is nothing to show on a staff."
NOT_CLOSED = "This heat was not closed: these are its figures so far."
BROKEN = "The file behind these figures does not hold: do not take them on trust."
_HABITS: dict[Misread, str] = {
    Misread.OCTAVE: "The name was right, in another octave",
    Misread.SIGNATURE: "The key signature was forgotten",
    Misread.SIGN: "A sharp or flat was forgotten",
    Misread.CARRIED: "A sign was carried past the barline",
    Misread.NATURAL: "A natural was passed over",
    Misread.CLEF: "The other clef was read",
    Misread.STEP: "The note next door was played",
    Misread.THIRD: "A line or space was skipped",
    Misread.LEDGER: "Ledger lines were miscounted",
    Misread.SLIP: "The finger met the next key",
    Misread.MIRROR: "Up was taken for down",
    Misread.UNKNOWN: "No clear reason",
}


@dataclass(frozen=True, slots=True)
class FileCheck:
    """What became of checking the file of a heat.

    Args:
        ends: the end of its chain, as it is printed.
        faults: what is not as it should be, each a sentence; empty when all is.
    """

    ends: str
    faults: tuple[str, ...] = ()


@dataclass(frozen=True)
class HeatReport:
    """A heat with what stands beside it on a page.

    Args:
        figures: of the heat.
        level: what was read, as it was kept with the heat.
        names: how notes are called.
        group: of whom; empty where nobody says.
        when: it began, where it was played; None where nobody knows.
        checked: its file; None where it is not of one.
    """

    figures: HeatFigures
    level: Level
    names: NoteNames
    group: str = ""
    when: date | datetime | None = None
    checked: FileCheck | None = None

    @property
    def title(self) -> str:
        """What the page is called."""
        return f"{self.group}: {self.level_title}" if self.group else f"Heat: {self.level_title}"

    @property
    def level_title(self) -> str:
        """What the ladder called the level."""
        return self.figures.setup.level_title or self.level.title

    @property
    def day(self) -> str:
        """The date, such as ``25 Nov 2026``; empty where it is not known."""
        return "" if self.when is None else day_words(self.when)

    @property
    def length(self) -> str:
        """How long every seat reads."""
        setup = self.figures.setup
        if setup.prompts is not None:
            return count(setup.prompts, "prompt")
        return f"{setup.seconds} seconds"


OUTCOMES = {
    SeatOutcome.PLACED: "counted",
    SeatOutcome.DISQUALIFIED: "not counted",
    SeatOutcome.DID_NOT_PLAY: "did not play",
}
"""What became of a seat, as the teacher chose it and as a paper for the wall may say it."""


def facts(told: HeatReport) -> Iterator[tuple[str, str]]:
    """What a heat was: labels and values."""
    figures, setup = told.figures, told.figures.setup
    if told.group:
        yield "Class", told.group
    if told.when is not None:
        yield "Date", moment_words(told.when) if isinstance(told.when, datetime) else told.day
    yield "Level", f"{told.level_title} ({setup.level_id})"
    together = setup.manner is PlayMode.TOGETHER
    yield "Played", "together, each seat on its own keys" if together else "in turn"
    yield "Length", f"{told.length} each"
    yield from _notes(setup.forms, figures.fairness)
    yield "Seed", str(setup.seed)
    counts = dict.fromkeys(SeatOutcome, 0)
    for row in figures.standings.rows:
        counts[row.outcome] += 1
    said = [f"{counts.pop(SeatOutcome.PLACED)} counted"]
    said += [f"{number} {OUTCOMES[outcome]}" for outcome, number in counts.items() if number]
    yield "Seats", ", ".join(said)


def _notes(forms: Forms, fairness: Fairness) -> Iterator[tuple[str, str]]:
    own = forms is Forms.OWN
    if not fairness.parted:
        yield "Notes", "each seat its own, equally hard" if own else "the same for all"
        return
    whose = "each seat its own" if own else "the same on the same keys"
    yield "Notes", f"{whose}, different ones on the parts of a shared keyboard"
    hard = "equally hard for all"
    if fairness.apart:
        more = f"{percent(fairness.apart)} %"
        hard = f"up to {more} harder for one seat than for another: compare the places with care"
    yield "Difficulty", hard


HEAD = ("Place", "Reader", "Points", "Score", "Accuracy", "Median", "Tempo", "Change")


def row(one: SeatFigures, name: str) -> tuple[str, ...]:
    """A seat in the table of standings, under :data:`HEAD`."""
    standing, score = one.row, one.row.score
    return (
        f"{standing.place}{' =' if one.shared else ''}",
        name + (f" (try {standing.redone + 1})" if standing.redone else ""),
        points(standing.points),
        points(score.score),
        f"{percent(score.accuracy)} %",
        seconds(score.median_s),
        tempo(score),
        "" if one.change is None else signed(one.change),
    )


def listed(figures: HeatFigures, shows: Shows) -> tuple[SeatFigures, ...]:
    """The seats that the page of the class lists."""
    rows = shown_of(figures.standings, shows).rows
    return tuple(one for one in figures.seats if one.row in rows)


def left_out(
    figures: HeatFigures, shows: Shows, name: Callable[[Seat], str] = lambda seat: seat.title
) -> Iterator[str]:
    """Who is not in the standings; nobody is named where the page does not list all."""
    if shows is not Shows.ALL:
        return
    for outcome in (SeatOutcome.DISQUALIFIED, SeatOutcome.DID_NOT_PLAY):
        names = [name(one.seat) for one in figures.standings.rows if one.outcome is outcome]
        if names:
            yield f"{OUTCOMES[outcome].capitalize()}: {', '.join(names)}."


def table_note(told: HeatReport) -> str:
    """How the standings are made."""
    median = (
        "Median: how far off the beat half of the right answers were at most."
        if told.level.time is not None
        else "Median: the time within which half of the right first answers came."
    )
    change = " Change: of the score since the last heat." if told.figures.change is not None else ""
    return f"{TIE_RULE} {median} Tempo: right first answers a minute.{change}"


def class_lines(told: HeatReport) -> Iterator[str]:
    """The class as a whole."""
    standings = told.figures.standings
    if standings.mean is None:
        yield NOTHING_COUNTS
        return
    who = count(len(standings.placed), "reader")
    yield (
        f"Class total: {points(standings.total)} points of {who}; "
        f"the mean of their scores is {points(standings.mean)}."
    )
    right = sum(row.score.right for row in standings.placed)
    slots = sum(row.score.slots for row in standings.placed)
    yield f"{right} of {slots} first answers right ({percent(right / slots)} %)."
    spread = standings.spread
    if spread is not None and len(standings.placed) > 1:
        yield (
            f"Spread of the scores: from {points(spread.low)} to {points(spread.high)}; the "
            f"middle half lies between {points(spread.quarter)} and "
            f"{points(spread.three_quarters)}, the median is {points(spread.median)}."
        )


def change_line(figures: HeatFigures) -> str:
    """What has changed since the heat before; empty where there is none to compare."""
    change = figures.change
    if change is None:
        return ""
    if change.mean is None:
        return "Since the last heat on this level: nobody counted in both."
    up = sum(each > 0 for each in change.each.values())
    return (
        f"Since the last heat on this level: scores {signed(change.mean)} on average over the "
        f"{count(len(change.each), 'reader')} who counted in both; {up} higher than then."
    )


def missed_of(met: Met) -> str:
    """How often a sign was missed."""
    return f"missed {met.missed} of {met.asked}"


def misread_title(kind: Misread) -> str:
    """A kind of misread, said of a class."""
    return _HABITS[kind]


def sign_name(met: Met, names: NoteNames) -> str:
    """A sign by its name, such as ``F♯4``."""
    return names.name(met.pitch, octave=True)


def where(met: Met) -> str:
    """Where it stands, such as ``2nd line, treble``."""
    return place_words(met.sign.clef, met.sign.position)


def missed_rows(told: HeatReport) -> list[tuple[str, str, str]]:
    """The signs that were missed most: name, place and how often."""
    return [
        (sign_name(one, told.names), where(one), missed_of(one))
        for one in told.figures.met[:_MOST_SIGNS]
        if one.missed
    ]


def warnings(told: HeatReport, shows: Shows) -> Iterator[str]:
    """What stands on top of a page, and must not be passed over."""
    if told.checked is not None and told.checked.faults:
        yield BROKEN
    if told.checked is not None and shows is Shows.ALL:  # faults may tell who came where
        yield from (f"{fault[0].upper()}{fault[1:]}." for fault in told.checked.faults[:_MOST])
        more = len(told.checked.faults) - _MOST
        if more > 0:
            yield f"And {count(more, 'thing')} more."
    if not told.figures.closed:
        yield NOT_CLOSED


def chain_lines(checked: FileCheck | None) -> tuple[str, ...]:
    """Where the chain ends, and what that shows; nothing where it does not hold."""
    if checked is None or checked.faults:
        return ()
    return f"The chain of this heat ends with {checked.ends}", PROVES


def score_again(checked: FileCheck | None) -> str:
    """How anybody works the figures out again."""
    noted = f' --noted "{checked.ends}"' if checked is not None and not checked.faults else ""
    return (
        "Anybody can score this heat again from its presses, with the exported file: stavewise "
        f"judge --heat FILE{noted}. It deals the same notes from the level and the seed in the "
        "file, and must agree to the point."
    )


# Values


def standings_title(shows: Shows) -> str:
    """What stands over the list."""
    return "Standings" if shows is Shows.ALL else "The first three places"


def points(value: float) -> str:
    """With one decimal; never -0.0."""
    return f"{round(value, 1) + 0.0:.1f}".replace("-", "−")


def signed(value: float) -> str:
    """A difference with its sign."""
    text = points(value)
    if text == "0.0":
        return SAME
    return f"+{text}" if value > 0 else text


def seconds(value: float | None) -> str:
    """A time."""
    return NO_VALUE if value is None else f"{value:.2f} s"


def tempo(score: Score) -> str:
    """A reading tempo with its word."""
    if score.tempo_per_min is None:
        return NO_VALUE
    return f"{score.tempo_word} {score.tempo_per_min:.0f}"
