# SPDX-License-Identifier: MIT
"""Dealing prompts: (level, seed) -> prompts, the same on every machine.

Evenness: places are drawn from a bag that is refilled when it is empty, so after every prompt
the counts of any two places differ by at most one (for hands together, of one hand's places;
for chords, a place is a lowest note with a shape). Signatures have a bag of their own. So have
added signs, with several of each in it, since one of each would only take turns; one that would
make a spelling too rare, or two notes of one key, is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count as count_up
from itertools import islice
from math import prod
from random import Random
from typing import Generic, Literal, TypeVar

from game.levels.compass import Compass
from game.levels.level import Level, Show
from game.levels.prompt import LOWER, UPPER, Note, Prompt, Slot
from game.notation import Bar, Clef, KeySignature, Pitch, likeliest

FULL_COMPASS = Compass(21, 108)
_ALTER = {"#": 1, "b": -1, "n": 0}
_RARE = {"E#", "B#", "Cb", "Fb"}
_SIGNS_IN_BAG = 4
_T = TypeVar("_T")


class EmptyPool(ValueError):
    """Fewer than two different prompts are left to show."""


@dataclass(frozen=True, slots=True)
class _Place:
    """Diatonic steps on one staff, lowest first: one for a single note, more for a chord."""

    staff: int
    steps: tuple[int, ...]


class _Bag(Generic[_T]):
    """Stateful. Draws each item once per filling, never the same twice running if it can.

    Only Random.random() is used: Python promises its sequence for a seed, and no other's.
    """

    def __init__(self, items: Sequence[_T], rng: Random) -> None:
        self._items = items
        self._rng = rng
        self._left: list[_T] = []
        self._last: _T | None = None

    def draw(self) -> _T:
        if not self._left:
            self._left = self._shuffled()
            if len(self._left) > 1 and self._left[-1] == self._last:
                self._left.insert(0, self._left.pop())
        self._last = self._left.pop()
        return self._last

    def _shuffled(self) -> list[_T]:
        items = list(self._items)
        for top in range(len(items) - 1, 0, -1):
            other = int(self._rng.random() * (top + 1))
            items[top], items[other] = items[other], items[top]
        return items


def deal(
    level: Level, seed: int, count: int, compass: Compass = FULL_COMPASS
) -> tuple[Prompt, ...]:
    """The first `count` prompts of a level under a seed.

    A longer deal begins with the shorter one. No prompt looks like the one before it.

    Args:
        level: what may appear.
        seed: 0 or more.
        count: how many prompts, 0 or more.
        compass: the keys that the reader's keyboard has; other notes are left out.

    Raises:
        EmptyPool: the keyboard has fewer than two of the level's prompts.
        ValueError: a seed or count below 0.
    """
    if seed < 0 or count < 0:  # Random would take a seed without its sign
        raise ValueError(f"seed and count are 0 or more, not {seed} and {count}")
    return tuple(islice(_prompts(level, seed, compass), count))


def check_pool(level: Level, compass: Compass = FULL_COMPASS) -> None:
    """Raise :class:`EmptyPool` when the level cannot be dealt on this keyboard."""
    check_show(level.show, compass)


def check_show(show: Show, compass: Compass = FULL_COMPASS) -> None:
    """:func:`check_pool` for that part of a level which says what may appear."""
    prompts = len(show.signatures) * prod(map(len, _hands(show, compass)))
    if prompts < 2:
        raise EmptyPool(
            f"the level has {'only one' if prompts else 'no'} prompt on keys "
            f"{likeliest(compass.low)} to {likeliest(compass.high)}; a round needs two"
        )


def left_out(level: Level, compass: Compass) -> int:
    """How many of the level's places (or chords) this keyboard does not reach."""

    def count(keys: Compass) -> int:
        return sum(len(hand) for hand in _hands(level.show, keys))

    return count(FULL_COMPASS) - count(compass)


def _prompts(level: Level, seed: int, compass: Compass) -> Iterator[Prompt]:
    check_pool(level, compass)
    rng = Random(seed)
    hands = [_Bag(hand, rng) for hand in _hands(level.show, compass)]
    signatures = _Bag(level.show.signatures, rng)
    signs = _Bag((None, *level.show.signs) * _SIGNS_IN_BAG, rng)
    before: Prompt | None = None
    for index in count_up():
        signature = KeySignature(signatures.draw())
        draws = [
            ([hand.draw() for hand in hands], signs.draw(), rng.random())
            for _ in range(level.show.slots)
        ]
        prompt = _prompt(index, signature, draws, level.show.rare_spellings)
        for _ in draws:
            if before is None or not prompt.looks_like(before):
                break
            draws.append(draws.pop(0))
            prompt = _prompt(index, signature, draws, level.show.rare_spellings)
        yield prompt
        before = prompt


_Draw = tuple[list[_Place], Literal["#", "b", "n"] | None, float]


def _prompt(index: int, signature: KeySignature, draws: list[_Draw], rare: bool) -> Prompt:
    bar = Bar(signature)
    slots = []
    for number, (places, sign, chance) in enumerate(draws):
        written = [(place.staff, step) for place in places for step in place.steps]
        pitches = [Pitch.at_step(step, bar.alter(staff, step)) for staff, step in written]
        if len({pitch.key for pitch in pitches}) < len(pitches):
            # Signs that still hold would give a chord one key twice (E and Fb): take them back.
            pitches = [signature.pitch_at(step) for _staff, step in written]
        if sign is not None:
            signed = int(chance * len(written))
            changed = Pitch.at_step(written[signed][1], _ALTER[sign])
            others = {pitch.key for pitch in pitches[:signed] + pitches[signed + 1 :]}
            if changed.key not in others and (rare or changed.letter + changed.sign not in _RARE):
                pitches[signed] = changed
        notes = []
        for nth, ((staff, _step), pitch) in enumerate(zip(written, pitches, strict=True)):
            clef = Clef.TREBLE if staff == UPPER else Clef.BASS
            note_id = f"p{index}s{number}n{nth}"
            notes.append(Note(note_id, pitch, staff, clef, bar.sign(staff, pitch)))
            bar = bar.after(staff, pitch)
        slots.append(Slot(tuple(notes)))
    return Prompt(signature, tuple(slots))


def _hands(show: Show, compass: Compass) -> list[list[_Place]]:
    """The places to draw from: one pool, or one for each hand when they play together."""
    upper = _places(show, UPPER, show.treble or (), compass)
    lower = _places(show, LOWER, show.bass or (), compass)
    return [lower, upper] if show.texture == "hands together" else [lower + upper]


def _places(show: Show, staff: int, steps: tuple[int, ...], compass: Compass) -> list[_Place]:
    stacks: list[tuple[int, ...]] = [(step,) for step in steps]
    if show.texture == "chord":
        top = max(steps, default=0)
        stacks = [
            (step, *(step + interval - 1 for interval in shape))
            for step in steps
            for shape in show.shapes
            if step + max(shape) - 1 <= top
        ]
    alters = {_ALTER[sign] for sign in show.signs}
    signatures = [KeySignature(fifths) for fifths in show.signatures]

    def playable(step: int) -> bool:
        pitches = [signature.pitch_at(step) for signature in signatures]
        pitches += [Pitch.at_step(step, alter) for alter in alters]
        return all(compass.contains(pitch.key) for pitch in pitches)

    return [_Place(staff, stack) for stack in stacks if all(map(playable, stack))]
