# SPDX-License-Identifier: MIT
"""The JSON of a heat that was judged again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypedDict

from game.contract.form import told

if TYPE_CHECKING:  # else every command would wait for the database library
    from game.heats.chain import JudgedHeat


class StandingJson(TypedDict):
    """A seat's result in a heat.

    `outcome` is ``placed``, ``disqualified`` or ``did not play``; without a place, `place` is null.
    `points` is the sum of the slots' points, or 0 when that is below 0; by it the places go, and
    :mod:`game.heats.standings` has the tie rule. A seat that pressed no key for any slot ``did not
    play``, whatever its `slots`. `name` is empty where the file has none. The others are as in a
    round.
    """

    seat: int
    name: str
    outcome: str
    place: int | None
    points: float
    score: float
    mean_points: float
    accuracy: float
    median_s: float | None
    tempo_per_min: float | None
    slots: int
    right: int


class HeatJson(TypedDict):
    """``judge --heat FILE --json``: a heat, worked out again from its raw presses.

    `kind` is ``counted:24`` (prompts) or ``timed:60`` (seconds). `chain` is the last value of the
    file's chain of hashes, worked out again. `faults` say where that is broken, `differing` where
    the standings in the file are not those worked out now; `sound` is whether both are empty.
    `nameless` is whether the file says that names were left out of it, which no hash covers.
    """

    format: Literal[1]
    level: str
    seed: int
    kind: str
    manner: str
    forms: str
    nameless: bool
    standings: list[StandingJson]
    chain: str
    sound: bool
    faults: list[str]
    differing: list[str]


def heat_json(judged: JudgedHeat) -> HeatJson:
    """A heat's file, judged again."""
    setup = judged.heat.setup
    rows = []
    for row in judged.standings.rows:
        own = {"name": row.seat.name, "outcome": row.outcome, "place": row.place}
        seat = {"seat": row.seat.number, **own, "points": row.points}
        rows.append(told(StandingJson, row.score, **seat))
    return told(
        HeatJson,
        judged,
        level=setup.level_id,
        seed=setup.seed,
        kind=setup.kind,
        manner=setup.manner,
        forms=setup.forms,
        standings=rows,
    )
