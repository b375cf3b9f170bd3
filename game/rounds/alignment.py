# SPDX-License-Identifier: MIT
"""Which press was for which note: a performance set against the measured music it reads.

A wrong, missed or extra note must not derail the rest, nor must a reader who is late, slows down,
rushes, or stops and goes on. So the pairing is the cheapest of all, found by dynamic programming
over pitch and time: Needleman & Wunsch (1970), J. Mol. Biol. 48:443-453; on music played from a
score, Dannenberg (1984), Proc. ICMC, 193-198 (both from memory). It goes chord by chord, so that
the keys of a chord may come in any order. The costs are ours:

- a note that no key was played for: 1; a key played for no note: 1;
- the right key for a note: 0; another octave of it, or a key at most two semitones away: 1;
  any other key: 1.1;
- time, for each note played: from 0 evenly to 1 at one beat from its time (at least 0.4 s), and
  no more beyond.

So a wrong key was played *for* a note while it comes near the note's time, and is one extra and one
missed note when it does not; a right key counts however late it comes.

Time is counted from where the reader is, not from where the count-in would have them: each way of
pairing carries the lag that it has followed so far. The lag moves three tenths of the way to each
new one, and the whole way when that is past a beat, so that a reader who stopped is met where they
go on. A first pass shows the reader's lag at the start and steady drift; a second pass begins with
them.

A chord takes presses that follow each other, so a key that comes after the next chord has begun is
at first not its note's; a second look gives it back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from statistics import median
from typing import NamedTuple

from game.rounds.events import Press
from game.rounds.robust import by_onset, steady_drift

MISSED_COST = 1.0
EXTRA_COST = 1.0
NEAR_COST = 1.0
FAR_COST = 1.1
TIME_COST = 1.0
NEAR_SEMITONES = 2
LEAST_REACH_S = 0.4
_FOLLOW = 0.3
_EXTRAS_IN_CHORD = 2
_START = 5
_LEAST_DRIFT, _LEAST_START = 0.02, 0.1
_SAME_ONSET_S = 1e-6


@dataclass(frozen=True, slots=True)
class Expected:
    """A note to be struck.

    Args:
        id: unique in its music.
        key: MIDI key number.
        onset: seconds from the first beat at the chosen tempo. Notes with one onset make a
            chord, whichever hands play it.
    """

    id: str
    key: int
    onset: float


class Outcome(Enum):
    """What became of a note; the value is its public name."""

    RIGHT = "right"
    WRONG = "wrong"
    MISSED = "missed"


@dataclass(frozen=True, slots=True)
class NoteOutcome:
    """What became of one note.

    Args:
        expected: the note.
        outcome: RIGHT, WRONG (another key was played for it) or MISSED.
        press: the press that was for it; None when it was missed.
    """

    expected: Expected
    outcome: Outcome
    press: Press | None = None

    @property
    def deviation(self) -> float | None:
        """Seconds from the note's time to its press, later = positive; None when missed."""
        return None if self.press is None else self.press.t - self.expected.onset

    @property
    def right_deviation(self) -> float | None:
        """The deviation of a right note; None of any other."""
        return self.deviation if self.outcome is Outcome.RIGHT else None


@dataclass(frozen=True, slots=True)
class Alignment:
    """A performance set against its music.

    Args:
        notes: one for every expected note, in the order in which those were given.
        extras: the presses that were for no note, in order of time.
    """

    notes: tuple[NoteOutcome, ...]
    extras: tuple[Press, ...]


def align(expected: Sequence[Expected], presses: Sequence[Press], beat_s: float) -> Alignment:
    """Set a performance against its music.

    Of pairings that cost the same, every machine takes the same one.

    Args:
        expected: the notes, in any order.
        presses: in any order; `t` on the clock of the onsets, so negative before the first beat.
        beat_s: seconds of a beat.

    Raises:
        ValueError: a beat that takes no time.
    """
    if not beat_s > 0:
        raise ValueError(f"a beat takes more than 0 s, not {beat_s}")
    reach = max(beat_s, LEAST_REACH_S)
    played = sorted(presses, key=lambda press: (press.t, press.key))
    first = _aligned(expected, played, reach, 0.0, 0.0)
    points = by_onset(
        [
            (n.expected.onset, n.right_deviation)
            for n in first.notes
            if n.right_deviation is not None
        ]
    )
    drift = steady_drift(points)
    start = median(dev - drift * onset for onset, dev in points[:_START]) if points else 0.0
    if abs(drift) < _LEAST_DRIFT and abs(start) < _LEAST_START * reach:
        return first
    return _aligned(expected, played, reach, start, drift)


def _aligned(
    expected: Sequence[Expected], played: list[Press], reach: float, start: float, drift: float
) -> Alignment:
    """The cheapest pairing with presses in order of time.

    `start` is the lag with which the reader is met at first, `drift` what it grows by.
    """
    due = [note.onset * (1 + drift) for note in expected]
    chords = _chords(expected)
    paired: dict[int, int] = {}
    lags: dict[int, float] = {}
    for chord, cell in zip(chords, _path(expected, due, chords, played, reach, start), strict=True):
        paired.update((chord[note], press) for note, press in cell.pairs)
        lags.update((note, cell.lag) for note in chord)
    _second_look(expected, due, played, paired, lags, reach)
    taken = set(paired.values())
    return Alignment(
        tuple(
            _outcome(note, played[paired[index]] if index in paired else None)
            for index, note in enumerate(expected)
        ),
        tuple(press for index, press in enumerate(played) if index not in taken),
    )


class _Cell(NamedTuple):
    """The cheapest way to pair the first so many chords with the first so many presses.

    `pairs` are those of its last chord: (place in the chord, index of the press).
    """

    cost: float
    lag: float
    pairs: tuple[tuple[int, int], ...]
    before: _Cell | None


def _outcome(note: Expected, press: Press | None) -> NoteOutcome:
    if press is None:
        return NoteOutcome(note, Outcome.MISSED)
    return NoteOutcome(note, Outcome.RIGHT if press.key == note.key else Outcome.WRONG, press)


def _place(note: Expected) -> tuple[float, int, str]:
    return note.onset, note.key, note.id


def _chords(expected: Sequence[Expected]) -> list[list[int]]:
    """The indices of the notes, gathered by onset and in order of time."""
    chords: list[list[int]] = []
    for index in sorted(range(len(expected)), key=lambda at: _place(expected[at])):
        note = expected[index]
        if chords and note.onset - expected[chords[-1][0]].onset <= _SAME_ONSET_S:
            chords[-1].append(index)
        else:
            chords.append([index])
    return chords


def _path(
    expected: Sequence[Expected],
    due: list[float],
    chords: list[list[int]],
    played: list[Press],
    reach: float,
    lag: float,
) -> list[_Cell]:
    """The cell of each chord on the cheapest way through all of them and all presses."""
    row = [_Cell(EXTRA_COST * count, lag, (), None) for count in range(len(played) + 1)]
    for chord in chords:
        keys = tuple(expected[note].key for note in chord)
        row = _next_row(row, keys, due[chord[0]], played, reach)
    path: list[_Cell] = []
    cell = row[-1]
    while cell.before is not None:
        path.append(cell)
        cell = cell.before
    return path[::-1]


def _next_row(
    row: list[_Cell], keys: tuple[int, ...], due: float, played: list[Press], reach: float
) -> list[_Cell]:
    """One chord further: for each number of presses, the cheapest way to have come there."""
    size = len(keys)
    longest = size + _EXTRAS_IN_CHORD if size > 1 else 1
    new: list[_Cell] = []
    for end in range(len(row)):
        before = row[end]
        best = _Cell(before.cost + MISSED_COST * size, before.lag, (), before)
        for begin in range(end - 1, max(end - longest, 0) - 1, -1):
            if played[end - 1].t - played[begin].t > reach:
                break
            before = row[begin]
            # No way to pair them costs less than the presses too many or too few.
            if before.cost + abs(end - begin - size) > best.cost:
                continue
            pressed = tuple(press.key for press in played[begin:end])
            cost, pairs = _pairs(keys, pressed)
            off = [played[begin + press].t - due - before.lag for _, press in pairs]
            cost += before.cost + TIME_COST * sum(min(abs(d) / reach, 1.0) for d in off)
            if cost <= best.cost:
                step = sum(off) / len(off)
                lag = before.lag + (step if abs(step) > reach else _FOLLOW * step)
                moved = tuple((note, begin + press) for note, press in pairs)
                best = _Cell(cost, lag, moved, before)
        if new and new[-1].cost + EXTRA_COST < best.cost:
            best = new[-1]._replace(cost=new[-1].cost + EXTRA_COST)
        new.append(best)
    return new


@lru_cache(maxsize=4096)
def _pairs(
    keys: tuple[int, ...], pressed: tuple[int, ...]
) -> tuple[float, tuple[tuple[int, int], ...]]:
    """The cheapest pairing of a chord with keys pressed, time aside: its cost and its pairs.

    The right keys first, then as many near ones as can be, then any: with the costs above no
    other way is cheaper.
    """
    pairs: list[tuple[int, int]] = []
    presses = list(range(len(pressed)))
    notes = []
    for note, key in enumerate(keys):
        press = next((press for press in presses if pressed[press] == key), None)
        if press is None:
            notes.append(note)
        else:
            presses.remove(press)
            pairs.append((note, press))
    near = _most_near(keys, pressed, notes, presses)
    rest = zip(
        [note for note in notes if note not in near],
        [press for press in presses if press not in near.values()],
        strict=False,
    )
    far = list(rest)
    wrong = len(near) + len(far)
    cost = (
        NEAR_COST * len(near)
        + FAR_COST * len(far)
        + MISSED_COST * (len(notes) - wrong)
        + EXTRA_COST * (len(presses) - wrong)
    )
    return cost, (*pairs, *near.items(), *far)


def _most_near(
    keys: tuple[int, ...], pressed: tuple[int, ...], notes: list[int], presses: list[int]
) -> dict[int, int]:
    """The largest pairing of notes with keys near to them (Kuhn's augmenting paths)."""
    owner: dict[int, int] = {}

    def place(note: int, tried: set[int]) -> bool:
        for press in presses:
            if press not in tried and _near(keys[note], pressed[press]):
                tried.add(press)
                if press not in owner or place(owner[press], tried):
                    owner[press] = note
                    return True
        return False

    for note in notes:
        place(note, set())
    return {note: press for press, note in owner.items()}


def _near(key: int, other: int) -> bool:
    return abs(key - other) <= NEAR_SEMITONES or (key - other) % 12 == 0


def _second_look(
    expected: Sequence[Expected],
    due: list[float],
    played: list[Press],
    paired: dict[int, int],
    lags: dict[int, float],
    reach: float,
) -> None:
    """Give missed notes their own keys that came out of turn, as from a hand that lags.

    A key left over, or taken for another note though it is not that note's, goes to its own if
    it came within `reach`. The note that loses it must find its own in the same way, so each
    chain ends at a key left over: one missed note and one extra fewer. Changes `paired`.
    """
    owner = {press: note for note, press in paired.items()}

    def settle(note: int, seen: set[int]) -> bool:
        seen.add(note)
        time = due[note] + lags[note]
        own = [at for at, press in enumerate(played) if press.key == expected[note].key]
        for press in sorted(own, key=lambda at: abs(played[at].t - time)):
            if abs(played[press].t - time) > reach:
                return False
            loser = owner.get(press)
            free = loser is None or (
                loser not in seen
                and expected[loser].key != played[press].key
                and settle(loser, seen)
            )
            if free:
                paired[note], owner[press] = press, note
                return True
        return False

    for note in sorted(lags.keys() - paired.keys(), key=lambda at: _place(expected[at])):
        settle(note, set())
