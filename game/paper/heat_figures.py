# SPDX-License-Identifier: MIT
"""What a heat came to, as values: what its pages and tables show, and nothing of how they look."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from statistics import median

from game.heats.forms import Fairness, fairness
from game.heats.heat import Chair, Heat, HeatPhase
from game.heats.reading import ReadingCounts, reading_of, reading_of_class
from game.heats.setup import HeatSetup, Seat
from game.heats.standings import ScoreChange, SeatOutcome, Standing, Standings, change, standings_of
from game.levels import Note, Prompt, Slot
from game.notation import Bar, Clef, Pitch
from game.reader import Misread
from game.reader.sign import ReadingItem, signs_of
from game.rounds import Round

LOOKED_AT = 3
"""Signs that a slip says are worth another look."""

Misreads = tuple[tuple[Misread, int], ...]
"""Kinds of misread and how often each was made: the most frequent first, but last those without a
clear reason."""


@dataclass(frozen=True, slots=True)
class Met:
    """A sign that was asked for, and how it was read.

    Args:
        sign: which.
        pitch: what it sounded, where it was missed if it was.
        prompt: it alone, to be engraved.
        asked: answers that say something about it.
        missed: those of them that were wrong.
        usual_s: median seconds of the right ones; None where no note alone told them.
    """

    sign: ReadingItem
    pitch: Pitch
    prompt: Prompt
    asked: int
    missed: int
    usual_s: float | None = None


@dataclass(frozen=True)
class SeatFigures:
    """A seat and how it came out.

    Args:
        row: its place in the standings, or why it has none.
        shared: somebody else has the same place.
        met: the signs that it read, the most missed first, then the slowest.
        misreads: how it misread.
        change: of the score since the heat that this one is compared with; None where there is
            none, or it did not count in both.
    """

    row: Standing
    shared: bool = False
    met: tuple[Met, ...] = ()
    misreads: Misreads = ()
    change: float | None = None

    @property
    def again(self) -> tuple[Met, ...]:
        """Up to three signs to look at again: missed ones, then those that took longest."""
        usual = self.row.score.median_s
        slow = (
            one
            for one in self.met
            if not one.missed
            and usual is not None
            and one.usual_s is not None
            and one.usual_s > usual
        )
        return (*(one for one in self.met if one.missed), *slow)[:LOOKED_AT]


@dataclass(frozen=True)
class HeatFigures:
    """What a heat came to.

    Args:
        setup: what it was played on.
        standings: who came where.
        seats: in the same order.
        met: the signs that were read by those that count, the most missed first.
        misreads: in which ways they misread.
        places: clef and staff position -> how often it was missed, and how often asked for.
        closed: the heat is over for good.
        change: since an earlier heat; None where it is not compared with one.
        fairness: how alike the forms were of those who began to play.
    """

    setup: HeatSetup
    standings: Standings
    seats: tuple[SeatFigures, ...]
    met: tuple[Met, ...] = ()
    misreads: Misreads = ()
    places: Mapping[tuple[Clef, int], tuple[int, int]] = field(default_factory=dict)
    closed: bool = True
    change: ScoreChange | None = None
    fairness: Fairness = field(default_factory=Fairness)

    @property
    def played(self) -> tuple[SeatFigures, ...]:
        """All who played, counted or not, by number, so that their order tells nothing."""
        absent = SeatOutcome.DID_NOT_PLAY
        found = (one for one in self.seats if one.row.score.slots and one.row.outcome is not absent)
        return tuple(sorted(found, key=lambda one: one.row.seat.number))


def heat_figures(heat: Heat, before: Heat | None = None) -> HeatFigures:
    """The figures of a heat.

    Args:
        heat: at any moment; a seat that is still playing has the figures that it has so far.
        before: an earlier one of the same class, to say what has changed; readers who counted in
            both are compared, known by what the roster calls them, else by a name that nobody
            shares.

    Raises:
        ValueError: the earlier one is of another level or length.
    """
    standings = standings_of(heat)
    changed = None
    if before is not None:
        changed = change(_known(standings), _known(standings_of(before)))
        if changed is None or heat.setup.level_text != before.setup.level_text:
            raise ValueError(
                "the two heats cannot be compared: "
                f"{_of(before.setup)} came before, and now {_of(heat.setup)}"
            )
    taken = Counter(row.place for row in standings.placed)
    chairs = {chair.seat.number: chair for chair in heat.chairs}
    each = {} if changed is None else changed.each
    seats = tuple(
        _seat(row, chairs[row.seat.number], taken[row.place] > 1 and row.place is not None, each)
        for row in standings.rows
    )
    counted = [
        one.row.seat.number for one in seats if one.row.outcome is not SeatOutcome.DISQUALIFIED
    ]
    rounds = [found for number in counted if (found := chairs[number].round) is not None]
    reading = reading_of_class(heat)
    return HeatFigures(
        heat.setup,
        standings,
        seats,
        _met(reading, rounds),
        _often(reading),
        _places(reading),
        heat.phase is HeatPhase.ENDED,
        changed,
        fairness(heat.setup, heat.begun),
    )


def _of(setup: HeatSetup) -> str:
    return f"{setup.kind} on {setup.level_id}"


def _known(standings: Standings) -> Standings:
    """The standings with every reader known by one thing: the roster's, or the name alone."""
    often = Counter(_who(row.seat) for row in standings.placed)
    rows = []
    for row in standings.rows:
        who = _who(row.seat)
        rows.append(replace(row, seat=replace(row.seat, member=who if often[who] == 1 else None)))
    return replace(standings, rows=tuple(rows))


def _who(seat: Seat) -> str | None:
    """What a reader is known by from heat to heat; None for a seat that is only a number."""
    if seat.member is not None:
        return f"member {seat.member}"
    return f"name {seat.name}" if seat.name else None


def _seat(row: Standing, chair: Chair, shared: bool, each: Mapping[str, float]) -> SeatFigures:
    if chair.round is None:
        return SeatFigures(row)
    reading = reading_of(chair.round)
    counts = row.outcome is SeatOutcome.PLACED
    changed = each.get(_who(row.seat) or "") if counts else None
    return SeatFigures(row, shared, _met(reading, [chair.round]), _often(reading), changed)


def _met(reading: ReadingCounts, rounds: Iterable[Round]) -> tuple[Met, ...]:
    examples: dict[ReadingItem, tuple[Prompt, Note, bool]] = {}
    times: dict[ReadingItem, list[float]] = {}
    for played in rounds:
        for result in played.results:
            prompt = played.prompts[result.prompt]
            signs = signs_of(prompt)
            notes = [note for note in prompt.slots[result.slot].notes if note.id in signs]
            for note in notes:
                sign = signs[note.id]
                if sign not in examples or (examples[sign][2] and not result.right):
                    examples[sign] = prompt, note, result.right
                alone = len(notes) == 1 and played.pulse is None
                if result.right and result.t is not None and alone:
                    times.setdefault(sign, []).append(result.t)
    found = [
        Met(
            sign,
            examples[sign][1].pitch,
            _alone(*examples[sign][:2]),
            asked,
            reading.missed[sign],
            median(times[sign]) if sign in times else None,
        )
        for sign, asked in reading.seen.items()
    ]
    found.sort(
        key=lambda one: (
            -one.missed,
            -one.missed / one.asked,
            -(one.usual_s or 0.0),
            one.sign.name,
        )
    )
    return tuple(found)


def _alone(prompt: Prompt, note: Note) -> Prompt:
    """A note by itself, with whatever altered it where it stood."""
    sign = note.sign or Bar(prompt.signature).sign(note.staff, note.pitch)
    return Prompt(prompt.signature, (Slot((Note("n", note.pitch, note.staff, note.clef, sign),)),))


def _often(reading: ReadingCounts) -> Misreads:
    return tuple(sorted(reading.kinds(), key=lambda one: one[0] is Misread.UNKNOWN))


def _places(reading: ReadingCounts) -> dict[tuple[Clef, int], tuple[int, int]]:
    found: dict[tuple[Clef, int], tuple[int, int]] = {}
    for sign, asked in reading.seen.items():
        missed, before = found.get((sign.clef, sign.position), (0, 0))
        found[sign.clef, sign.position] = missed + reading.missed[sign], before + asked
    return found
