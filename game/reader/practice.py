# SPDX-License-Identifier: MIT
"""Today's practice: a round made for one reader, written out as a level of its own.

Prompts are dealt from the levels reached and chosen one by one. While the errors to be expected
are fewer than 15 %, the prompt that is needed most comes next; else one that is surely known.
So what is weak or due is practised among just enough of what is known, and the round begins
with something known. Learning is fastest at an error rate near 15 % (Wilson, Shenhav, Straccia
& Cohen 2019, Nature Communications 10:4646).

The need of a sign read rightly with probability p (its certainty times its recall; 0.8 for the
recall of one never seen):

    (1 - p)  +  0.3 if it is due  +  0.3 min(1, log(its time / this reader's usual time)) if slow

halved each time that the sign is in the round already; of a prompt, the mean over its notes.
The constants are ours.

The level's text holds every note, so that the round can be recorded, replayed and scored like
any other. The same knowledge, levels, seed and time give the same text.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, prod
from random import Random
from statistics import median

import numpy as np
from numpy.typing import NDArray

from game.levels import (
    FULL_COMPASS,
    LOWER,
    UPPER,
    USUAL_CLEF,
    Compass,
    EmptyPool,
    Prompt,
    Rung,
    deal,
)
from game.levels.prompt import Note, Slot
from game.reader.knowledge import Knowledge
from game.reader.sign import Sign, signs_of

ERROR_RATE = 0.15
SLOTS = 32
"""Slots of a practice round, unless another length is asked for."""

_TEXTURES = ("one note", "hands together", "chord")
_PROMPTS_OF_RUNG, _PROMPTS = 12, 240  # to choose from: of each level; together at least
_RUNGS, _LATEST = 28, 8  # levels to choose from at most; those reached last are always among them
_DUE, _SLOW = 0.3, 0.3
_AGAIN = 0.5
_NEW = 0.8  # as surely as its neighbours a sign is read that was never seen
_SEEN_ALREADY = 0.05  # error that a known prompt may have more, rather than repeat a sign
_Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Practice:
    """A practice round.

    Args:
        text: its level, in TOML.
        purposes: why each prompt is in it: "due", "new", "weak" or "known".
        error_rate: share of slots expected to be missed, 0 to 1.
    """

    text: str
    purposes: tuple[str, ...]
    error_rate: float


@dataclass(frozen=True)
class _Pool:
    """What to choose from: prompts, no two alike, and the signs in them.

    Args:
        prompts: each with the level that it is of.
        slots, errors: of each prompt, how many slots, and how many of them it would miss.
        share: row for row the prompts, column for column the signs: share of its notes.
        need: of each sign.
        purpose: of each sign.
    """

    prompts: tuple[tuple[Prompt, Rung], ...]
    slots: _Floats
    errors: _Floats
    share: _Floats
    need: _Floats
    purpose: tuple[str, ...]


def practisable(rung: Rung) -> bool:
    """Whether practice can take prompts from a level: those of one bar, read one by one."""
    show = rung.level.show
    return show.texture in _TEXTURES and show.bars == 1 and rung.level.time is None


def practice(
    knowledge: Knowledge,
    rungs: Sequence[Rung],
    seed: int,
    now: float,
    slots: int = SLOTS,
    compass: Compass = FULL_COMPASS,
) -> Practice:
    """A round for this reader.

    Args:
        knowledge: what the reader knows.
        rungs: the levels reached, those under way included.
        seed: 0 or more; another seed is another round.
        now: seconds since 1970.
        slots: about how many slots it has, 2 or more: the last prompt may go beyond.
        compass: the keys that the reader's keyboard has.

    Raises:
        EmptyPool: none of the levels has two prompts that can be practised on this keyboard.
    """
    pool = _pool(knowledge, rungs, seed, now, compass)
    rate = pool.errors / pool.slots
    times = np.zeros(len(pool.need))
    chosen: list[int] = []
    purposes: list[str] = []
    played = errors = 0.0
    while played < slots:
        needs = pool.need * _AGAIN**times
        if chosen and errors < ERROR_RATE * played:
            worth = pool.share @ needs
        else:
            worth = -rate - _SEEN_ALREADY * (pool.share @ times)
        worth[chosen[-1:]] = -np.inf
        best = int(np.round(worth, 9).argmax())  # rounded: no tie is broken by how sums are made
        chosen.append(best)
        purposes.append(pool.purpose[int((needs * pool.share[best]).argmax())])
        times += pool.share[best] > 0
        played, errors = played + pool.slots[best], errors + pool.errors[best]
    return Practice(_text([pool.prompts[n] for n in chosen]), tuple(purposes), errors / played)


def _pool(
    knowledge: Knowledge, rungs: Sequence[Rung], seed: int, now: float, compass: Compass
) -> _Pool:
    usable = _some([rung for rung in rungs if practisable(rung)], seed)
    each = max(_PROMPTS_OF_RUNG, _PROMPTS // max(1, len(usable)))
    found: dict[object, tuple[Prompt, Rung]] = {}
    for rung in usable:
        try:
            prompts = deal(rung.level, seed, each, compass)
        except EmptyPool:
            continue
        for prompt in prompts:
            face = (prompt.signature, *(_slot_text(slot) for slot in prompt.slots))
            found.setdefault(face, (prompt, rung))
    if len(found) < 2:
        raise EmptyPool("no level reached has prompts to practise; begin with the first level")
    signs: dict[Sign, int] = {}
    rows = []
    for prompt, _ in found.values():
        by_id = signs_of(prompt)
        rows.append(
            [
                [signs.setdefault(by_id[n.id], len(signs)) for n in slot.notes]
                for slot in prompt.slots
            ]
        )
    needs, rights, purposes = zip(*(_need(knowledge, sign, now) for sign in signs), strict=True)
    share = np.zeros((len(rows), len(signs)))
    for row, places in enumerate(rows):
        notes = [place for slot in places for place in slot]
        for place in notes:
            share[row, place] += 1 / len(notes)
    errors = [sum(1 - prod(rights[place] for place in slot) for slot in places) for places in rows]
    slots = np.array([len(places) for places in rows], dtype=float)
    return _Pool(
        tuple(found.values()), slots, np.array(errors), share, np.array(needs), tuple(purposes)
    )


def _some(rungs: list[Rung], seed: int) -> list[Rung]:
    """Other levels on other days, so that the cost does not grow with the ladder."""
    if len(rungs) <= _RUNGS:
        return rungs
    rng = Random(seed)
    early = sorted((rng.random(), index) for index in range(len(rungs) - _LATEST))
    kept = sorted(index for _, index in early[: _RUNGS - _LATEST])
    return [rungs[index] for index in kept] + rungs[-_LATEST:]


def _need(knowledge: Knowledge, sign: Sign, now: float) -> tuple[float, float, str]:
    """A sign's need, its probability of a right answer, and why it would be practised."""
    right = knowledge.certainty(sign, now)
    time = knowledge.time(sign, now).mean
    slow = _SLOW * min(1.0, max(0.0, log(time / knowledge.usual_s)))
    known = knowledge.signs.get(sign)
    if known is None:
        right *= _NEW
        return 1 - right + slow, right, "new"
    right *= known.memory.recall(now)
    due = known.memory.due <= now
    purpose = "due" if due else "weak" if right < 1 - ERROR_RATE else "known"
    return 1 - right + slow + _DUE * due, right, purpose


def _text(chosen: Sequence[tuple[Prompt, Rung]]) -> str:
    levels = [rung.level for _, rung in chosen]
    limit = max(level.limit_s for level in levels)
    written = "".join(_written(prompt) for prompt, _ in chosen)
    return f"""format = 1
id = "practice"
title = "Today's practice"
stage = "Practice"
about = "What is due, what is weak, and some of what you know."
limit_s = {limit!r}

[show]
texture = "written"
in_order = true
{written}
[pass]
accuracy = {1 - ERROR_RATE}
median_s = {median(level.passing.median_s for level in levels)!r}

[round]
prompts = {len(chosen)}
seconds = 120
"""


def _written(prompt: Prompt) -> str:
    slots = ", ".join(f'"{_slot_text(slot)}"' for slot in prompt.slots)
    return f"\n[[show.written]]\nsignature = {prompt.signature.fifths}\nslots = [{slots}]\n"


def _slot_text(slot: Slot) -> str:
    """A slot as level files write it: upper staff / lower staff."""
    upper, lower = (
        " ".join(_note_text(note) for note in slot.notes if note.staff == staff)
        for staff in (UPPER, LOWER)
    )
    return f"{upper} / {lower}".strip() if lower else upper


def _note_text(note: Note) -> str:
    usual = USUAL_CLEF[note.staff]
    return note.pitch.spelling + ("" if note.clef is usual else f"@{note.clef.value}")
