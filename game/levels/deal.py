# SPDX-License-Identifier: MIT
"""Dealing prompts: (level, seed) -> prompts, the same on every machine.

How a prompt is made depends on the level's texture: notes and chords in :mod:`places`, melodies
in :mod:`phrase`, signatures to be named in :mod:`naming`; :mod:`written` carries its own.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from dataclasses import replace
from itertools import count as count_up
from itertools import islice
from random import Random

from game.levels import naming, phrase, places
from game.levels.bag import Bag
from game.levels.compass import Compass
from game.levels.level import Level
from game.levels.prompt import Prompt
from game.levels.show import PHRASES, Show, Written
from game.levels.written import read_slot, written_slots
from game.notation import KeySignature, likeliest

FULL_COMPASS = Compass(21, 108)


class EmptyPool(ValueError):
    """Fewer than two different prompts are left to show."""


def deal(
    level: Level, seed: int, count: int, compass: Compass = FULL_COMPASS
) -> tuple[Prompt, ...]:
    """The first `count` prompts of a level under a seed.

    A longer deal begins with the shorter one. No prompt looks like the one before it, but where
    the level itself has written them out so.

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
    check_pool(level, compass)
    # Prompts hold no cycles: the collector would walk all of them again and again for nothing.
    collecting = gc.isenabled()
    gc.disable()
    try:
        return tuple(islice(_prompts(level.show, Random(seed), compass), count))
    finally:
        if collecting:
            gc.enable()


def check_pool(level: Level, compass: Compass = FULL_COMPASS) -> None:
    """Raise :class:`EmptyPool` when the level cannot be dealt on this keyboard."""
    check_show(level.show, compass)


def check_show(show: Show, compass: Compass = FULL_COMPASS) -> None:
    """:func:`check_pool` for that part of a level which says what may appear."""
    prompts = _different(show, compass)
    if prompts < 2:
        raise EmptyPool(
            f"the level has {'only one' if prompts else 'no'} prompt on keys "
            f"{likeliest(compass.low)} to {likeliest(compass.high)}; a round needs two"
        )


def playable(level: Level, compass: Compass) -> bool:
    """Whether the level can be dealt on this keyboard."""
    return _different(level.show, compass) > 1


def left_out(level: Level, compass: Compass) -> tuple[int, int]:
    """How many of the level's places (chords, written prompts) this keyboard does not reach, and
    how many there are."""
    every = _pool(level.show, FULL_COMPASS)
    return every - _pool(level.show, compass), every


def _different(show: Show, compass: Compass) -> int:
    """How many different prompts there are, at least and up to two."""
    if show.texture == "signature":
        return len(show.signatures)
    if show.texture == "written":
        kept = _reached(show, compass)
        return len({(one.signature, one.slots) for one in kept})
    if show.texture in PHRASES:
        return phrase.different(show, compass)
    return places.different(show, compass)


def _pool(show: Show, compass: Compass) -> int:
    if show.texture == "signature":
        return len(show.signatures)
    if show.texture == "written":
        return len(_reached(show, compass))
    return sum(len(hand) for hand in places.hands(show, compass))


def _prompts(show: Show, rng: Random, compass: Compass) -> Iterator[Prompt]:
    if show.texture == "signature":
        return naming.prompts(show, rng)
    if show.texture == "written":
        return _written(show, rng, compass)
    if show.texture in PHRASES:
        return phrase.prompts(show, rng, compass)
    return places.prompts(show, rng, compass)


def _written(show: Show, rng: Random, compass: Compass) -> Iterator[Prompt]:
    """The level's own prompts; in order they begin again when all were shown."""
    kept = _reached(show, compass)
    room = max(len(one.slots) for one in kept)
    bag = Bag(kept, rng)
    for index in count_up():
        one = kept[index % len(kept)] if show.in_order else bag.draw()
        signature = KeySignature(one.signature)
        slots = written_slots(one.slots, signature, f"p{index}")
        yield replace(Prompt(signature, slots), name=one.name, room=room)


def _reached(show: Show, compass: Compass) -> tuple[Written, ...]:
    """The written prompts whose every key the keyboard has."""
    return tuple(
        one
        for one in show.written
        if all(compass.contains(pitch.key) for text in one.slots for _, _, pitch in read_slot(text))
    )
