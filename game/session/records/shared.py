# SPDX-License-Identifier: MIT
"""A round on its way from one machine to another, and its text."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields
from datetime import UTC, datetime
from typing import Any, Literal

from game.rounds import Event, Press, Round, Terms, passes
from game.store import Record, ResultSummary

FORMAT: Literal[1] = 1
MARK = "round"


@dataclass(frozen=True, slots=True)
class SharedRound:
    """A round that was played somewhere.

    Args:
        name: of its reader; empty where it is not said.
        terms: what it was played on.
        events: all of them, in order of time.
        started: UTC.
        app_version: of the game that wrote it down.
        result: the figures it claims, which are worth no more than :func:`check` says.
    """

    name: str
    terms: Terms
    events: tuple[Event, ...]
    started: datetime
    app_version: str
    result: ResultSummary

    @classmethod
    def of(cls, record: Record | SharedRound, ended: Round, name: str = "") -> SharedRound:
        """A record to be handed on, with the figures of its round after its last event."""
        terms = record.terms
        figures = figures_of(terms, ended)
        return cls(name, terms, record.events, record.started, record.app_version, figures)


def figures_of(terms: Terms, ended: Round) -> ResultSummary:
    """The figures of an ended round."""
    known = {
        **asdict(ended.score),
        "complete": ended.complete,
        "passed": passes(terms.level(), ended, known=terms.known),
    }
    return ResultSummary(**{field.name: known[field.name] for field in fields(ResultSummary)})


def record_json(shared: SharedRound) -> dict[str, Any]:
    """The JSON object of a record."""
    terms = asdict(shared.terms)
    if not terms["delay_s"]:
        del terms["delay_s"]  # older games read records without it
    level = {"id": terms.pop("level_id"), "text": terms.pop("level_text")}
    return {
        "stavewise": MARK,
        "format": FORMAT,
        "app_version": shared.app_version,
        "started": shared.started.astimezone(UTC).isoformat().replace("+00:00", "Z"),
        "reader": shared.name or None,
        "level": level,
        "terms": terms,
        "result": asdict(shared.result),
        "events": [_event(event) for event in shared.events],
    }


def record_text(shared: SharedRound) -> str:
    """The text of a record's file: one event a line, so that people can read it too."""
    record = record_json(shared)
    events = ",\n".join(f"    {json.dumps(event)}" for event in record.pop("events"))
    head = json.dumps(record, ensure_ascii=False, indent=2).removesuffix("\n}")
    return f'{head},\n  "events": [\n{events}\n  ]\n}}\n'


def _event(event: Event) -> dict[str, Any]:
    kept: dict[str, Any] = {"t": event.t, "event": type(event).__name__.lower()}
    if isinstance(event, Press):
        kept |= {"key": event.key, "velocity": event.velocity}
    return kept
