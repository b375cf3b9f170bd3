# SPDX-License-Identifier: MIT
"""A reader's progress as tables: CSV as RFC 4180 has it, UTF-8 with a mark so that spreadsheets
know it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime

from game.paper.csv_table import ROUND, csv_table
from game.reader import Progress
from game.store import RoundFigures

FILES = ("signs.csv", "rounds.csv", "misreads.csv")

SIGNS = (
    "clef", "staff_position", "note", "altered_by", "certainty", "certainty_low",
    "certainty_high", "time_s", "time_low_s", "time_high_s", "answers_faded", "recall", "due",
)  # fmt: skip
MISREADS = (
    "misread", "count_faded", "share", "example_clef", "example_shown", "example_read_as",
    "example_key_played", "example_when",
)  # fmt: skip


def progress_csv(progress: Progress, rounds: Iterable[RoundFigures]) -> dict[str, bytes]:
    """File name -> content, for every name of :data:`FILES`.

    Times are ISO 8601 in UTC; shares are 0 to 1; staff positions count from the bottom line, 0;
    an empty cell is what is not known.
    """
    return {
        "signs.csv": csv_table(SIGNS, _signs(progress)),
        "rounds.csv": csv_table(
            tuple(ROUND), ([value(one) for value in ROUND.values()] for one in rounds)
        ),
        "misreads.csv": csv_table(MISREADS, _misreads(progress)),
    }


def _signs(progress: Progress) -> Iterable[Sequence[object]]:
    for sign, known in progress.signs:
        step = sign.clef.step_at(sign.position)
        octave, letter = divmod(step, 7)
        yield (
            sign.clef.value,
            sign.position,
            f"{'CDEFGAB'[letter]}{octave}",
            sign.source.value,
            *(
                f"{value:.4f}" if one is known.certainty or known.timed else ""
                for one in (known.certainty, known.time_s)
                for value in (one.mean, one.low, one.high)
            ),
            f"{known.answers:.2f}",
            "" if known.recall is None else f"{known.recall:.4f}",
            "" if known.due is None else _when(known.due),
        )


def _misreads(progress: Progress) -> Iterable[Sequence[object]]:
    for one in progress.misreads:
        row: list[object] = [one.kind.value, f"{one.count:.2f}", f"{one.share:.4f}"]
        example = one.example
        if example is None:
            row += [""] * 5
        else:
            row += [
                example.note.clef.value,
                example.shown.spelling,
                example.read.spelling,
                example.played,
                _when(example.at),
            ]
        yield row


def _when(seconds: float) -> str:
    return datetime.fromtimestamp(seconds, UTC).isoformat(timespec="seconds")
