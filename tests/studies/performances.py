# SPDX-License-Identifier: MIT
"""Performances in time with planted slips, and how well an alignment finds them.

`python tests/studies performances` prints the table of DEVELOPERS.md.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from random import Random
from typing import TypeVar

from game.rounds.alignment import Alignment, Expected, align
from game.rounds.events import Press

SLIPS = (
    "late",
    "early",
    "missed",
    "octave",
    "neighbour",
    "other key",
    "swapped",
    "extra",
    "double",
)
NOTE_KINDS = ("right", "missed", "wrong")
KINDS = (*NOTE_KINDS, "extra")
SEEDS = 200
BEAT_S = 0.5
T = TypeVar("T")
_SCALE = (0, 2, 4, 5, 7, 9, 11)


@dataclass(frozen=True)
class Manner:
    """How the whole of it is played, slips aside. Seconds, but `drift` (seconds per second)."""

    shift: float = 0.0
    drift: float = 0.0
    stop: float = 0.0
    spread: float = 0.0
    jitter: float = 0.015


MANNERS = {
    "with the beat": Manner(),
    "behind by 0.4 s": Manner(shift=0.4),
    "ahead by 0.3 s": Manner(shift=-0.3),
    "behind by 3 s": Manner(shift=3.0),
    "slowing by 10 %": Manner(drift=0.10),
    "rushing by 10 %": Manner(drift=-0.10),
    "a stop of 1.5 s": Manner(stop=1.5),
    "chords spread by 60 ms": Manner(spread=0.06),
    "unsteady (30 ms)": Manner(jitter=0.03),
}


@dataclass(frozen=True)
class Performance:
    """A performance with its truth.

    Args:
        expected: the music.
        presses: what was played, in order of time.
        beat_s: seconds of a beat.
        kinds: of each note by id: one of :data:`NOTE_KINDS`; a late or early one is right.
        slips: the slip planted at a note, by id.
        played: the press that was for each note, by id; missed ones are left out.
        extras: the presses that were for none.
    """

    expected: tuple[Expected, ...]
    presses: tuple[Press, ...]
    beat_s: float
    kinds: dict[str, str]
    slips: dict[str, str]
    played: dict[str, Press]
    extras: frozenset[Press]


def line(*keys: int, step: float = BEAT_S) -> tuple[Expected, ...]:
    """Notes one after the other, a beat apart."""
    return tuple(Expected(f"n{place}", key, place * step) for place, key in enumerate(keys))


def played(*presses: tuple[float, int]) -> tuple[Press, ...]:
    return tuple(Press(t, key) for t, key in presses)


def on_time(notes: tuple[Expected, ...], late: float = 0.0) -> tuple[Press, ...]:
    return tuple(Press(note.onset + late, note.key) for note in notes)


def music(chance: Random, *, notes: int = 32, hands: int = 1) -> tuple[tuple[Expected, ...], float]:
    """A line in C major, mostly by step; with two hands, keys of a lower chord under some notes.

    Returns:
        About so many notes, and the seconds of a beat (50 to 132 beats per minute).
    """
    beat_s = 60 / (50 + 82 * chance.random())
    found: list[Expected] = []
    degree, beat = 7, 0.0
    while len(found) < notes:
        found.append(Expected(f"u{len(found)}", _key(60, degree - 7), beat * beat_s))
        if hands == 2 and chance.random() < 0.5:
            root = int(7 * chance.random())
            for above in (0, 2, 4)[: 1 + int(3 * chance.random())]:
                found.append(Expected(f"l{len(found)}", _key(36, root + above), beat * beat_s))
        degree += _one_of(chance, (-1, 1, -1, 1, -1, 1, -2, 2, 0, -3, 3))
        degree = min(max(degree, 4), 18)
        beat += _one_of(chance, (0.5, 0.5, 1.0, 1.0, 1.0, 1.5, 2.0))
    return tuple(found), beat_s


def perform(
    expected: tuple[Expected, ...],
    beat_s: float,
    chance: Random,
    *,
    slips: Iterable[str] = (),
    rate: float = 0.15,
    manner: Manner = Manner(),
) -> Performance:
    """Play the music, with about `rate` slips a note, of the kinds named.

    A slip is planted only where it is what it claims to be: a late note comes before the next
    onset, an early one after the last, swapped notes stand alone at their onsets and differ.
    """
    slips = tuple(slips)
    gap = max(0.09, 3 * beat_s / 16) + 3 * manner.jitter + manner.spread  # past any doubt
    onsets = sorted({note.onset for note in expected})
    alone = Counter(note.onset for note in expected)
    stops_at = onsets[len(onsets) // 2] if manner.stop and len(onsets) > 1 else None
    kinds: dict[str, str] = {}
    planted: dict[str, str] = {}
    played: dict[str, Press] = {}
    extras: list[Press] = []
    swapped: Expected | None = None

    def press(time: float, key: int, onset: float) -> Press:
        late = manner.stop if stops_at is not None and onset >= stops_at else 0.0
        rolled = manner.spread * chance.random() if alone[onset] > 1 else 0.0
        jitter = manner.jitter * _normal(chance)
        return Press(time + manner.shift + manner.drift * time + late + rolled + jitter, key)

    for note in expected:
        place = onsets.index(note.onset)
        following = onsets[place + 1] if place + 1 < len(onsets) else note.onset + 2 * beat_s
        previous = onsets[place - 1] if place else note.onset - 2 * beat_s
        keys = {other.key for other in expected if abs(other.onset - note.onset) < 2.1 * beat_s}
        slip = _one_of(chance, slips) if slips and chance.random() < rate else ""
        time, key, kind, off = note.onset, note.key, "right", False
        if swapped is not None and note.onset == swapped.onset:
            key, kind, swapped, slip = _before(expected, note).key, "wrong", None, ""
            planted[note.id] = "swapped"
        elif slip in ("late", "early"):
            room = following - note.onset if slip == "late" else note.onset - previous
            most = min(0.75 * room, 0.8 * beat_s) - manner.spread
            if most > gap:
                off = True
                time += (1 if slip == "late" else -1) * (gap + (most - gap) * chance.random())
        elif slip == "missed":
            kind = "missed"
        elif slip == "octave":
            key, kind = key + _one_of(chance, (-12, 12)), "wrong"
        elif slip == "neighbour":
            key, kind = key + _one_of(chance, (-2, -1, 1, 2)), "wrong"
        elif slip == "other key":
            key, kind = key + _one_of(chance, (-7, -6, -5, -4, 4, 5, 6, 7)), "wrong"
        elif slip == "swapped":
            after = [other for other in expected if other.onset == following]
            if alone[note.onset] == len(after) == 1 and after[0].key != key:
                swapped = after[0]
                key, kind = swapped.key, "wrong"
        if kind == "wrong" and swapped is None and slip and key in keys:
            key, kind = note.key, "right"  # it would be another note of the music
        kinds[note.id] = kind
        if (kind != "right" or off) and slip:
            planted[note.id] = slip
        if kind != "missed":
            played[note.id] = press(time, key, note.onset)
        if slip == "double":
            extras.append(press(time + 0.07 + 0.05 * chance.random(), note.key, note.onset))
        elif slip == "extra":
            between = note.onset + (0.3 + 0.4 * chance.random()) * (following - note.onset)
            stray = note.key + _one_of(chance, (-4, -3, -2, -1, 1, 2, 3, 4))
            if stray not in keys:
                extras.append(press(between, stray, note.onset))
    presses = sorted((*played.values(), *extras), key=lambda one: (one.t, one.key))
    return Performance(expected, tuple(presses), beat_s, kinds, planted, played, frozenset(extras))


@dataclass
class Tally:
    """Counts up what was planted, found, and found rightly, by kind."""

    planted: Counter[str] = field(default_factory=Counter)
    found: Counter[str] = field(default_factory=Counter)
    both: Counter[str] = field(default_factory=Counter)

    def add(self, truth: Performance, found: Alignment) -> None:
        """A note counts as found when its kind and its very press are those planted."""
        for note in found.notes:
            name, kind = note.expected.id, note.outcome.value
            planted = truth.kinds[name]
            right = kind == planted and note.press == truth.played.get(name)
            for counted in {planted, truth.slips.get(name, planted)}:
                self.planted[counted] += 1
                self.both[counted] += right
            self.found[kind] += 1
        self.planted["extra"] += len(truth.extras)
        self.found["extra"] += len(found.extras)
        self.both["extra"] += len(truth.extras & set(found.extras))

    def precision(self, kind: str) -> float:
        return self.both[kind] / self.found[kind] if self.found[kind] else 1.0

    def recall(self, kind: str) -> float:
        return self.both[kind] / self.planted[kind] if self.planted[kind] else 1.0


def performances(
    manner: Manner,
    seeds: Iterable[int],
    *,
    hands: int = 1,
    rate: float = 0.15,
    slips: tuple[str, ...] = SLIPS,
) -> Iterator[Performance]:
    """One performance a seed, with slips of these kinds."""
    for seed in seeds:
        chance = Random(seed)
        expected, beat_s = music(chance, hands=hands)
        yield perform(expected, beat_s, chance, slips=slips, rate=rate, manner=manner)


def tallied(truths: Iterable[Performance]) -> Tally:
    """The tally of our own alignment."""
    tally = Tally()
    for truth in truths:
        tally.add(truth, align(truth.expected, truth.presses, truth.beat_s))
    return tally


def _key(base: int, degree: int) -> int:
    octave, place = divmod(degree, 7)
    return base + 12 * octave + _SCALE[place]


def _before(expected: tuple[Expected, ...], note: Expected) -> Expected:
    return max((other for other in expected if other.onset < note.onset), key=lambda o: o.onset)


def _one_of(chance: Random, options: tuple[T, ...]) -> T:
    return options[int(len(options) * chance.random())]


def _normal(chance: Random) -> float:
    """Near enough to a normal deviate: the sum of twelve even ones."""
    return sum(chance.random() for _ in range(12)) - 6


def main() -> None:
    total = Tally()
    print("| played | hands | " + " | ".join(KINDS) + " |")
    print("| --- | --- |" + " --- |" * len(KINDS))
    for name, manner in MANNERS.items():
        for hands in (1, 2):
            tally = tallied(performances(manner, range(SEEDS), hands=hands))
            cells = (f"{tally.precision(k):.3f} / {tally.recall(k):.3f}" for k in KINDS)
            print(f"| {name} | {hands} | " + " | ".join(cells) + " |")
            total.planted += tally.planted
            total.both += tally.both
    print()
    for slip in SLIPS[:-1]:
        print(f"{slip}: {total.both[slip]} of {total.planted[slip]} found")


if __name__ == "__main__":
    main()
