# SPDX-License-Identifier: MIT
"""Why a wrong key was pressed: a small probabilistic model over the kinds of misread.

For a wrong key *k*, pressed *t* seconds after its slot could be read and put right *c* seconds
later, the share of a kind *m* is Bayes' rule over the notes *n* of the slot and the kinds that
can happen at them:

    P(m, n | k, t, c)  ~  P(m) P(n) P(k | m, n) P(t | m) P(c | m)

- P(m): this reader's habits, a Dirichlet whose base counts are :data:`BASE` and whose further
  counts are the shares of earlier misreads, the older ones fading (:class:`Habits`).
- P(n): the same for every note of the slot whose key was not down already.
- P(k | m, n): the chances of :func:`game.reader.misread.readings`, with 2 % spread over the 88
  keys. UNKNOWN spreads 70 % over the two octaves around the note, 30 % over all keys.
- P(t | m), P(c | m): lognormal (:data:`_TIMING`). A slip of the finger comes as fast as a
  right answer and is put right at once; a misread takes as long to mend as to read again. So
  does one slip in sixteen, which its player looks for on the staff: time alone does not leave a
  neighbouring key that nothing printed accounts for without a reason.

The base counts, chances and times are ours, by judgement; the counts of the reader outweigh the
base counts after a dozen misreads.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import exp, log, pi, sqrt
from types import MappingProxyType

from game.levels.prompt import Note, Prompt
from game.notation import HIGHEST_KEY, LOWEST_KEY, Pitch, likeliest
from game.reader.misread import Misread, Misreading, readings

BASE: Mapping[Misread, float] = MappingProxyType(
    {
        Misread.OCTAVE: 1.5,
        Misread.SIGNATURE: 2.0,
        Misread.SIGN: 1.0,
        Misread.CARRIED: 1.0,
        Misread.NATURAL: 1.0,
        Misread.CLEF: 1.0,
        Misread.STEP: 2.5,
        Misread.THIRD: 1.0,
        Misread.LEDGER: 1.0,
        Misread.SLIP: 0.8,
        Misread.MIRROR: 0.5,
        Misread.UNKNOWN: 0.5,
    }
)
"""Counts of misreads that every reader begins with."""

_FADE = 0.99  # of an older misread, by each newer one: the last hundred make the habit
_LEAK = 0.02
_KEYS = HIGHEST_KEY - LOWEST_KEY + 1
_USUAL_S = 1.5  # a reading time for a reader who has none yet
# (median of t / this reader's median, its spread), (median of c in s, or in reading times; spread)
_LATE = 1 / 16  # of the slips, those with the times of a misread
_TIMING = {True: ((0.85, 0.35), (0.35, 0.45)), False: ((1.1, 0.5), (0.8, 0.6))}


@dataclass(frozen=True)
class Habits:
    """How often a reader misread in which way: counts, the older ones faded."""

    counts: Mapping[Misread, float] = field(default_factory=dict)

    def after(self, explanation: Explanation) -> Habits:
        """The habits with one more misread in them, shared among the kinds it may have been."""
        counts = {kind: _FADE * count for kind, count in self.counts.items()}
        for kind, share in explanation.shares.items():
            counts[kind] = counts.get(kind, 0.0) + share
        return Habits(counts)

    def weight(self, kind: Misread) -> float:
        """Base count and own count of a kind: P(kind) but for a factor."""
        return BASE[kind] + self.counts.get(kind, 0.0)

    def to_json(self) -> dict[str, float]:
        """Plain values for a file."""
        return {kind.value: round(count, 6) for kind, count in self.counts.items()}

    @classmethod
    def from_json(cls, data: Mapping[str, float]) -> Habits:
        """What :meth:`to_json` gave.

        Raises:
            ValueError: an unknown kind, or a count below 0.
        """
        habits = cls({Misread(name): float(count) for name, count in data.items()})
        if any(count < 0 for count in habits.counts.values()):
            raise ValueError("counts of misreads are 0 or more")
        return habits


@dataclass(frozen=True, slots=True)
class WrongPress:
    """A wrong first press with what is known about its time.

    Args:
        key: MIDI key number.
        t: seconds from when its slot could be read.
        right_t: seconds, likewise, of the first right press after it; None when there is none
            (yet).
        struck: keys of the slot that were down already.
    """

    key: int
    t: float
    right_t: float | None = None
    struck: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Explanation:
    """Why a wrong key was pressed.

    Args:
        kind: the likeliest reason.
        shares: kind -> probability, likeliest first, those below 1 in 1000 left out; they add
            up to 1.
        note_id: the note that was misread, likeliest.
        shown: its pitch.
        read: what it was taken for; where nothing printed says that, the key as
            :func:`spelled`.
        predicted: the kinds that lead to this very key at that note. Where there are two, the
            key alone cannot tell them apart; habits and timing have split the shares.
        pace: t / this reader's median reading time; None without one.
        mended_s: seconds from the wrong press to the right one; None without one.
    """

    kind: Misread
    shares: Mapping[Misread, float]
    note_id: str
    shown: Pitch
    read: Pitch
    predicted: tuple[Misread, ...]
    pace: float | None
    mended_s: float | None


def spelled(prompt: Prompt, note: Note, key: int, read: Pitch | None = None) -> Pitch:
    """How a key that was played for a note is written, wherever it is drawn or named.

    As what the note was taken for, where that is known; as the note itself, in another octave;
    else in its likeliest spelling under the signature.
    """
    if read is not None and read.key == key:
        return read
    octaves, other = divmod(key - note.key, 12)
    if other:
        return likeliest(key, prompt.signature)
    return Pitch(note.pitch.letter, note.pitch.alter, note.pitch.octave + octaves)


def explain(
    prompt: Prompt,
    slot: int,
    press: WrongPress,
    habits: Habits = Habits(),
    *,
    median_s: float | None = None,
    before: Prompt | None = None,
) -> Explanation:
    """Explain a wrong press.

    Args:
        prompt: what was being read.
        slot: index of the slot in it.
        press: the wrong press.
        habits: of this reader, before it.
        median_s: this reader's median seconds of right first answers; None when there are none.
        before: the prompt that was read before this one, if its signs may still be in mind.

    Raises:
        ValueError: the key is a right one, or the slot has nothing to press.
    """
    asked = prompt.slots[slot]
    octaves = range(-120, 121, 12) if asked.asks else (0,)
    if not asked.keys or any(press.key + octave in asked.keys for octave in octaves):
        raise ValueError(f"key {press.key} is not a wrong key for slot {slot}")
    notes = [note for note in asked.notes if not note.tied and note.key not in press.struck]
    notes = notes or [note for note in asked.notes if not note.tied]
    found = {note.id: readings(prompt, note, before) if not asked.asks else () for note in notes}
    joint: dict[tuple[str, Misread], float] = {}
    for note in notes:
        for kind in (*dict.fromkeys(r.kind for r in found[note.id]), Misread.UNKNOWN):
            chance = _key_chance(kind, press.key, note, found[note.id])
            joint[note.id, kind] = (
                habits.weight(kind) * chance * _time_chance(kind, press, median_s)
            )
    total = sum(joint.values())
    by_kind: dict[Misread, float] = {}
    by_note: dict[str, float] = {}
    for (note_id, kind), weight in joint.items():
        by_kind[kind] = by_kind.get(kind, 0.0) + weight / total
        by_note[note_id] = by_note.get(note_id, 0.0) + weight / total
    kind = max(by_kind, key=lambda kind: by_kind[kind])
    note = max(notes, key=lambda note: (joint.get((note.id, kind), 0.0), by_note[note.id]))
    here = [reading for reading in found[note.id] if reading.pitch.key == press.key]
    read = next((reading.pitch for reading in here if reading.kind is kind), None)
    return Explanation(
        kind,
        _shares(by_kind),
        note.id,
        note.pitch,
        read or spelled(prompt, note, press.key),
        tuple(dict.fromkeys(reading.kind for reading in here)),
        None if median_s is None else press.t / median_s,
        None if press.right_t is None else press.right_t - press.t,
    )


def _shares(weights: Mapping[Misread, float]) -> dict[Misread, float]:
    kept = {kind: weight for kind, weight in weights.items() if weight >= 1e-3}
    total = sum(kept.values())
    return {kind: kept[kind] / total for kind in sorted(kept, key=lambda kind: -kept[kind])}


def _key_chance(kind: Misread, key: int, note: Note, found: tuple[Misreading, ...]) -> float:
    """P(key | kind, note)."""
    if kind is Misread.UNKNOWN:
        near = 0.7 / 25 if abs(key - note.key) <= 12 else 0.0
        return near + 0.3 / _KEYS
    chance = sum(r.chance for r in found if r.kind is kind and r.pitch.key == key)
    return (1 - _LEAK) * chance + _LEAK / _KEYS


def _time_chance(kind: Misread, press: WrongPress, median_s: float | None) -> float:
    """P(t | kind) P(c | kind), as far as the times are known."""
    misread = _times_chance(press, median_s, slip=False)
    if kind is not Misread.SLIP:
        return misread
    return (1 - _LATE) * _times_chance(press, median_s, slip=True) + _LATE * misread


def _times_chance(press: WrongPress, median_s: float | None, *, slip: bool) -> float:
    """The chance of the times of a press that is put right at once, or after reading again."""
    (pace, pace_spread), (mended, mended_spread) = _TIMING[slip]
    chance = 1.0
    if median_s is not None:
        chance *= _lognormal(press.t / median_s, pace, pace_spread)
    if press.right_t is not None:
        expected = mended if slip else mended * (median_s or _USUAL_S)
        chance *= _lognormal(press.right_t - press.t, expected, mended_spread)
    return chance


def _lognormal(value: float, median: float, spread: float) -> float:
    """Density of log(value); below 10 ms everything is 10 ms."""
    z = (log(max(value, 0.01)) - log(median)) / spread
    return exp(-0.5 * z * z) / (spread * sqrt(2 * pi))
