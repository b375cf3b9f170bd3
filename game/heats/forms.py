# SPDX-License-Identifier: MIT
"""Fair forms: the prompts of each seat, not the same and equally hard.

The level is dealt once under the heat's own seed: the *model*, which is also what all read where
the forms are the same. For every other form the level is dealt under a seed of its own, and the
prompts are taken in that order, but for those that would lead too far from the model: these wait
until they fit. So a form

- has as many slots as the model, in all;
- is in total as hard as it, to within :data:`TOTAL` of it;
- is nowhere much ahead of it or behind: after any prompt the difference is kept to :data:`BAND`
  times the standard deviation of a single prompt (of its difficulty beyond the level's mean per
  slot), at most :data:`MOST` of a mean prompt, and the slots to their own standard deviation,
  rounded up; an exchange near the end, which mends the total, may go a little beyond;
- has nearly as many notes on the lower staff, with signs and on ledger lines, and nearly the same
  places, since each form is drawn from bags that are emptied before they are filled again;
- is not the form of any other seat, nor an earlier one of its own.

To be fair comes first: where a form has so few prompts, or a level so few different ones, that
nothing else is equal, some forms are alike; as they are where prompts come in a fixed order.

Difficulty is :mod:`game.levels.difficulty`'s, which orders the ladder.

A form depends on level text, compass, seed, length, seat and try, and on nothing of the machine.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice
from math import ceil, inf
from random import Random
from statistics import fmean, pstdev
from typing import NamedTuple

from game.heats.setup import Forms, HeatSetup, Seat
from game.levels import LOWER, Compass, Level, Prompt, deal, difficulty, left_out, parse_level
from game.notation import ledger_lines

TOTAL = 0.01
EVEN = 2 * TOTAL + 1e-9
BAND, MOST = 2.5, 0.4
FASTEST_PER_S = 4
"""Slots for which a timed heat has prompts: more than anybody can read."""

_AHEAD = 32  # prompts among which one that fits is looked for
_SETTLING = 6  # prompts before the end over which the bands close
_LAST = 24  # prompts that may be exchanged to mend what is left
_LEAST = 0.25  # of a band that has closed
_DEALS = 24  # other seeds that are tried where a form is taken
_SAMPLE = 48
_KIND = 0.05  # a note of another kind weighs as so much difficulty
_SPARE = 2  # times as many prompts are dealt as are needed, on a part of the keys
_STALE = _AHEAD // 2  # so many that were passed over: the first of them is given up
_TAKEN = 1e6  # worse than any fault

Form = tuple[Prompt, ...]


_Kinds = tuple[int, int, int]


class _Weighed(NamedTuple):
    """A prompt, its slots that ask for a key, their difficulty in all, and its kinds of notes: on
    the lower staff, with a sign, on ledger lines."""

    prompt: Prompt
    slots: int
    total: float
    kinds: _Kinds


class _Bands(NamedTuple):
    """How far a form may be from the model, ahead or behind."""

    slots: float
    excess: float
    kinds: tuple[float, float, float]


@dataclass(frozen=True)
class _Model:
    """What every form of a heat, on keyboards of one compass, is measured against.

    On a part of a split keyboard the slots and the difficulty of `prompts` are not their own, but
    those that all parts keep to; and `spare` times as many are dealt as needed, since those that
    are too hard or too easy for it have to be passed over.
    """

    level: Level
    compass: Compass
    prompts: tuple[_Weighed, ...]
    mean: float
    band: _Bands
    spare: int = 1

    def bands(self, left: int) -> _Bands:
        """The bands where so many prompts are still to come: towards the end they close."""
        close = min(1.0, left / _SETTLING)
        slots, excess, (a, b, c) = self.band
        part = max(close, _LEAST)
        return _Bands(slots * close, excess * part, (a * part, b * part, c * part))

    @property
    def total(self) -> float:
        return sum(one.total for one in self.prompts)

    @property
    def form(self) -> Form:
        return tuple(weighed.prompt for weighed in self.prompts)


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
    show = model.level.show
    if (setup.forms is Forms.SAME and attempt == 0) or (
        show.texture == "written" and show.in_order
    ):
        return model.form
    return _fairest(model, f"{setup.seed}/{seat.number}/{attempt}", taken)


def _fairest(model: _Model, name: str, taken: Collection[Form] = ()) -> Form:
    """The first form, among those dealt under seeds made of a name, that is fair and not taken;
    where there is none, the one with the least fault."""
    found: list[tuple[float, Form]] = []
    for again in range(_DEALS):
        fault, form = _matched(model, _seed(f"{name}/{again}"))
        if any(_alike(form, other) for other in taken):
            fault += _TAKEN
        found.append((fault, form))
        if not fault:
            break
    return min(found, key=lambda each: each[0])[1]


def gap(forms: Iterable[Form]) -> float:
    """How much harder one form is in all than another, at most, as a share of their mean."""
    totals = [sum(_weighed(prompt).total for prompt in form) for form in forms]
    most, least = max(totals), min(totals)
    return (most - least) / ((most + least) / 2)


def parted(setup: HeatSetup, seats: Iterable[Seat]) -> bool:
    """Whether the seats have different notes to be asked, as on the parts of a split keyboard.

    Then "the same for all" can be the same only for those with the same keys.
    """
    keys = {setup.compass_of(seat) for seat in seats}
    return len(keys) > 1 and not _one_pool(setup, keys)


def _one_pool(setup: HeatSetup, keys: Collection[Compass]) -> bool:
    """Whether the level has the same for all these keys as for the whole keyboard."""
    text, whole = setup.level_text, Compass(setup.compass_low, setup.compass_high)
    return all(_lost(text, part) == _lost(text, whole) for part in keys)


@lru_cache(maxsize=64)
def _lost(text: str, compass: Compass) -> int:
    return left_out(parse_level(text, "the level kept with the heat"), compass)


def _model_of(setup: HeatSetup, compass: Compass) -> _Model:
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
    prompts: tuple[_Weighed, ...]
    mean: float  # difficulty of a slot
    band: _Bands

    @property
    def reach(self) -> tuple[float, float]:
        """The mean difficulty of a slot in the easier half of them, and in the harder one, no
        half of which are alike: none is asked twice running."""
        ordered = sorted(self.prompts, key=lambda one: one.total / one.slots)
        return _mean(_first_half(ordered)), _mean(_first_half(ordered[::-1]))


def _first_half(ordered: Sequence[_Weighed]) -> list[_Weighed]:
    half = len(ordered) // 2
    found: list[_Weighed] = []
    for one in ordered:
        if len(found) < half and sum(map(one.prompt.looks_like, (o.prompt for o in found))) < half // 2:
            found.append(one)
    return found


def _mean(some: Sequence[_Weighed]) -> float:
    return sum(one.total for one in some) / sum(one.slots for one in some)


@lru_cache(maxsize=16)
def _sampled(text: str, seed: int, compass: Compass) -> _Sampled:
    level = parse_level(text, "the level kept with the heat")
    sample = tuple(_weighed(prompt) for prompt in deal(level, seed, _SAMPLE, compass))
    mean = _mean(sample)
    deviation = pstdev(one.total - mean * one.slots for one in sample)
    lower, signed, ledger = (
        ceil(pstdev(kind)) for kind in zip(*(one.kinds for one in sample), strict=True)
    )
    band = _Bands(
        ceil(pstdev(one.slots for one in sample)),
        min(BAND * deviation, MOST * fmean(one.total for one in sample)),
        (lower, signed, ledger),
    )
    return _Sampled(level, sample, mean, band)


@lru_cache(maxsize=8)
def _model(
    text: str, seed: int, prompts: int | None, seconds: int | None, compass: Compass
) -> _Model:
    level, sample, mean, band = _sampled(text, seed, compass)
    if prompts is None:
        assert seconds is not None
        prompts = max(2, ceil(seconds * FASTEST_PER_S / fmean(one.slots for one in sample)))
    weighed = tuple(_weighed(prompt) for prompt in deal(level, seed, prompts, compass))
    return _Model(level, compass, weighed, mean, band)


@lru_cache(maxsize=16)
def _part(
    text: str,
    seed: int,
    prompts: int | None,
    seconds: int | None,
    compass: Compass,
    whole: Compass,
    parts: tuple[Compass, ...],
) -> _Model:
    """The model for a part of the keys: as many slots and as hard as that for any other part,
    with kinds of notes as they are there."""
    level, _, _, band = _sampled(text, seed, compass)
    common = _model(text, seed, prompts, seconds, parts[0] if len(parts) == 1 else whole)
    wanted, mean = common.prompts, common.mean
    if len(parts) > 1:
        mean = _between(_sampled(text, seed, part) for part in parts)
        wanted = tuple(one._replace(total=mean * one.slots) for one in wanted)
    free = band._replace(kinds=(inf, inf, inf))
    first = _Model(level, compass, wanted, mean, free, _SPARE)
    if level.show.texture == "written" and level.show.in_order:
        form = _model(text, seed, len(wanted), None, compass).form
    else:
        form = _fairest(first, f"{seed}/{compass.low}-{compass.high}")
    kinds = (_weighed(prompt) for prompt in form)
    asked = [one._replace(slots=to.slots, total=to.total) for one, to in zip(kinds, wanted, strict=True)]
    return _Model(level, compass, tuple(asked), mean, band, _SPARE)


def _between(parts: Iterable[_Sampled]) -> float:
    """A mean difficulty of a slot that all parts can keep to: half-way between the easiest and
    the hardest of them, or as near to that as each gets with half of its prompts."""
    found = list(parts)
    means = [one.mean for one in found]
    least, most = max(one.reach[0] for one in found), min(one.reach[1] for one in found)
    if least > most:
        return (least + most) / 2
    return min(max((min(means) + max(means)) / 2, least), most)


def _weighed(prompt: Prompt) -> _Weighed:
    slots = sum(1 for slot in prompt.slots if slot.keys)
    notes = [note for note in prompt.notes if not note.tied]
    kinds = (
        sum(note.staff == LOWER for note in notes),
        sum(note.sign is not None for note in notes),
        sum(ledger_lines(note.position) != 0 for note in notes),
    )
    return _Weighed(prompt, slots, slots * difficulty(prompt), kinds)


def _seed(name: str) -> int:
    # random() of a generator seeded with a text is the same on every Python version.
    return int(Random(name).random() * 2**53)


def _alike(form: Form, other: Form) -> bool:
    return len(form) == len(other) and all(map(Prompt.looks_like, form, other))


class _Off(NamedTuple):
    """How far a form is ahead of the model: its slots, its difficulty beyond their mean, and its
    kinds of notes."""

    slots: int = 0
    excess: float = 0.0
    kinds: _Kinds = (0, 0, 0)

    def after(self, one: _Weighed, instead: _Weighed, mean: float) -> _Off:
        """With one prompt more, where the other has `instead`."""
        slots = one.slots - instead.slots
        (a, b, c), (d, e, f), (g, h, i) = self.kinds, one.kinds, instead.kinds
        return _Off(
            self.slots + slots,
            self.excess + one.total - instead.total - mean * slots,
            (a + d - g, b + e - h, c + f - i),
        )

    def unfair(self, bands: _Bands, mean: float) -> float:
        """How far slots and difficulty are out of the bands, as a difficulty."""
        slots, excess = abs(self.slots) - bands.slots, abs(self.excess) - bands.excess
        return mean * max(0.0, slots) + max(0.0, excess)

    def fault(self, bands: _Bands, mean: float) -> float:
        """That, and a little of how far the kinds of notes are out of theirs."""
        (a, b, c), (d, e, f) = self.kinds, bands.kinds
        unlike = max(0.0, abs(a) - d) + max(0.0, abs(b) - e) + max(0.0, abs(c) - f)
        return self.unfair(bands, mean) + _KIND * unlike


def _matched(model: _Model, seed: int) -> tuple[float, Form]:
    """A deal under a seed, in an order and with a choice that keep by the model; with what is
    left of unfairness in all."""
    count, mean = len(model.prompts), model.mean
    dealt = deal(model.level, seed, model.spare * count + _AHEAD, model.compass)
    coming = map(_weighed, dealt)
    waiting = list(islice(coming, _AHEAD))
    spare = (model.spare - 1) * count
    chosen: list[_Weighed] = []
    off = _Off()
    for number, wanted in enumerate(model.prompts):
        bands = model.bands(count - 1 - number)
        best, least = 0, float("inf")
        for place, one in enumerate(waiting):
            fault = off.after(one, wanted, mean).fault(bands, mean)
            if fault < least and not (chosen and one.prompt.looks_like(chosen[-1].prompt)):
                best, least = place, fault
                if not fault:
                    break
        one = waiting.pop(best)
        off = off.after(one, wanted, mean)
        chosen.append(one)
        if spare and best >= _STALE:
            waiting.pop(0)
            spare -= 1
        waiting.extend(islice(coming, _AHEAD - len(waiting)))
    unfair = _mended(chosen, [*waiting, *islice(coming, _AHEAD)], off, model)
    return unfair, tuple(one.prompt for one in chosen)


def _mended(chosen: list[_Weighed], waiting: list[_Weighed], off: _Off, model: _Model) -> float:
    """What is left of unfairness in all, once some of the last prompts were exchanged for others
    that wait, as long as that makes it less. Changes both lists."""
    bands = model.bands(0)._replace(excess=model.total * TOTAL)
    fault = off.fault(bands, model.mean)
    while fault:
        best, exchange = fault, None
        for at in reversed(range(max(0, len(chosen) - _LAST), len(chosen))):
            for place, one in enumerate(waiting):
                then = off.after(one, chosen[at], model.mean)
                left = then.fault(bands, model.mean)
                if left < best and _fits(one, chosen, at):
                    best, exchange = left, (at, place, then)
        if exchange is None:
            break
        at, place, off = exchange
        chosen[at], waiting[place] = waiting[place], chosen[at]
        fault = best
    return off.unfair(bands, model.mean)


def _fits(one: _Weighed, chosen: list[_Weighed], at: int) -> bool:
    beside = chosen[max(at - 1, 0) : at] + chosen[at + 1 : at + 2]
    return not any(one.prompt.looks_like(other.prompt) for other in beside)
