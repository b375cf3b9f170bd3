# SPDX-License-Identifier: MIT
"""A heat's result as a table: CSV as RFC 4180 has it, UTF-8 with a mark so that spreadsheets know
it."""

from __future__ import annotations

from collections.abc import Iterator

from game.heats.csv_cells import guarded
from game.heats.standings import SeatOutcome
from game.paper import heat_words as words
from game.paper.csv_table import csv_table
from game.paper.heat_figures import SeatFigures
from game.paper.heat_words import HeatReport

COLUMNS = (
    "class", "date", "level", "length", "seed", "seat", "reader", "outcome", "place", "points",
    "score", "accuracy", "median_s", "tempo_per_min", "tempo", "right", "slots", "earlier_tries",
    "score_change", "missed_most", "misread_most", "chain",
)  # fmt: skip


def results_csv(told: HeatReport) -> bytes:
    """A row for each seat under :data:`COLUMNS`: those with a place first, then the others.

    A date is as in ISO 8601, a length as in ``counted:24`` (prompts) or ``timed:60`` (seconds);
    `points` are the sum of the slots' points and `score`, to 100, is their mean, either 0 when
    below it; `accuracy` is a share from 0 to 1. `missed_most` are up to three signs, such as
    ``bass F3``; an empty cell is what is not known or does not apply. Text that a spreadsheet would
    take for a formula has an apostrophe in front, as in a roster. `chain` is how the chain of the
    heat's file ends, or ``broken``.
    """
    return csv_table(COLUMNS, (_row(told, one) for one in told.figures.seats))


def _row(told: HeatReport, one: SeatFigures) -> Iterator[object]:
    setup, row, score = told.figures.setup, one.row, one.row.score
    yield guarded(told.group)
    yield "" if told.when is None else told.when.isoformat()[:10]
    yield guarded(setup.level_id)
    yield setup.kind
    yield setup.seed
    yield row.seat.number
    yield guarded(row.seat.name)
    yield row.outcome.value
    yield "" if row.place is None else row.place
    if row.outcome is not SeatOutcome.DID_NOT_PLAY and score.slots:
        yield f"{row.points:.4f}"
        yield f"{score.score:.4f}"
        yield f"{score.accuracy:.4f}"
        yield "" if score.median_s is None else f"{score.median_s:.4f}"
        yield "" if score.tempo_per_min is None else f"{score.tempo_per_min:.4f}"
        yield score.tempo_word or ""
    else:
        yield from [""] * 6
    yield score.right
    yield score.slots
    yield row.redone
    yield "" if one.change is None else f"{one.change:.4f}"
    yield "; ".join(
        f"{met.sign.clef.value} {words.sign_name(met, told.names)}"
        for met in one.again
        if met.missed
    )
    yield one.misreads[0][0].value if one.misreads else ""
    if told.checked is None:
        yield ""
    else:
        yield "broken" if told.checked.faults else told.checked.ends
