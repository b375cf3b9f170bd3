# SPDX-License-Identifier: MIT
"""A form that keeps by a model: the prompts of a deal, but for those that lead too far from it.

The prompts are taken in the order in which they were dealt; those that do not fit wait until they
do. So a form

- has as many slots as the model, in all;
- is in total as hard as it, to within :data:`TOTAL` of it;
- is nowhere much ahead of it or behind: after any prompt the difference is kept to :data:`BAND`
  times the standard deviation of a single prompt (of its difficulty beyond the level's mean per
  slot), at most :data:`MOST` of a mean prompt, and the slots to their own standard deviation,
  rounded up; an exchange near the end, which mends the total, may go a little beyond;
- has nearly as many notes on the lower staff, with signs and on ledger lines.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from itertools import islice
from random import Random
from typing import NamedTuple

from game.levels import LOWER, Compass, Level, Prompt, deal, difficulty
from game.notation import ledger_lines

TOTAL = 0.01
BAND, MOST = 2.5, 0.4

_AHEAD = 32  # prompts among which one that fits is looked for
_SETTLING = 6  # prompts before the end over which the bands close
_LAST = 24  # prompts that may be exchanged to mend what is left
_LEAST = 0.25  # of a band that has closed
_DEALS = 24  # other seeds that are tried where a form is taken
_STALE = _AHEAD // 2  # where so many were passed over, the first of them is given up
_KIND = 0.05  # a note of another kind weighs as so much difficulty
_TAKEN = 1e6  # worse than any fault

Form = tuple[Prompt, ...]
_Kinds = tuple[int, int, int]


class Weighed(NamedTuple):
    """A prompt, its slots that ask for a key, their difficulty in all, and its kinds of notes: on
    the lower staff, with a sign, on ledger lines."""

    prompt: Prompt
    slots: int
    total: float
    kinds: _Kinds


class Bands(NamedTuple):
    """How far a form may be from the model, ahead or behind."""

    slots: float
    excess: float
    kinds: tuple[float, float, float]


@dataclass(frozen=True)
class Model:
    """What every form of a heat, on keyboards of one compass, is measured against.

    Args:
        level: of the heat.
        compass: the keys.
        prompts: its own; on a part of a split keyboard with the slots and the difficulty that all
            parts keep to instead of theirs.
        mean: difficulty of a slot.
        band: how far a form may be from it.
        spare: times as many prompts are dealt as are needed: where those that are too hard or too
            easy have to be passed over, more than one.
        lack: of fairness, that even the prompts themselves have as against what is wanted.
    """

    level: Level
    compass: Compass
    prompts: tuple[Weighed, ...]
    mean: float
    band: Bands
    spare: int = 1
    lack: float = 0.0

    def bands(self, left: int) -> Bands:
        """The bands where so many prompts are still to come: towards the end they close."""
        close = min(1.0, left / _SETTLING)
        slots, excess, (a, b, c) = self.band
        part = max(close, _LEAST)
        return Bands(slots * close, excess * part, (a * part, b * part, c * part))

    @property
    def total(self) -> float:
        return sum(one.total for one in self.prompts)

    @property
    def form(self) -> Form:
        return tuple(weighed.prompt for weighed in self.prompts)


def weighed(prompt: Prompt) -> Weighed:
    """A prompt with what is compared of it."""
    slots = sum(1 for slot in prompt.slots if slot.keys)
    notes = [note for note in prompt.notes if not note.tied]
    kinds = (
        sum(note.staff == LOWER for note in notes),
        sum(note.sign is not None for note in notes),
        sum(ledger_lines(note.position) != 0 for note in notes),
    )
    return Weighed(prompt, slots, slots * difficulty(prompt), kinds)


def fairest(model: Model, name: str, taken: Collection[Form] = ()) -> tuple[float, Form]:
    """The first form, among those dealt under seeds made of a name, that is fair and not taken,
    or the one with the least fault; with what it lacks."""
    found: list[tuple[float, Form]] = []
    enough = model.lack + model.total * TOTAL / 2 if model.lack else 0.0
    for again in range(_DEALS):
        fault, form = _matched(model, _seed(f"{name}/{again}"))
        if any(_alike(form, other) for other in taken):
            fault += _TAKEN
        found.append((fault, form))
        if fault <= enough:
            break
    return min(found, key=lambda each: each[0])


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

    def after(self, one: Weighed, instead: Weighed, mean: float) -> _Off:
        """With one prompt more, where the other has `instead`."""
        slots = one.slots - instead.slots
        (a, b, c), (d, e, f), (g, h, i) = self.kinds, one.kinds, instead.kinds
        return _Off(
            self.slots + slots,
            self.excess + one.total - instead.total - mean * slots,
            (a + d - g, b + e - h, c + f - i),
        )

    def unfair(self, bands: Bands, mean: float) -> float:
        """How far slots and difficulty are out of the bands, as a difficulty."""
        slots, excess = abs(self.slots) - bands.slots, abs(self.excess) - bands.excess
        return mean * max(0.0, slots) + max(0.0, excess)

    def fault(self, bands: Bands, mean: float) -> float:
        """That, and a little of how far the kinds of notes are out of theirs."""
        (a, b, c), (d, e, f) = self.kinds, bands.kinds
        unlike = max(0.0, abs(a) - d) + max(0.0, abs(b) - e) + max(0.0, abs(c) - f)
        return self.unfair(bands, mean) + _KIND * unlike


def _matched(model: Model, seed: int) -> tuple[float, Form]:
    """A deal under a seed, in an order and with a choice that keep by the model; with what is
    left of unfairness in all."""
    count, mean = len(model.prompts), model.mean
    dealt = deal(model.level, seed, model.spare * count + _AHEAD, model.compass)
    coming = map(weighed, dealt)
    waiting = list(islice(coming, _AHEAD))
    spare = (model.spare - 1) * count
    chosen: list[Weighed] = []
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


def _mended(chosen: list[Weighed], waiting: list[Weighed], off: _Off, model: Model) -> float:
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


def _fits(one: Weighed, chosen: list[Weighed], at: int) -> bool:
    beside = chosen[max(at - 1, 0) : at] + chosen[at + 1 : at + 2]
    return not any(one.prompt.looks_like(other.prompt) for other in beside)
