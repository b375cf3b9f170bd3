# SPDX-License-Identifier: MIT
"""The standings of a heat in the projector's words, by what the teacher lets be seen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from game.heats import Heat
from game.heats.standings import PODIUM, Shows, Standing, shown, standings_of
from game.screens.school.called import called
from game.session.live_heat import HeatOptions
from game.words.text import _, plural

_NONE: Mapping[int, str] = MappingProxyType({})


@dataclass(frozen=True)
class Board:
    """What the projector says.

    Args:
        parts: pieces of one line, the most important first; whatever does not fit is left out.
        marks: seat -> its place before its name; only of those who may be seen.
    """

    parts: tuple[str, ...]
    marks: Mapping[int, str] = field(default_factory=lambda: _NONE)


def board(heat: Heat, manners: HeatOptions) -> Board:
    """The standings now."""
    seen = shown(standings_of(heat), manners.shows, manners.best)
    if manners.shows is Shows.CLASS:
        parts = [] if seen.mean is None else [_("Class mean {n}").format(n=f"{seen.mean:.0f}")]
        if seen.best is not None:
            parts.append(_("its best {n}").format(n=f"{seen.best:.0f}"))
        return Board(tuple(parts))
    parts = []
    if seen.rows and seen.total is not None:
        parts.append(_("Class total {n}").format(n=f"{seen.total:.0f}"))
    named, everybody = 0, manners.shows is Shows.ALL
    for place, names in podium(seen.rows, len(seen.rows) if everybody else PODIUM):
        named += len(names)
        if everybody or named <= PODIUM:
            parts += [_("{place}. {name}").format(place=place, name=name) for name in names]
        else:  # nobody who shares a place is named without the others
            parts.append(_("{n} share place {place}").format(n=len(names), place=place))
            break
    return Board(tuple(parts), {row.seat.number: f"{row.place}." for row in seen.rows})


def podium(rows: Iterable[Standing], last: int = PODIUM) -> list[tuple[int, list[str]]]:
    """The places down to the last that is wanted, each with the names of all who have it."""
    found: dict[int, list[str]] = {}
    for row in rows:
        if row.place is not None and row.place <= last:
            found.setdefault(row.place, []).append(called(row.seat))
    return list(found.items())


def done_words(heat: Heat) -> str:
    """How many have played."""
    left = sum(chair.to_play for chair in heat.chairs)
    if not left:
        return _("All have played")
    return plural("{n} has still to play", "{n} have still to play", left).format(n=left)
