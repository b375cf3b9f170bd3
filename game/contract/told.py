# SPDX-License-Identifier: MIT
"""The JSON of what is told of readers and of past heats."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Literal, TypedDict

from game.contract.form import told

if TYPE_CHECKING:
    from game.reader import Progress
    from game.session.records import History
    from game.store import KeptHeat


class PastHeatJson(TypedDict):
    """An ended heat; `group` is its class as it was called then, empty where there was none."""

    id: str
    began: str
    group: str
    level: str


class PastHeatsJson(TypedDict):
    """``heat list --json``: the latest first. Times are ISO 8601 in UTC, here and below."""

    format: Literal[1]
    heats: list[PastHeatJson]


class RoundLineJson(TypedDict):
    """A finished round and its figures; `round` is its number."""

    round: int
    started: str
    kind: str
    score: float
    accuracy: float
    median_s: float | None
    tempo_per_min: float | None
    slots: int
    right: int
    passed: bool
    complete: bool
    dated_ahead: bool


class WeekJson(TypedDict):
    """A week as ISO 8601 names it; `best` is the number of its best round, null where none has
    points that compare with others."""

    week: str
    rounds: int
    best: int | None


class LevelHistoryJson(TypedDict):
    """A level's rounds and weeks, the oldest first."""

    level: str
    title: str
    rounds: list[RoundLineJson]
    weeks: list[WeekJson]


class HistoryJson(TypedDict):
    """``history READER --json``: the level that was played last comes first."""

    format: Literal[1]
    reader: str
    levels: list[LevelHistoryJson]


class EstimateJson(TypedDict):
    """A figure with the interval in which it lies, 90 times in 100."""

    mean: float
    low: float
    high: float


class SignJson(TypedDict):
    """What is known of one line or space under one kind of sign. The staff position counts from
    the bottom line, 0; `answers_faded` counts older answers for less."""

    clef: str
    staff_position: int
    altered_by: str
    certainty: EstimateJson | None
    time_s: EstimateJson | None
    answers_faded: float
    recall: float | None
    due: str | None


class MisreadJson(TypedDict):
    """A kind of misread, how often (older ones count for less), and its share of all, 0 to 1."""

    misread: str
    count_faded: float
    share: float


class ProgressJson(TypedDict):
    """``progress READER --json``: what is known of a reader."""

    format: Literal[1]
    reader: str
    rounds: int
    signs: list[SignJson]
    misreads: list[MisreadJson]


class FolderJson(TypedDict):
    """``levels own --json``: the folder for levels of one's own."""

    format: Literal[1]
    folder: str


def past_heats_json(heats: Iterable[tuple[KeptHeat, str, str]]) -> PastHeatsJson:
    """Ended heats, each with the titles of its class and its level."""
    lines = [
        told(PastHeatJson, id=heat.uuid, began=_when(heat.started), group=group, level=level)
        for heat, group, level in heats
    ]
    return told(PastHeatsJson, heats=lines)


def history_json(reader: str, levels: Iterable[tuple[str, History]]) -> HistoryJson:
    """A reader's histories, each with the title of its level."""
    lines = []
    for title, history in levels:
        rounds = [
            told(
                RoundLineJson,
                one,
                round=one.id,
                started=_when(one.started),
                dated_ahead=one.id in history.ahead,
            )
            for one in history.rounds
        ]
        weeks = [
            told(WeekJson, week, week=week.name, best=None if week.best is None else week.best.id)
            for week in history.weeks
        ]
        line = {"level": history.level_id, "title": title, "rounds": rounds, "weeks": weeks}
        lines.append(told(LevelHistoryJson, **line))
    return told(HistoryJson, reader=reader, levels=lines)


def progress_json(reader: str, found: Progress, rounds: int) -> ProgressJson:
    """A reader's progress; `rounds` are those that were finished."""
    signs = [
        told(
            SignJson,
            known,
            clef=sign.clef,
            staff_position=sign.position,
            altered_by=sign.source,
            certainty=told(EstimateJson, known.certainty),
            time_s=told(EstimateJson, known.time_s) if known.timed else None,
            answers_faded=known.answers,
            due=None if known.due is None else _when(datetime.fromtimestamp(known.due, UTC)),
        )
        for sign, known in found.signs
    ]
    misreads = [
        told(MisreadJson, one, misread=one.kind, count_faded=one.count) for one in found.misreads
    ]
    return told(ProgressJson, reader=reader, rounds=rounds, signs=signs, misreads=misreads)


def folder_json(folder: str) -> FolderJson:
    """A folder."""
    return told(FolderJson, folder=folder)


def _when(when: datetime) -> str:
    return when.astimezone(UTC).isoformat(timespec="seconds")
