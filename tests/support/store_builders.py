# SPDX-License-Identifier: MIT
"""Builds what the tests of the store keep in it."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from places import MODULES
from sqlalchemy import Engine, create_engine

from game.rounds import Flip, Press, Terms
from game.store import ResultSummary, Store
from game.store.place import find_place

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


@contextmanager
def stores_engine(url: str) -> Iterator[Engine]:
    """Another program's way to the database of a store."""
    engine = create_engine(find_place(url).url)
    try:
        yield engine
    finally:
        engine.dispose()


def until(holds: Callable[[], object]) -> None:
    """Return as soon as it does."""
    give_up = time.monotonic() + 60
    while not holds():
        assert time.monotonic() < give_up, "it did not come about within a minute"
        time.sleep(0.02)


def script(code: str, *args: str | Path) -> subprocess.Popen[str]:
    """Another process that runs this code with game and this module at hand."""
    return subprocess.Popen(
        [sys.executable, "-c", code, *map(str, args)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": MODULES},
    )


def at_once(code: str, *args: Sequence[str | Path]) -> list[str]:
    """What processes print that go on at the same moment, one for each of `args`. Their code prints
    "ready", and reads a line. None is left behind: a later test would be blamed for it."""
    children = [script(code, *own) for own in args]
    try:
        for child in children:
            assert child.stdout is not None and child.stdout.readline() == "ready\n"
        for child in children:
            assert child.stdin is not None
            child.stdin.write("go\n")
            child.stdin.flush()
        said = [child.communicate(timeout=90)[0] for child in children]
        assert [child.returncode for child in children] == [0] * len(children)
        return said
    finally:
        for child in children:
            child.kill()
            child.communicate()


# What the first games made: the DDL and the rows as they wrote them.
FORM_1 = """
CREATE TABLE stavewise (
    version INTEGER NOT NULL
);
CREATE TABLE readers (
    id INTEGER NOT NULL,
    name VARCHAR(80) NOT NULL,
    folded VARCHAR(80) NOT NULL,
    archived BOOLEAN NOT NULL,
    created DATETIME NOT NULL,
    PRIMARY KEY (id),
    UNIQUE (folded)
);
CREATE TABLE settings (
    reader INTEGER NOT NULL,
    "key" VARCHAR(100) NOT NULL,
    value JSON NOT NULL,
    PRIMARY KEY (reader, "key")
);
CREATE TABLE records (
    id INTEGER NOT NULL,
    reader INTEGER NOT NULL,
    level_id VARCHAR(200) NOT NULL,
    kind VARCHAR(40) NOT NULL,
    terms JSON NOT NULL,
    state VARCHAR(10) NOT NULL,
    started DATETIME NOT NULL,
    app_version VARCHAR(40) NOT NULL,
    score DOUBLE,
    mean_points DOUBLE,
    accuracy DOUBLE,
    median_s DOUBLE,
    tempo_per_min DOUBLE,
    slots INTEGER,
    "right" INTEGER,
    passed BOOLEAN,
    complete BOOLEAN,
    PRIMARY KEY (id),
    FOREIGN KEY(reader) REFERENCES readers (id)
);
CREATE INDEX records_by_time ON records (reader, started);
CREATE INDEX records_by_state ON records (state);
CREATE INDEX records_by_best ON records (reader, level_id, kind, mean_points);
CREATE TABLE events (
    record INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    kind VARCHAR(10) NOT NULL,
    t DOUBLE NOT NULL,
    "key" INTEGER,
    velocity INTEGER,
    keyboard TEXT,
    PRIMARY KEY (record, seq),
    FOREIGN KEY(record) REFERENCES records (id)
) WITHOUT ROWID;
INSERT INTO stavewise VALUES (1);
INSERT INTO readers VALUES (1, 'Ольга', 'ольга', 0, '2026-02-28 12:00:00.000000');
INSERT INTO readers VALUES (2, 'Ben', 'ben', 1, '2026-02-28 12:00:00.000000');
INSERT INTO settings VALUES (1, 'names', '"german"');
INSERT INTO records VALUES (1, 1, 'treble-lines', 'counted:24', :terms, 'finished',
    '2026-03-01 12:00:00.000000', '0.1.0', 0.0, -12.5, 0.5, NULL, NULL, 24, 12, 0, 1);
INSERT INTO records VALUES (2, 1, 'treble-lines', 'counted:24', :terms, 'open',
    '2026-03-01 12:05:00.000000', '0.1.0',
    NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL);
INSERT INTO events VALUES (2, 0, 'flip', 0.25, NULL, NULL, NULL);
INSERT INTO events VALUES (2, 1, 'press', 1.5, 61, 70, 'ピアノ');
"""
FORM_1_TERMS = (
    '{"level_id": "treble-lines", "level_text": "title = \\"Lines \\u266f\\"\\n", "seed": 7, '
    '"prompts": 24}'
)


def filled_form_1(path: Path) -> None:
    """A store as the first games left it, with a reader, a round and one broken off."""
    with closing(sqlite3.connect(path)) as game:
        game.execute("PRAGMA journal_mode=WAL")
        for statement in FORM_1.split(";\n"):
            with_terms = {"terms": FORM_1_TERMS} if ":terms" in statement else {}
            game.execute(statement, with_terms)
        game.commit()
