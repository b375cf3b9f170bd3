# SPDX-License-Identifier: MIT
"""A record's file as it comes from somebody else: read with care, and refused in plain words."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, fields, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field

from game.rounds import CHORD_WINDOW_S, Event, Flip, Pause, Press, Resume, Stop, Terms, Tick
from game.rounds.shapes import KeyNumber, Misshapen, shaped, shown
from game.rounds.terms import FASTEST_PER_S
from game.session.records.shared import FORMAT, MARK, SharedRound
from game.store import ResultSummary

LARGEST_BYTES = 2_000_000
"""Of a file; half an hour of playing fills a fifth of it."""
MOST_EVENTS = 20_000
MOST_PROMPTS = 2_000
"""Of a round without an end in time: four times what a level can ask for."""
MOST_SECONDS = 1_800
"""Of a timed round, as of a level's own; it holds so many prompts more, see :meth:`Terms.timed`."""
LARGEST_NUMBER = 1e9
"""Of anything in a record but the seed; thirty years of seconds."""
LARGEST_SEED = 2**63 - 1

_HANDED_OVER_S = 0.1
"""A key that went down just before a flip or a pause may be handed over just after it."""
_AGAIN = "Export the round again"
_WHOLE = "Copy the file again, whole"
_BY_HAND = f"{_AGAIN}, and leave the file as it is"
_NEWER = "Install the Stavewise that wrote it, or a newer one"
_MARKS = {mark.__name__.lower(): mark for mark in (Flip, Pause, Resume, Tick, Stop)}
_OF_LEVEL = ("level_id", "level_text")
_T = TypeVar("_T")


class RecordFault(Exception):
    """A record that cannot be used.

    Args:
        file: its name.
        place: where in it: line and column, or the path of a value such as ``events[3].t``.
        what: what is wrong, without a full stop.
        mend: what to do about it, likewise.
    """

    def __init__(self, file: str, place: str, what: str, mend: str) -> None:
        super().__init__(f"{file}: {place}: {what}. {mend}.")
        self.file = file
        self.place = place
        self.what = what
        self.mend = mend


class _Strict(BaseModel):
    model_config = ConfigDict(strict=True, allow_inf_nan=False)


class _Level(_Strict):
    id: str = Field(max_length=60)
    text: str


class _Event(_Strict):
    t: float = Field(ge=0, le=LARGEST_NUMBER)
    event: Literal["flip", "press", "pause", "resume", "tick", "stop"]
    key: KeyNumber | None = None
    velocity: int | None = Field(None, ge=1, le=127)


class _File(_Strict):
    app_version: str = Field(max_length=40)
    started: str
    reader: str | None = Field(None, max_length=80)
    level: _Level
    terms: dict[str, Any]
    result: dict[str, Any]
    events: list[_Event] = Field(max_length=MOST_EVENTS)


def read_record(path: Path) -> SharedRound:
    """Read a record's file; its figures are not checked yet.

    Raises:
        RecordFault: the file cannot be read, or is no record that can be scored.
    """
    name = str(path)
    try:
        with path.open("rb") as file:
            kept = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        what = f"it cannot be read ({(error.strerror or 'no access').lower()})"
        raise RecordFault(name, "the file", what, "Check its name and who may read it") from None
    if len(kept) > LARGEST_BYTES:
        what = f"it is larger than {LARGEST_BYTES // 1_000_000} MB, which no round is"
        raise RecordFault(name, "the file", what, _AGAIN)
    try:
        text = kept.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        what = f"it is not text in UTF-8 (byte {error.start + 1})"
        raise RecordFault(name, "the file", what, _AGAIN) from None
    return parse_record(text, name)


def parse_record(text: str, file: str) -> SharedRound:
    """The record of a text; `file` is its name, for messages.

    Raises:
        RecordFault: as :func:`read_record`.
    """
    try:
        value = json.loads(text)
    except json.JSONDecodeError as error:
        # What follows the fault says whether the rest is missing or something else stands there.
        cut = not text[error.pos :].strip() or error.msg.startswith("Unterminated string")
        place = f"line {error.lineno}, column {error.colno}"
        if cut:
            what = "the file is empty" if not text.strip() else "the file breaks off here"
            raise RecordFault(file, place, what, _WHOLE) from None
        raise RecordFault(file, place, f"this is not JSON ({error.msg})", _AGAIN) from None
    except (ValueError, RecursionError):  # a number of thousands of digits; brackets in brackets
        what = "it holds a number or a nesting that no record has"
        raise RecordFault(file, "the file", what, _AGAIN) from None
    return record_from(value, file)


def record_from(value: object, file: str) -> SharedRound:
    """The record of a JSON value.

    Raises:
        RecordFault: as :func:`read_record`.
    """
    if not isinstance(value, dict) or value.get("stavewise") != MARK:
        what = f'it is not a round of Stavewise: "stavewise" is not "{MARK}"'
        raise RecordFault(file, "the file", what, "Choose a file of ‘stavewise record export’")
    if (found := value.get("format")) != FORMAT or isinstance(found, bool):
        what = f"found {shown(found)}; this Stavewise reads {FORMAT}"
        raise RecordFault(file, "format", what, _NEWER)
    level = value.get("level")
    if not isinstance(level, dict) or not level.get("text"):
        what = "the text of the level is missing, so its notes cannot be dealt again"
        raise RecordFault(file, "level.text", what, _AGAIN)
    read = _valid(_File, value, file)
    return SharedRound(
        read.reader or "",
        _terms(read, file),
        _events(read.events, file),
        _started(read.started, file),
        read.app_version,
        _result(read.result, file),
    )


def _terms(read: _File, file: str) -> Terms:
    known = {field.name for field in fields(Terms)} - {*_OF_LEVEL}
    unknown = sorted(read.terms.keys() - known)
    if unknown:
        what = "this Stavewise does not know it, and it may change the score"
        raise RecordFault(file, f"terms.{unknown[0]}", what, _NEWER)
    level = {"level_id": read.level.id, "level_text": read.level.text}
    terms = _valid(Terms, {**read.terms, **level}, file, "terms")
    _bounded(terms, "terms", file)
    if terms.seconds is not None and terms.seconds > MOST_SECONDS:
        what = f"found {terms.seconds}; no round is longer than {MOST_SECONDS}"
        raise RecordFault(file, "terms.seconds", what, _BY_HAND)
    most = max(MOST_PROMPTS, FASTEST_PER_S * (terms.seconds or 0))
    if terms.prompts > most:  # dealing them would take its time
        what = f"found {terms.prompts}; such a round has no more than {most}"
        raise RecordFault(file, "terms.prompts", what, _BY_HAND)
    if not 0 <= terms.compass_low <= terms.compass_high <= 127:
        what = f"found {terms.compass_low} to {terms.compass_high}; keys go from 0 to 127"
        raise RecordFault(file, "terms.compass_low", what, _BY_HAND)
    if terms.window_s < 0:
        raise RecordFault(file, "terms.window_s", f"found {terms.window_s}; at least 0", _BY_HAND)
    return replace(terms, window_s=CHORD_WINDOW_S)  # nobody brings one of their own


def _events(read: list[_Event], file: str) -> tuple[Event, ...]:
    events: list[Event] = []
    last = 0.0
    for number, event in enumerate(read):
        place = f"events[{number}]"
        if event.t < last and not (event.event == "press" and last - event.t <= _HANDED_OVER_S):
            what = f"found {event.t:g} after {last:g}; time does not go back"
            raise RecordFault(file, f"{place}.t", what, _BY_HAND)
        last = max(last, event.t)
        if event.event != "press":
            events.append(_MARKS[event.event](event.t))
        elif event.key is None:
            what = "a press without its key; allowed: 0 to 127"
            raise RecordFault(file, f"{place}.key", what, _BY_HAND)
        else:
            events.append(Press(event.t, event.key, event.velocity or 64))
    return tuple(events)


def _started(text: str, file: str) -> datetime:
    try:
        started = datetime.fromisoformat(text)
        if started.tzinfo is None:
            raise ValueError
        return started.astimezone(UTC)
    except (ValueError, OverflowError):
        what = f"found {shown(text)}; allowed: a time with its zone, such as 2026-03-01T12:00:00Z"
        raise RecordFault(file, "started", what, _BY_HAND) from None


def _result(read: Mapping[str, Any], file: str) -> ResultSummary:
    result = _valid(ResultSummary, read, file, "result")
    _bounded(result, "result", file)
    return result


def _valid(kind: type[_T], value: Mapping[str, Any], file: str, place: str = "") -> _T:
    try:
        return shaped(kind, value)
    except Misshapen as error:
        where = ".".join(filter(None, (place, error.place)))
        raise RecordFault(file, where or "the file", error.what, _BY_HAND) from None


def _bounded(value: Terms | ResultSummary, place: str, file: str) -> None:
    for name, number in asdict(value).items():
        most = LARGEST_SEED if name == "seed" else LARGEST_NUMBER
        if isinstance(number, int | float) and abs(number) > most:
            what = "found a number larger than any round has"
            raise RecordFault(file, f"{place}.{name}", what, _BY_HAND)
