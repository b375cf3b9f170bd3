# SPDX-License-Identifier: MIT
"""Today's practice: a round made for one reader, written out as a level of its own.

Prompts are dealt from the levels reached and chosen one by one. While the errors to be expected
are fewer than 15 %, the prompt that is needed most comes next; else one that is surely known.
So what is weak, slow or due is practised among just enough of what is known, and the round begins
with something known. Of the needed prompts every other one is of a sign that is read wrongly too
often, of each clef in turn: new signs, or a clef full of slow ones, do not crowd it out. What was
missed in the round just played comes before all that. New signs come in the order of the ladder,
one at a time and only while the 15 % leave room for them. Learning is fastest at an error rate
near 15 % (Wilson, Shenhav, Straccia & Cohen 2019, Nature Communications 10:4646).

The need of a sign read rightly with probability p (its certainty), and quicker than this reader's
usual time with probability q, that was last read t minutes ago (a quarter at least), is

    (1 - p q)^4 (1 - exp(-t / 5)),

1 for a new one, halved each time that it is in the round already; of a prompt, the mean over its
notes. The fourth power turns to what is weak and lets go of what is fluent; the second factor
spreads the readings of a sign out over the sitting, for crowded ones do not last (Cepeda et al.
2006, Psychological Bulletin 132:354-380, from memory); nor does a sign return within three
prompts, where there is a choice. The error to be expected of a sign is

    0.8 (1 - p r / 0.9),   r its recall, at most 0.9;   1 - 0.8 p of one never seen:

answers come when FSRS has them due, at a recall of 0.9, and a sign that is being learnt does
better than its answers so far. The constants are ours; the tests hold the rule (practice_bench.py)
against others.

The level's text holds every note, so that the round can be recorded, replayed and scored like
any other. The same knowledge, levels, seed and time give the same text.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from math import erf, exp, inf, log, sqrt
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
from game.notation import Clef
from game.reader.knowledge import Knowledge
from game.reader.retention import DESIRED
from game.reader.sign import ReadingItem, signs_of
from game.rounds import Round

PRACTICE_ID = "todays-practice"
"""Id of the level that a practice round is."""

ERROR_RATE = 0.15
SLOTS = 32
"""Slots of a practice round, unless another length is asked for."""

_TEXTURES = ("one note", "hands together", "chord")
_PROMPTS_OF_RUNG, _PROMPTS = 12, 240  # to choose from: of each level; together at least
_RUNGS, _LATEST = 28, 8  # levels to choose from at most; those reached last are always among them
_SHARP, _REST_S, _LEAST_S = 4, 300.0, 15.0
_AGAIN = 0.5
_TURNS = 2  # that a weak sign takes at most
_TURN = 4.0  # added to the need of a sign whose turn it is: no other needs as much
_APART = 3  # prompts between two of the same sign, where there is a choice
_LEARNT = 0.8  # of the errors made so far are still to be expected
_NEW = 0.8  # as surely as its neighbours a sign is read that was never seen
_FEWEST = 5  # signs of a round, new ones included
_SEEN_ALREADY = 0.05  # error that a known prompt may have more, rather than repeat a sign
_LUCK = 0.5  # by which one prompt may seem needed more than another
_AVOIDED, _CLOSED = -5.0, -10.0  # below any worth: taken where there is nothing else
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
class Pool:
    """What to choose from: prompts, no two alike, and the signs in them.

    Args:
        prompts: each with the level that it is of.
        signs: in the order in which the ladder brings them.
        held: row for row the slots of all prompts, column for column the signs: how many of each.
        starts: of each prompt, its first row in `held`.
        share: row for row the prompts, column for column the signs: share of its notes.
        luck: of each prompt, 0 to 1: of those nearly as good as each other the luckiest is taken.
    """

    prompts: tuple[tuple[Prompt, Rung], ...]
    signs: tuple[ReadingItem, ...]
    held: _Floats
    starts: NDArray[np.int64]
    share: _Floats
    luck: _Floats


@dataclass(frozen=True)
class Choice:
    """What was chosen from a pool.

    Args:
        prompts: their indices, in the order of the round.
        purposes: why each is in it.
        error_rate: share of slots expected to be missed, 0 to 1.
    """

    prompts: tuple[int, ...]
    purposes: tuple[str, ...]
    error_rate: float


def practisable(rung: Rung) -> bool:
    """Whether practice can take prompts from a level: those of one bar, read one by one."""
    show = rung.level.show
    return show.texture in _TEXTURES and show.bars == 1 and rung.level.time is None


def opened(
    knowledge: Knowledge,
    rungs: Sequence[Rung],
    passed: Collection[str],
    now: float,
    compass: Compass = FULL_COMPASS,
) -> tuple[Rung, ...]:
    """The levels that practice draws on.

    Those passed, and the others in order up to the first with a sign that was never met, or
    whose signs are not read as surely, on average, as the level asks: so who only practises gets
    on too. Levels that practice cannot take prompts from stop nobody.

    Args:
        knowledge: what the reader knows.
        rungs: of the ladder, in order.
        passed: ids of the levels passed.
        now: seconds since 1970.
        compass: the keys of the keyboard.
    """
    found = []
    for rung in rungs:
        found.append(rung)
        if rung.level.id not in passed and not _read_surely(knowledge, rung, now, compass):
            break
    later = rungs[len(found) :]
    return (*found, *(rung for rung in later if rung.level.id in passed))


def _read_surely(knowledge: Knowledge, rung: Rung, now: float, compass: Compass) -> bool:
    if not practisable(rung):
        return True
    try:
        prompts = deal(rung.level, 0, _PROMPTS_OF_RUNG, compass)
    except EmptyPool:
        return True
    signs = tuple({sign for prompt in prompts for sign in signs_of(prompt).values()})
    certainty, _times = knowledge.figures(signs, now)
    met = all(sign in knowledge.signs for sign in signs)
    return met and bool(certainty.mean() >= rung.level.passing.accuracy)


def practice(
    knowledge: Knowledge,
    rungs: Sequence[Rung],
    seed: int,
    now: float,
    slots: int = SLOTS,
    compass: Compass = FULL_COMPASS,
    after: tuple[Rung, Round] | None = None,
) -> Practice:
    """A round for this reader.

    Args:
        knowledge: what the reader knows.
        rungs: the levels reached, those under way included.
        seed: 0 or more; another seed is another round.
        now: seconds since 1970.
        slots: about how many slots it has, 2 or more: the last prompt may go beyond.
        compass: the keys that the reader's keyboard has.
        after: the round just played, with the level that it was: what was missed in it returns.

    Raises:
        EmptyPool: none of the levels has two prompts that can be practised on this keyboard.
    """
    missed = {} if after is None else missed_in(after[1])
    again = [(prompt, after[0]) for prompt in missed.values()] if after is not None else []
    pool = pool_of(rungs, seed, compass, again)
    choice = choose(knowledge, pool, now, slots, missed)
    text = _text([pool.prompts[n] for n in choice.prompts])
    return Practice(text, choice.purposes, choice.error_rate)


def missed_in(ended: Round) -> dict[ReadingItem, Prompt]:
    """The signs of all slots whose first answer was wrong, each with the last such prompt."""
    found = {}
    for result in ended.results:
        prompt = ended.prompts[result.prompt]
        signs = signs_of(prompt)
        if result.answers and not result.right:
            notes = prompt.slots[result.slot].notes
            found.update({signs[note.id]: prompt for note in notes if note.id in signs})
    return found


def choose(
    knowledge: Knowledge,
    pool: Pool,
    now: float,
    slots: int = SLOTS,
    missed: Collection[ReadingItem] = (),
) -> Choice:
    """The prompts of a round, chosen from a pool by the rule above.

    Args:
        knowledge: what the reader knows.
        pool: to choose from.
        now: seconds since 1970.
        slots: about how many slots the round has.
        missed: signs that were missed in the round just played.
    """
    certainties, times_s = knowledge.figures(pool.signs, now)
    found = [
        _need(knowledge, sign, now, certainty, time_s)
        for sign, certainty, time_s in zip(
            pool.signs, certainties.tolist(), times_s.tolist(), strict=True
        )
    ]
    just = np.array([sign in missed for sign in pool.signs])
    needs = np.where(just, 1.0, [need for need, _, _ in found])
    rights = np.array([right for _, right, _ in found])
    unmet = np.array([purpose == "new" for _, _, purpose in found])
    weak = ~unmet & (rights < 1 - ERROR_RATE)
    clefs = np.array([[*Clef].index(sign.clef) for sign in pool.signs])
    luck = _LUCK * pool.luck
    turns, others = [0 for _ in Clef], 0  # of weak signs in each clef; of others that were needed
    size = np.diff(pool.starts, append=len(pool.held)).astype(float)
    missed = np.add.reduceat(1 - np.exp(pool.held @ np.log(rights)), pool.starts)
    rate, holds = missed / size, pool.share > 0
    times, last = np.zeros(len(needs)), np.full(len(needs), -_APART - 1)
    chosen: list[int] = []
    purposes: list[str] = []
    played = errors = 0.0
    while played < slots:
        wanting = errors < ERROR_RATE * played
        left = needs * _AGAIN**times
        owed = just & (times == 0)
        if not owed.any() and sum(turns) <= others:
            owed = weak & (times < _TURNS) & (last < len(chosen) - _APART)
        if wanting and owed.any():
            clef = min(clefs[owed].tolist(), key=lambda clef: turns[clef])
            owed = owed & (clefs == clef)
            left = left + _TURN * (owed & (times == times[owed].min()))
            turns[clef] += 1
        else:
            others += wanting
        if wanting:
            worth = (pool.share @ left) * (1 + luck)
        else:
            worth = _SEEN_ALREADY * (luck - pool.share @ times) - rate
        if unmet.any():
            worth += _CLOSED * _closed(holds, unmet, int(wanting))
        worth += _AVOIDED * holds[:, last >= len(chosen) - _APART].any(axis=1)
        worth[chosen[-1:]] = -np.inf
        best = int(np.round(worth, 9).argmax())  # rounded: no tie is broken by how sums are made
        purposes.append(found[int((left * pool.share[best]).argmax())][2])
        chosen.append(best)
        held = holds[best]
        times, last[held], unmet = times + held, len(chosen) - 1, unmet & ~held
        played, errors = played + size[best], errors + missed[best]
    return Choice(tuple(chosen), tuple(purposes), errors / played)


def _closed(holds: NDArray[np.bool_], unmet: NDArray[np.bool_], more: int) -> NDArray[np.bool_]:
    """The prompts with new signs that are not next on the ladder; `more` of them may come now.

    Where every prompt has such signs, as when a level begins with several at once, those with
    the fewest are open.
    """
    count = max(more, _FEWEST - int((~unmet).sum()))
    later = unmet.copy()
    later[np.flatnonzero(unmet)[:count]] = False
    of_later = holds[:, later].sum(axis=1)
    return np.asarray(of_later > of_later.min())


def pool_of(
    rungs: Sequence[Rung],
    seed: int,
    compass: Compass = FULL_COMPASS,
    again: Iterable[tuple[Prompt, Rung]] = (),
) -> Pool:
    """Prompts dealt from these levels, to choose a round from, and some to be shown again.

    Raises:
        EmptyPool: there are not two.
    """
    usable = _some([rung for rung in rungs if practisable(rung)], seed)
    each = max(_PROMPTS_OF_RUNG, _PROMPTS // max(1, len(usable)))
    dealt: list[tuple[Prompt, Rung]] = []
    for rung in usable:
        with suppress(EmptyPool):
            dealt += [(prompt, rung) for prompt in deal(rung.level, seed, each, compass)]
    found: dict[object, tuple[Prompt, Rung]] = {}
    for prompt, rung in (*dealt, *again):
        face = (prompt.signature, *(_slot_text(slot) for slot in prompt.slots))
        if all(map(compass.contains, (note.key for note in prompt.notes))):
            found.setdefault(face, (prompt, rung))
    if len(found) < 2:
        raise EmptyPool("no level reached has prompts to practise; begin with the first level")
    signs: dict[ReadingItem, int] = {}
    slots: list[list[int]] = []
    starts = []
    for prompt, _ in found.values():
        by_id = signs_of(prompt)
        starts.append(len(slots))
        slots += [
            [signs.setdefault(by_id[note.id], len(signs)) for note in slot.notes]
            for slot in prompt.slots
        ]
    held = np.zeros((len(slots), len(signs)))
    for row, places in enumerate(slots):
        for place in places:
            held[row, place] += 1
    share = np.add.reduceat(held, starts)
    share /= share.sum(axis=1, keepdims=True)
    rng = Random(seed)
    luck = np.array([rng.random() for _ in found])
    return Pool(tuple(found.values()), tuple(signs), held, np.array(starts), share, luck)


def _some(rungs: list[Rung], seed: int) -> list[Rung]:
    """Other levels on other days, so that the cost does not grow with the ladder."""
    if len(rungs) <= _RUNGS:
        return rungs
    rng = Random(seed)
    early = sorted((rng.random(), index) for index in range(len(rungs) - _LATEST))
    kept = sorted(index for _, index in early[: _RUNGS - _LATEST])
    return [rungs[index] for index in kept] + rungs[-_LATEST:]


def _need(
    knowledge: Knowledge, sign: ReadingItem, now: float, certainty: float, time_s: float
) -> tuple[float, float, str]:
    """A sign's need, its probability of a right answer, and why it would be practised."""
    known = knowledge.signs.get(sign)
    if known is None:
        return 1.0, _NEW * certainty, "new"
    spread = sqrt(2 * knowledge.totals.spread / knowledge.totals.spread_of)
    slower = log(time_s / knowledge.usual_s)
    quick = 0.5 - 0.5 * erf(slower / spread)
    since = now - known.at if now >= known.at else inf  # a clock set back says nothing
    rested = 1 - exp(-max(_LEAST_S, since) / _REST_S)
    right = 1 - _LEARNT * (1 - certainty * min(1.0, known.memory.recall(now) / DESIRED))
    weak = "weak" if right < 1 - ERROR_RATE else "known"
    purpose = "due" if known.memory.due <= now else weak
    return (1 - certainty * quick) ** _SHARP * rested, right, purpose


def _text(chosen: Sequence[tuple[Prompt, Rung]]) -> str:
    levels = [rung.level for _, rung in chosen]
    limit = max(level.limit_s for level in levels)
    written = "".join(_written(prompt) for prompt, _ in chosen)
    return f"""format = 1
id = "{PRACTICE_ID}"
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
