# SPDX-License-Identifier: MIT
"""Builds heats as they are reported on, with names as they come in a class."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from functools import cache

from builders import LEVELS, level_text, shipped
from heat_builders import answered, class_of, merged, played_by_robots, setup_of

from game.heats import (
    Disqualify,
    End,
    Forms,
    Heat,
    HeatEvent,
    HeatSetup,
    Seat,
    SeatFlip,
    Start,
    begin,
    play,
)
from game.notation import NOTE_NAMES
from game.paper.heat_figures import heat_figures
from game.paper.heat_words import FileCheck, HeatReport
from game.rounds import Tick

LONG = "Maximiliane-Charlotte Wilhelmina " + "Hohenlohe" * 9
NAMES = (
    "Ada", "Björn Ångström", "山田 太郎", "שרה כהן", "محمد علي", LONG, "", "Οδυσσέας",
    "Nguyễn Thị Minh", "=SUM(A1:A9)", "<b>Zoë</b> & Co", "Павел", "อรุณี", "-1", "'=1", "@x\ny",
)  # fmt: skip
CHECKED = FileCheck("0a1b 2c3d 4e5f 6071")
SAME = Forms.SAME
WIDE = level_text('treble = "C3 to C7"\nbass = "C1 to C5"')


def seats(names: Sequence[str], members: bool = False) -> list[Seat]:
    """Seats from 1 on."""
    return [Seat(n, name, f"m{n}" if members else None) for n, name in enumerate(names, 1)]


def robots(setup: HeatSetup, seed: int = 1) -> list[HeatEvent]:
    """What a class of robots plays."""
    return played_by_robots(setup, class_of(len(setup.seats), seed))


def shipped_setup(level_id: str, names: Sequence[str], **more: object) -> HeatSetup:
    """A heat on a level of the game's own."""
    level = shipped().find(level_id).level
    text = next(
        text
        for path in sorted(LEVELS.rglob("*.toml"))
        if f'id = "{level_id}"' in (text := path.read_text(encoding="utf-8"))
    )
    setup = setup_of(seats(names), text=text, **more)
    return replace(setup, level_id=level_id, level_title=level.title)


def nobody_answers() -> Heat:
    """Three seats that see their first note for ten seconds, of a level with six a note."""
    setup = setup_of(seats(("Ada", "Bo", "")), seconds=10)
    flips = [SeatFlip(0.1, number) for number in (1, 2, 3)]
    return play(setup, [Start(0.0), *flips, Tick(10.0), End(11.0)])


def alike() -> Heat:
    """Four seats on the same notes: one is faster, two are alike, one is slower."""
    setup = setup_of(seats(("Ada", "Bo", "Cy", "Di")), forms=Forms.SAME)
    times = {1: 1.0, 2: 2.0, 3: 2.0, 4: 3.0}
    heat = begin(setup)
    played = [answered(heat, n, *[each] * 4, start=0.0) for n, each in times.items()]
    return play(setup, [Start(0.0), *merged(*played), End(60.0)])


@cache
def heats() -> dict[str, Heat]:
    """The edges by name."""
    many = setup_of(seats([*NAMES, *(f"Reader {n}" for n in range(24))]), prompts=3, forms=SAME)
    whole = setup_of(seats(NAMES), text=WIDE, prompts=12, forms=SAME)
    out = [Disqualify(6.0, number) for number in (1, 2, 3)]
    three = setup_of(seats(("Ada", "Bo", "")), prompts=4)
    return {
        "one seat": play(one := setup_of(seats(("Ada",))), robots(one)),
        "all disqualified": play(three, merged(robots(three), out)),
        "nobody answered": nobody_answers(),
        "nobody played": play(three, [End(1.0)]),
        "forty seats": play(many, robots(many)),
        "no names": play(bare := setup_of(5, text=WIDE), robots(bare)),
        "any script": play(whole, robots(whole)),
        "shared places": alike(),
        "not closed": play(three, robots(three)[:-9]),
        "in time": play(time := shipped_setup(IN_TIME, ("Ada", "Bo"), prompts=2), robots(time)),
        "signatures": play(named := shipped_setup(NAMING, ("Ada", "Bo"), prompts=6), robots(named)),
    }


IN_TIME = next(r.level.id for r in shipped().rungs if r.level.time is not None)
NAMING = next(r.level.id for r in shipped().rungs if r.level.show.texture == "signature")


def told(heat: Heat, before: Heat | None = None, **more: object) -> HeatReport:
    """The heat of a class, as its pages have it."""
    given = {"group": "5b", "when": datetime(2026, 11, 25, 10, 30), "checked": CHECKED} | more
    figures = heat_figures(heat, before)
    return HeatReport(figures, heat.setup.level(), NOTE_NAMES["letters"], **given)
