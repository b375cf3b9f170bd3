# SPDX-License-Identifier: MIT
"""Tables for spreadsheets, and the columns that every table of rounds has."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC

from game.heats.csv_cells import guarded
from game.store import RoundFigures

ROUND: Mapping[str, Callable[[RoundFigures], object]] = {
    "round": lambda one: one.id,
    "started": lambda one: one.started.astimezone(UTC).isoformat(timespec="seconds"),
    "level": lambda one: guarded(one.level_id),  # its author's own
    "kind": lambda one: one.kind,
    "score": lambda one: one.score,
    "accuracy": lambda one: one.accuracy,
    "median_s": lambda one: one.median_s,
    "tempo_per_min": lambda one: one.tempo_per_min,
    "slots": lambda one: one.slots,
    "right": lambda one: one.right,
    "passed": lambda one: int(one.passed),
    "complete": lambda one: int(one.complete),
}
"""Column -> its cell. Times are ISO 8601 in UTC; figures are not rounded."""


def csv_table(head: Sequence[str], rows: Iterable[Iterable[object]]) -> bytes:
    """CSV as RFC 4180 has it, UTF-8 with a mark so that spreadsheets know it; None is empty.

    Text that may be anything must be :func:`game.heats.csv_cells.guarded` before.
    """
    file = io.StringIO()
    writer = csv.writer(file)
    writer.writerow(head)
    writer.writerows(rows)
    return file.getvalue().encode("utf-8-sig")
