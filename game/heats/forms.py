# SPDX-License-Identifier: MIT
"""Fair forms: the prompts of each seat, not the same and equally hard.

The level is dealt once under the heat's own seed: the *model*, which is also what all read where
the forms are the same. Every other form is dealt under a seed of its own and keeps by the model
as :mod:`game.heats.matching` says. Forms have nearly the same places too, since each is drawn from
bags that are emptied before they are filled again; and none is the form of any other seat, nor an
earlier one of its own.

To be fair comes first: where a form has so few prompts, or a level so few different ones, that
nothing else is equal, some forms are alike; as they are where prompts come in a fixed order.

On the parts of a split keyboard other notes can be asked. There each part has a model of its own,
and all keep to one mean difficulty of a slot, half-way between the parts' own as far as each can
come to it with half of its prompts. Where they cannot meet, :func:`gap` says what is left.

Difficulty is :mod:`game.levels.difficulty`'s, which orders the ladder.

A form depends on level text, seed, length, seat, try, its own compass and those that the heat began
with, and on nothing of the machine.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from functools import lru_cache
from math import ceil, inf
from statistics import fmean, pstdev
from typing import NamedTuple

from game.heats.matching import BAND, MOST, TOTAL, Bands, Form, Model, Weighed, fairest, weighed
from game.heats.setup import Forms, HeatSetup, Seat
from game.levels import Compass, Level, deal, left_out, parse_level

EVEN = 2 * TOTAL + 1e-9
"""The :func:`gap` up to which forms are equally hard: each is within `TOTAL` of one model."""

FASTEST_PER_S = 4
"""Slots for which a timed heat has prompts: more than anybody can read."""

_SAMPLE = 48
_SPARE = 2


def form_of(setup: HeatSetup, seat: Seat, attempt: int = 0, taken: Collection[Form] = ()) -> Form:
    """The prompts of a seat.

    Args:
        setup: of the heat.
        seat: one of its seats, or one that joins.
        attempt: 0 for the first try; a redo has a form of its own, also where the others are the
            same for all.
        taken: forms that it must not be.

    Raises:
        LevelFaults: the setup's level text is damaged.
        EmptyPool: the seat's keys are too few for the level.
        ValueError: the seat has no key of the heat's keyboards.
    """
    model = _model_of(setup, setup.compass_of(seat))
    if (setup.forms is Forms.SAME and attempt == 0) or _in_order(model.level):
        return model.form
    return fairest(model, f"{setup.seed}/{seat.number}/{attempt}", taken)[1]


class Fairness(NamedTuple):
    """How alike the forms of some seats are.

    Args:
        parted: their keys have different notes of the level, as on the parts of a split keyboard;
            then no form can be the same for all.
        apart: how much harder one form is in all than another, at most, as a share of the mean of
            the two; 0 where that is no more than :data:`EVEN`.
    """

    parted: bool = False
    apart: float = 0.0


def fairness(setup: HeatSetup, forms: Iterable[tuple[Seat, Form]]) -> Fairness:
    """How alike forms are that were dealt to seats of a heat. Forms on one pool of notes are not
    compared: they are always equal.

    Raises:
        ValueError: a seat has no key of the heat's keyboards.
    """
    dealt = list(forms)
    keys = {setup.compass_of(seat) for seat, _ in dealt}
    if len(keys) < 2 or _one_pool(setup, keys):
        return Fairness()
    apart = gap(form for _, form in dealt)
    return Fairness(True, apart if apart > EVEN else 0.0)


def gap(forms: Iterable[Form]) -> float:
    """How much harder one form is in all than another, at most, as a share of the mean of the two.

    Raises:
        ValueError: there are none.
    """
    totals = [sum(weighed(prompt).total for prompt in form) for form in forms]
    most, least = max(totals), min(totals)
    return 2 * (most - least) / (most + least)


def _in_order(level: Level) -> bool:
    return level.show.texture == "written" and level.show.in_order


def _one_pool(setup: HeatSetup, keys: Collection[Compass]) -> bool:
    """Whether the level has the same for all these keys as for the whole keyboard."""
    text, whole = setup.level_text, Compass(setup.compass_low, setup.compass_high)
    return all(_lost(text, part) == _lost(text, whole) for part in keys)


@lru_cache(maxsize=64)
def _lost(text: str, compass: Compass) -> tuple[int, int]:
    return left_out(parse_level(text, "the level kept with the heat"), compass)


def _model_of(setup: HeatSetup, compass: Compass) -> Model:
    """The model for keys: of their own deal, or on a part of the keys that others have of what
    is common to all."""
    own = (setup.level_text, setup.seed, setup.prompts, setup.seconds)
    if setup.dealt == 1:
        return _model(*own, compass)
    parts = tuple(
        sorted(
            {setup.compass_of(seat) for seat in setup.seats if setup.has_keys(seat)},
            key=lambda keys: (keys.low, keys.high),
        )
    )
    if parts == (compass,) or _one_pool(setup, (compass, *parts)):
        return _model(*own, compass)
    whole = Compass(setup.compass_low, setup.compass_high)
    return _part(*own, compass, whole, parts)


class _Sampled(NamedTuple):
    """What prompts for one compass are like."""

    level: Level
    prompts: tuple[Weighed, ...]
    mean: float  # difficulty of a slot
    band: Bands

    @property
    def reach(self) -> tuple[float, float]:
        """The mean difficulty of a slot in the easier half of them, and in the harder one, no
        half of which are alike: none is asked twice running."""
        ordered = sorted(self.prompts, key=lambda one: one.total / one.slots)
        return _mean(_first_half(ordered)), _mean(_first_half(ordered[::-1]))


def _first_half(ordered: Sequence[Weighed]) -> list[Weighed]:
    half = len(ordered) // 2
    found: list[Weighed] = []
    for one in ordered:
        alike = sum(one.prompt.looks_like(other.prompt) for other in found)
        if len(found) < half and alike < half // 2:
            found.append(one)
    return found


def _mean(some: Sequence[Weighed]) -> float:
    return sum(one.total for one in some) / sum(one.slots for one in some)


@lru_cache(maxsize=16)
def _sampled(text: str, seed: int, compass: Compass) -> _Sampled:
    level = parse_level(text, "the level kept with the heat")
    sample = tuple(weighed(prompt) for prompt in deal(level, seed, _SAMPLE, compass))
    mean = _mean(sample)
    deviation = pstdev(one.total - mean * one.slots for one in sample)
    lower, signed, ledger = (
        ceil(pstdev(kind)) for kind in zip(*(one.kinds for one in sample), strict=True)
    )
    band = Bands(
        ceil(pstdev(one.slots for one in sample)),
        min(BAND * deviation, MOST * fmean(one.total for one in sample)),
        (lower, signed, ledger),
    )
    return _Sampled(level, sample, mean, band)


@lru_cache(maxsize=8)
def _model(
    text: str, seed: int, prompts: int | None, seconds: int | None, compass: Compass
) -> Model:
    level, sample, mean, band = _sampled(text, seed, compass)
    if prompts is None:
        assert seconds is not None
        prompts = max(2, ceil(seconds * FASTEST_PER_S / fmean(one.slots for one in sample)))
    dealt = tuple(map(weighed, deal(level, seed, prompts, compass)))
    return Model(level, compass, dealt, mean, band)


@lru_cache(maxsize=16)
def _part(
    text: str,
    seed: int,
    prompts: int | None,
    seconds: int | None,
    compass: Compass,
    whole: Compass,
    parts: tuple[Compass, ...],
) -> Model:
    """The model for a part of the keys: as many slots and as hard as that for any other part,
    with kinds of notes as they are there."""
    level, _, _, band = _sampled(text, seed, compass)
    common = _model(text, seed, prompts, seconds, parts[0] if len(parts) == 1 else whole)
    wanted, mean = common.prompts, common.mean
    if len(parts) > 1:
        mean = _between(_sampled(text, seed, part) for part in parts)
        wanted = tuple(one._replace(total=mean * one.slots) for one in wanted)
    if _in_order(level):
        form, lack = _model(text, seed, len(wanted), None, compass).form, 0.0
    else:
        free = band._replace(kinds=(inf, inf, inf))
        first = Model(level, compass, wanted, mean, free, _SPARE)
        lack, form = fairest(first, f"{seed}/{compass.low}-{compass.high}")
    asked = (
        weighed(one)._replace(slots=to.slots, total=to.total)
        for one, to in zip(form, wanted, strict=True)
    )
    return Model(level, compass, tuple(asked), mean, band, _SPARE, lack)


def _between(parts: Iterable[_Sampled]) -> float:
    """A mean difficulty of a slot that all parts can keep to: half-way between the easiest and
    the hardest of them, or as near to that as each gets with half of its prompts."""
    found = list(parts)
    means = [one.mean for one in found]
    least, most = max(one.reach[0] for one in found), min(one.reach[1] for one in found)
    if least > most:
        return (least + most) / 2
    return min(max((min(means) + max(means)) / 2, least), most)
