# SPDX-License-Identifier: MIT
"""What a slip says to its reader: their own figures, and nobody else's."""

from __future__ import annotations

from collections.abc import Iterator

from game.heats.standings import SeatOutcome
from game.levels import Level
from game.paper.heat_figures import Met, SeatFigures
from game.paper.heat_words import (
    BROKEN,
    NO_VALUE,
    SAME,
    HeatReport,
    missed_of,
    points,
    seconds,
    signed,
)
from game.reader import Misread
from game.rounds import Score

NOT_COUNTED = "This round was not counted in the heat."
NO_SLIPS = "Nobody has played, so there are no slips."
_TIPS: dict[Misread, str] = {
    Misread.OCTAVE: "You often had the right name in another octave: look how far from middle C "
    "the note is.",
    Misread.SIGNATURE: "Look at the key signature before you start: it also holds further on.",
    Misread.SIGN: "Look for a sharp or flat just before the note, or earlier in the same bar.",
    Misread.CARRIED: "A new bar wipes the signs away: after the barline start afresh.",
    Misread.NATURAL: "A natural takes the sharp or flat away: then it is the white key.",
    Misread.CLEF: "Look at the clef first: upper and lower staff have different names.",
    Misread.STEP: "You were often just one step away: is the note on a line or in a space?",
    Misread.THIRD: "You were often one line or space away: count from a note that you know.",
    Misread.LEDGER: "Count the short lines outside the staff once more, one by one.",
    Misread.SLIP: "You read well and your finger met the key next door: no hurry.",
    Misread.MIRROR: "Higher on the staff is further to the right on the keys.",
    Misread.UNKNOWN: "Take the time to look once more before you press.",
}


def head(told: HeatReport, one: SeatFigures) -> str:
    """What was read, under the name; the seat too, by which a slip finds its reader anyhow."""
    seat = f"seat {one.row.seat.number}"
    return " · ".join(filter(None, (told.group, told.level_title, told.length, told.day, seat)))


def figures(one: SeatFigures, level: Level) -> Iterator[tuple[str, str, str]]:
    """A reader's own figures: what, how much, and what that means."""
    score = one.row.score
    total = points(one.row.points)
    yield "Points", total, f"{points(score.score)} a note, of 100 at most"
    yield "Right at once", f"{score.right} of {score.slots}", _accuracy_words(score)
    if score.median_s is None:
        yield "Time", NO_VALUE, "no right answer yet"
    elif level.time is not None:
        means = "half of your notes were nearer" if score.right > 1 else "your one right note"
        yield "Off the beat", seconds(score.median_s), means
    else:
        means = (
            "half of your right notes were quicker" if score.right > 1 else "your one right note"
        )
        yield "Time", seconds(score.median_s), means
    yield "Tempo", score.tempo_word or NO_VALUE, _tempo_meaning(score)


def _accuracy_words(score: Score) -> str:
    if score.right == score.slots:
        return "every one at the first press"
    return "found at the first press"


def _tempo_meaning(score: Score) -> str:
    if score.tempo_per_min is None:
        return "nothing was played"
    per_min = round(score.tempo_per_min)
    return f"{per_min} right {'note' if per_min == 1 else 'notes'} a minute"


def change_line(one: SeatFigures) -> str:
    """Against oneself alone; empty where there is nothing to compare."""
    change = one.change
    if change is None:
        return ""
    if signed(change) == SAME:
        return "As many points a note as last time."
    if change > 0:
        return f"{points(change)} more points a note than last time."
    return (
        f"{points(-change)} fewer points a note than last time. It happens: the next round "
        "starts afresh."
    )


def sign_line(met: Met) -> str:
    """Why a sign is worth another look."""
    if met.missed:
        return missed_of(met)
    return f"right, in {seconds(met.usual_s)}"


def tip(one: SeatFigures) -> str:
    """The misread that was made most, in a friendly line."""
    if one.misreads:
        return _TIPS[one.misreads[0][0]]
    if one.row.score.right:
        return "Not one wrong key!"
    return "Next time, begin with a note that you know."


def notes(told: HeatReport, one: SeatFigures) -> Iterator[str]:
    """What must be said before the figures."""
    if told.checked is not None and told.checked.faults:
        yield BROKEN
    if one.row.outcome is SeatOutcome.DISQUALIFIED:
        yield NOT_COUNTED


def again_line(again: tuple[Met, ...]) -> str:
    """What stands over the signs to look at again."""
    missed = any(met.missed for met in again)
    return "Look at these once more" if missed else "These took you longest"
