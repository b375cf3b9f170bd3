# SPDX-License-Identifier: MIT
"""Builds what the tests of the store keep in it."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from game.rounds import Flip, Press, Terms
from game.store import ResultSummary, Store

NOON = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
TERMS = Terms("treble-lines", 'title = "Lines ♯"\n', seed=7, prompts=24)


def minutes(number: float) -> datetime:
    """So many minutes after noon."""
    return NOON + timedelta(minutes=number)


def result(points: float, *, complete: bool = True, passed: bool = False) -> ResultSummary:
    """A result with these mean points."""
    return ResultSummary(max(0.0, points), points, 0.5, 1.25, 20.0, 24, 12, passed, complete)


def play(
    store: Store,
    reader: int,
    points: float = 50.0,
    at: datetime = NOON,
    terms: Terms = TERMS,
    *,
    complete: bool = True,
    passed: bool = False,
) -> int:
    """A finished round in the store."""
    record = store.begin(reader, terms, at)
    store.append(record, Flip(0.0))
    store.append(record, Press(1.0, 60))
    store.finish(record, result(points, complete=complete, passed=passed))
    return record


def script(code: str, *args: str | Path) -> subprocess.Popen[str]:
    """Another process that runs this code with game and this module at hand."""
    tests = Path(__file__).resolve().parent
    path = os.pathsep.join([str(tests.parent), str(tests)])
    return subprocess.Popen(
        [sys.executable, "-c", code, *map(str, args)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": path},
    )
