# SPDX-License-Identifier: MIT
"""The file of a heat: everything that is needed to judge it again, sealed by a hash chain.

A JSON object::

    {"format": 2, "program": "…", "setup": {…}, "names": {"3": "Mia"}, "seal": "…",
     "entries": [{"event": {…}, "hash": "…"}, …], "standings": [{…}, …], "chain": "…"}

``setup`` and the events are those of :mod:`game.heats`, without who sat where: that is in
``names``. Where names were left out, ``"left_out": ["names"]`` stands in its place, and seats
stand for them; the chain is the same with names and without. ``seal`` is the SHA-256 of the
setup; each entry's ``hash`` is that of the hash before it, as text, followed by the event;
``chain`` is the last of them. Objects are hashed as JSON in UTF-8 with their keys sorted and no
blanks, numbers as Python writes them and whole ones without a point.

**What it proves.** Whoever noted the chain's last value elsewhere, as it is printed on the result,
can tell whether any event or the setup was altered, left out, added or moved since. Without that
value it finds accidents and casual changes, and names the first.

**What it does not prove.** Somebody who alters an event and works out the whole chain again gets a
file that is sound in itself, with another last value. The chain knows nothing of who sat at a seat,
nor whether it was they who played: ``names`` stand outside it. The standings stand outside too, and
are worked out again from the presses instead.

**Format 1** differs in its standings alone: its points were sums as they were, below 0 too, and
whoever was shown a note had a place though no key was pressed. It is compared with such standings,
and :func:`judge` gives those of today.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from hashlib import sha256
from itertools import chain as chained
from math import isclose
from typing import Annotated, Any

from pydantic import Field

from game.heats.events import HeatEvent, Join, event_from_json, event_to_json
from game.heats.heat import Heat
from game.heats.machine import play
from game.heats.setup import HeatSetup
from game.heats.standings import SeatOutcome, Standings, ranked, standings_of
from game.levels import EmptyPool, LevelFaults
from game.rounds.shapes import shaped

FORMAT = 2
_SAME = 1e-9
_LEAST_NOTED = 8


@dataclass(frozen=True)
class _Form:
    format: Annotated[int, Field(ge=1)]


@dataclass(frozen=True)
class _Entry:
    event: dict[str, Any]
    hash: str


@dataclass(frozen=True)
class _HeatFile:
    setup: dict[str, Any]
    seal: str
    entries: list[_Entry]
    standings: list[dict[str, Any]]
    chain: str
    names: dict[str, Any] = field(default_factory=dict)
    left_out: list[Any] = field(default_factory=list)


def line(value: Mapping[str, Any]) -> str:
    """An object as it is hashed.

    Raises:
        ValueError: it holds a number that is not finite.
    """
    return json.dumps(
        _canonical(value),
        ensure_ascii=False,
        allow_nan=False,
        sort_keys=True,
        separators=(",", ":"),
    )


def hash_after(before: str, value: Mapping[str, Any]) -> str:
    """The hash of an object that follows one of hash `before`, 64 hexadecimal digits."""
    return hash_of_line(before, line(value))


def hash_of_line(before: str, text: str) -> str:
    """As :func:`hash_after`, of what :func:`line` gave."""
    return sha256((before + text).encode("utf-8", "surrogatepass")).hexdigest()


def heat_file(
    setup: HeatSetup,
    events: Iterable[HeatEvent],
    *,
    program: str,
    names: bool = False,
    heat: Heat | None = None,
) -> dict[str, Any]:
    """The file of a heat, as plain values.

    Args:
        setup: as it began.
        events: all of them, in order.
        program: name and version of what writes it.
        names: whether to say who sat at which seat.
        heat: what setup and events make, where that is known already.
    """
    events = tuple(events)
    heat = heat or play(setup, events)
    bare = setup.nameless.to_json()
    seal = last = hash_after("", bare)
    entries = []
    for event in events:
        plain = event_to_json(_nameless(event))
        last = hash_after(last, plain)
        entries.append({"event": plain, "hash": last})
    called = {str(chair.seat.number): chair.seat.name for chair in heat.chairs if chair.seat.name}
    return {
        "format": FORMAT,
        "program": program,
        "setup": bare,
        **({"names": called} if names else {"left_out": ["names"]} if called else {}),
        "seal": seal,
        "entries": entries,
        "standings": standings_of(heat).to_json(),
        "chain": last,
    }


class HeatFileError(ValueError):
    """What was given is no file of a heat; the message names it, the place and what is wrong."""


@dataclass(frozen=True)
class JudgedHeat:
    """A heat's file, judged again.

    Args:
        heat: worked out from the setup and the raw presses.
        standings: likewise.
        faults: where the chain is broken, the first place first; each a sentence.
        differing: what the file's own standings have otherwise; each a sentence.
        chain: the last value of the chain, worked out again.
        nameless: whether the file says that names were left out of it.
    """

    heat: Heat
    standings: Standings
    faults: tuple[str, ...]
    differing: tuple[str, ...]
    chain: str
    nameless: bool = False

    @property
    def sound(self) -> bool:
        """Whether the chain holds and the standings agree."""
        return not self.faults and not self.differing


def judge(
    text: str,
    name: str,
    noted: str | None = None,
    watch: Callable[[Sequence[HeatEvent]], Iterable[HeatEvent]] = iter,
) -> JudgedHeat:
    """Judge the file of a heat again.

    Args:
        text: the file.
        name: of the file, for messages.
        noted: the chain's last value as it was noted elsewhere, or at least its first eight
            digits.
        watch: hands the events on, and may tell how far that is.

    Raises:
        HeatFileError: it is no file of a heat, one of a later format, or its level cannot be
            dealt.
    """
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise HeatFileError(f"{name}: this is not JSON: {error}") from None
    try:
        form = shaped(_Form, data).format
        if form > FORMAT:
            raise ValueError(f"its format is {form}; this program knows those up to {FORMAT}")
        faults = verify(data, noted)
        try:
            setup = HeatSetup.from_json(data["setup"])
        except ValueError as error:
            raise ValueError(f"the setup: {error}") from None
        names = data.get("names", {})
        events = []
        for number, entry in enumerate(data["entries"], 1):
            try:
                events.append(event_from_json(entry["event"]))
            except ValueError as error:
                raise ValueError(f"entry {number}: {error}") from None
    except ValueError as error:
        raise HeatFileError(f"{name}: {error}") from None
    try:
        heat = play(_named(setup, names), (_joined(event, names) for event in watch(events)))
    except (LevelFaults, EmptyPool) as error:
        raise HeatFileError(f"{name}: its level cannot be dealt: {error}") from None
    except ValueError as error:
        raise HeatFileError(f"{name}: {error}") from None
    standings = standings_of(heat)
    worked_out = standings.to_json() if form == FORMAT else _first_format(standings)
    differing = _differing(worked_out, data["standings"])
    nameless = not names and "names" in data.get("left_out", [])
    return JudgedHeat(heat, standings, faults, differing, _last(data), nameless)


def verify(data: Mapping[str, Any], noted: str | None = None) -> tuple[str, ...]:
    """Where the chain of a heat's file is broken, each fault a sentence; none where it holds.

    Args:
        data: the file, as plain values.
        noted: as in :func:`judge`.

    Raises:
        Misshapen: a part of the file is missing or of another kind.
    """
    shaped(_HeatFile, data)
    faults = []
    before = data["seal"]
    if before != hash_after("", data["setup"]):
        faults.append("the setup was altered: it does not have the hash that was kept")
    for number, entry in enumerate(data["entries"], 1):
        event = entry["event"]
        if entry["hash"] != hash_after(before, event):
            faults.append(
                f"entry {number} ({_what(event)}) was altered, or one before it left out, added "
                "or moved"
            )
            break
        before = entry["hash"]
    else:
        if data["chain"] != before:
            faults.append("entries at the end were left out or added: the last hash is not theirs")
    if noted is not None and not faults:
        digits = noted.replace(" ", "").lower()
        if len(digits) < _LEAST_NOTED or not before.startswith(digits):
            faults.append(
                f"the chain ends with {printed(before)}, and not with {noted} as it was noted: "
                "this is another heat, or all of it was written again"
            )
    return tuple(faults)


def printed(value: str) -> str:
    """A hash as it is printed on a result: its first 16 digits, in fours."""
    return " ".join(value[at : at + 4] for at in range(0, 16, 4))


def _last(data: Mapping[str, Any]) -> str:
    last = hash_after("", data["setup"])
    for entry in data["entries"]:
        last = hash_after(last, entry["event"])
    return last


def _canonical(value: Any) -> Any:
    """The same, with whole numbers as such: a program that writes 1.0 as 1 alters nothing."""
    match value:
        case float() if value.is_integer() and abs(value) < 2**53:
            return int(value)
        case Mapping():
            return {key: _canonical(item) for key, item in value.items()}
        case list() | tuple():
            return [_canonical(item) for item in value]
        case _:
            return value


def _what(event: Mapping[str, Any]) -> str:
    words = str(event.get("kind", "an event"))
    if isinstance(event.get("seat"), int):
        words += f" of seat {event['seat']}"
    t = event.get("t")
    return f"{words} at {t:.3f} s" if isinstance(t, float | int) else words


def _nameless(event: HeatEvent) -> HeatEvent:
    return replace(event, seat=event.seat.nameless) if isinstance(event, Join) else event


def _joined(event: HeatEvent, names: Mapping[str, Any]) -> HeatEvent:
    if not isinstance(event, Join):
        return event
    return replace(event, seat=replace(event.seat, name=_name(names, event.seat.number)))


def _named(setup: HeatSetup, names: Mapping[str, Any]) -> HeatSetup:
    return replace(
        setup, seats=tuple(replace(seat, name=_name(names, seat.number)) for seat in setup.seats)
    )


def _name(names: Mapping[str, Any], number: int) -> str:
    name = names.get(str(number), "")
    return name if isinstance(name, str) else ""


def _first_format(now: Standings) -> list[dict[str, Any]]:
    """The standings as a file of format 1 has them."""
    rows = []
    for row in now.rows:
        shown_a_note = row.score.slots and row.outcome is not SeatOutcome.DISQUALIFIED
        rows.append(replace(row, outcome=SeatOutcome.PLACED) if shown_a_note else row)
    placed = ranked(rows, lambda row: row.sum_points)
    return [row.to_json() | {"points": row.sum_points} for row in placed]


def _differing(
    now: Sequence[Mapping[str, Any]], kept: Sequence[Mapping[str, Any]]
) -> tuple[str, ...]:
    """How the standings of a file are other than those worked out now."""
    rows = {row["seat"]: row for row in now}
    before = {row.get("seat"): row for row in kept}
    found = []
    for seat in dict.fromkeys(chained(rows, before)):
        if seat not in rows or seat not in before:
            where = "is not in the heat" if seat not in rows else "is not in the file's standings"
            found.append(f"seat {seat} {where}")
            continue
        for name, value in rows[seat].items():
            was = before[seat].get(name)
            if not _same(was, value):
                found.append(f"seat {seat}: {name.replace('_', ' ')} {was} is now {value}")
    return tuple(found)


def _same(kept: object, now: object) -> bool:
    numbers = isinstance(kept, float | int) and isinstance(now, float | int)
    if not numbers:
        return kept == now
    return isclose(float(kept), float(now), rel_tol=_SAME, abs_tol=_SAME)  # type: ignore[arg-type]
