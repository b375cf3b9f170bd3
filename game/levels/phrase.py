# SPDX-License-Identifier: MIT
"""Phrases: a melody in one hand, or with the other hand's bass, in a metre.

A phrase is in the major or minor key of its signature. Its melody keeps the rules of
:mod:`melody` inside one position of the hand. The bass, where both hands play, has a note or two
a bar: root or third of a chord that holds the melody's note there, that of the dominant before
the last where the melody has a note of it, and the tonic at the end. It never doubles the leading
note, and its hand is below the melody's. The last note falls on the bar's first beat or, where bars
have halves, on its middle.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, count, product
from random import Random
from typing import NamedTuple

from game.levels.bag import Bag, chosen, pick
from game.levels.compass import Compass
from game.levels.melody import Lines
from game.levels.prompt import LOWER, UPPER, Note, Prompt, Slot
from game.levels.rhythm import Rhythm, bar_quarters, fillings
from game.levels.show import Show
from game.notation import Bar, KeySignature, Pitch

_TRIES = 8  # at a second phrase, to see whether there is one
# Degrees of a chord's root and third, and how likely it is: I, IV, V, vi, ii.
_CHORDS = (((0, 2, 4), 5.0), ((3, 5, 0), 3.0), ((4, 6, 1), 4.0), ((5, 0, 2), 1.0), ((1, 3, 5), 1.0))
_TONIC, _DOMINANT, _LEADING = 0, 4, 6
_TONIC_CHORD = (0, 2, 4)
_ROOT_OR_THIRD = (0.75, 0.25)

_DUPLE = ("2/4", "4/4", "6/8")  # metres whose bars have halves

_Hand = tuple[int, ...]  # the places of a position of the hand, as diatonic steps


@dataclass(frozen=True, slots=True)
class _Key:
    """A key: its signature, its mode, and the letter number of its tonic (C = 0)."""

    signature: KeySignature
    mode: str
    tonic: int

    def degree(self, step: int) -> int:
        """0 = tonic … 6 = leading note."""
        return (step - self.tonic) % 7

    def pitch(self, step: int, *, raised: bool = False) -> Pitch:
        """The pitch on a step; raised, as the leading note of a minor key is."""
        pitch = self.signature.pitch_at(step)
        if raised and self.mode == "minor":
            return Pitch(pitch.letter, pitch.alter + 1, pitch.octave)
        return pitch


class _Sound(NamedTuple):
    """A note to be set: its onset and length in quarters, its staff and pitch."""

    at: float
    length: float
    staff: int
    pitch: Pitch


def different(show: Show, compass: Compass) -> int:
    """How many different phrases there are on this keyboard, up to two; 0 where a key of the
    level has none."""
    keys = [_key(fifths, mode) for fifths in show.signatures for mode in show.modes]
    staves = _staves(show)
    if not all(_positions(show, staff, key, compass) for key in keys for staff in staves):
        return 0
    if len(keys) * len(staves) > 1:
        return 2
    rng = Random(0)
    one, *others = (_phrase(0, show, keys[0], staves[0], rng, compass) for _ in range(_TRIES))
    return 1 if all(map(one.looks_like, others)) else 2


def prompts(show: Show, rng: Random, compass: Compass) -> Iterator[Prompt]:
    """Phrases without end, of which there must be two (:func:`different`)."""
    signatures, modes = Bag(show.signatures, rng), Bag(show.modes, rng)
    staves = Bag(_staves(show), rng)
    before: Prompt | None = None
    for index in count():
        key, staff = _key(signatures.draw(), modes.draw()), staves.draw()
        prompt = _phrase(index, show, key, staff, rng, compass)
        while before is not None and prompt.looks_like(before):
            prompt = _phrase(index, show, key, staff, rng, compass)
        yield prompt
        before = prompt


def _staves(show: Show) -> tuple[int, ...]:
    """The staves that a melody may be on."""
    if show.texture == "phrases together":
        return (UPPER,)
    return tuple(
        staff for staff, steps in ((LOWER, show.lower), (UPPER, show.upper)) if steps is not None
    )


@lru_cache(maxsize=64)
def _key(fifths: int, mode: str) -> _Key:
    signature = KeySignature(fifths)
    name = signature.major if mode == "major" else signature.minor
    return _Key(signature, mode, Pitch.parse(f"{name}4").step % 7)


@lru_cache(maxsize=256)
def _positions(
    show: Show, staff: int, key: _Key, compass: Compass
) -> tuple[tuple[_Hand, tuple[_Hand, ...]], ...]:
    """Positions of a hand that have a melody in this key, each with those of the bass below it."""
    melody = [
        hand
        for hand in _hands(show, staff, key, compass)
        for lines in [Lines(key.degree(hand[0]), len(hand), key.mode)]
        if any(lines.draw(notes, Random(0)) is not None for notes in _note_counts(show))
    ]
    if show.texture != "phrases together":
        return tuple((hand, ()) for hand in melody)
    bass = [
        hand
        for hand in _hands(show, LOWER, key, compass)
        if {_TONIC, _DOMINANT} <= {key.degree(step) for step in hand}
    ]
    pairs = ((hand, tuple(low for low in bass if low[-1] < hand[0])) for hand in melody)
    return tuple((hand, below) for hand, below in pairs if below)


def _hands(show: Show, staff: int, key: _Key, compass: Compass) -> list[_Hand]:
    """Runs of places of a hand's size, whose keys the keyboard has."""
    steps = (show.upper if staff == UPPER else show.lower) or ()
    size = min(show.hand, len(steps))
    runs = (steps[start : start + size] for start in range(len(steps) - size + 1))
    return [
        run
        for run in runs
        if run[-1] - run[0] == len(run) - 1
        and all(
            compass.contains(key.pitch(step, raised=up).key) for step in run for up in (False, True)
        )
    ]


def _phrase(index: int, show: Show, key: _Key, staff: int, rng: Random, compass: Compass) -> Prompt:
    metre = show.metre
    hand, below = pick(_positions(show, staff, key, compass), rng)
    line = None
    while line is None:  # a few rhythms have more or fewer notes than any melody of this hand
        onsets = _onsets(_rhythm(show, rng))
        line = Lines(key.degree(hand[0]), len(hand), key.mode).draw(len(onsets), rng)
    steps = [hand[place] for place in line]
    sounds = [
        _Sound(at, length, staff, key.pitch(step, raised=_leads(key, step, then)))
        for (at, length), step, then in zip(onsets, steps, [*steps[1:], None], strict=True)
    ]
    if below:
        sounds = [*sounds, *_bass(sounds, key, pick(below, rng), show, rng)]
    count_of, unit = metre.split("/")
    slots = _set(index, sounds, key.signature, show)
    return Prompt(key.signature, slots, (int(count_of), int(unit)), clefs=show.clefs)


def _leads(key: _Key, step: int, then: int | None) -> bool:
    return key.degree(step) == _LEADING and then == step + 1


@lru_cache(maxsize=64)
def _bars(show: Show) -> tuple[tuple[tuple[Rhythm, ...], list[float]], ...]:
    """The rhythms that each bar may have, with running weights.

    Each note more makes a rhythm less likely, or bars of many short notes would crowd out all
    others. The first bar begins and the last one ends with a note, that of a quarter or more and
    on a strong beat, where the cells allow it.
    """
    found = []
    for number in range(show.bars):
        bars = fillings(show.cells, show.metre)
        if number == 0:
            bars = tuple(bar for bar in bars if bar[0] > 0) or bars
        if number == show.bars - 1:
            bars = tuple(bar for bar in bars if bar[-1] > 0) or bars
            bars = tuple(bar for bar in bars if bar[-1] >= 1) or bars
            strong = _strong(show.metre)
            bars = tuple(bar for bar in bars if sum(map(abs, bar[:-1])) in strong) or bars
        found.append((bars, list(accumulate(1 / len(bar) ** 2 for bar in bars))))
    return tuple(found)


def _strong(metre: str) -> tuple[float, ...]:
    """Where in a bar a phrase may end, in quarters from its beginning."""
    return (0.0, bar_quarters(metre) / 2) if metre in _DUPLE else (0.0,)


def _rhythm(show: Show, rng: Random) -> tuple[Rhythm, ...]:
    return tuple(chosen(bars, totals, rng) for bars, totals in _bars(show))


def _note_counts(show: Show) -> set[int]:
    """How many notes a phrase may have."""
    each = [{sum(length > 0 for length in bar) for bar in bars} for bars, _ in _bars(show)]
    return {sum(counts) for counts in product(*each)}


@lru_cache(maxsize=4096)
def _onsets(rhythm: tuple[Rhythm, ...]) -> tuple[tuple[float, float], ...]:
    """Onset and length of each note, in quarters."""
    lengths = [length for bar in rhythm for length in bar]
    starts = accumulate(map(abs, lengths), initial=0.0)
    return tuple((at, length) for at, length in zip(starts, lengths, strict=False) if length > 0)


def _bass(
    melody: list[_Sound], key: _Key, hand: _Hand, show: Show, rng: Random
) -> Iterator[_Sound]:
    bar = bar_quarters(show.metre)
    halves = (bar / 2,) * 2 if show.metre in _DUPLE else (bar,)
    rhythm = [(bar,) if rng.random() < 0.5 else halves for _ in range(show.bars - 1)]
    degrees = frozenset(map(key.degree, hand))
    line = [(note.at, note.at + note.length, key.degree(note.pitch.step)) for note in melody]
    opens = _held(line, bar * (show.bars - 1))
    waits = opens not in _TONIC_CHORD and melody[-1].at % bar == bar / 2
    onsets = _onsets((*rhythm, (bar / 2,) * 2 if waits else (bar,)))
    step: int | None = None
    for number, (at, length) in enumerate(onsets):
        last = number == len(onsets) - 1
        held = _held(line, at)
        leads = held == _LEADING or any(
            degree == _LEADING and start < at + length and end > at for start, end, degree in line
        )
        choice, totals = _fitting(
            held, degrees - {_LEADING} if leads else degrees, before_last=number == len(onsets) - 2
        )
        degree = _TONIC if last else chosen(choice, totals, rng)
        places = [place for place in hand if key.degree(place) == degree]
        step = pick(places, rng) if step is None else _nearest(places, step)
        yield _Sound(at, length, LOWER, key.pitch(step, raised=degree == _LEADING))


def _held(line: list[tuple[float, float, int]], at: float) -> int:
    """The degree of the melody's latest note."""
    return next((degree for start, _, degree in reversed(line) if start <= at), _TONIC)


@lru_cache(maxsize=256)
def _fitting(
    held: int, degrees: frozenset[int], *, before_last: bool
) -> tuple[list[int], list[float]]:
    """Which of these degrees may be in the bass of a melody's note, with running weights."""
    chords = [(chord, weight) for chord, weight in _CHORDS if held in chord]
    if before_last:
        chords = [(chord, w) for chord, w in chords if chord[0] == _DOMINANT] or chords
    choice = [
        (degree, weight * share)
        for chord, weight in chords
        for degree, share in zip(chord, _ROOT_OR_THIRD, strict=False)
        if degree in degrees
    ]
    return [degree for degree, _ in choice], list(accumulate(weight for _, weight in choice))


def _nearest(steps: list[int], to: int) -> int:
    return min(steps, key=lambda step: abs(step - to))


def _set(index: int, sounds: list[_Sound], signature: KeySignature, show: Show) -> tuple[Slot, ...]:
    """The sounds as slots, with the signs that must be printed."""
    length = bar_quarters(show.metre)
    together: dict[float, list[_Sound]] = {}
    for sound in sounds:
        together.setdefault(sound.at, []).append(sound)
    bar, in_bar = Bar(signature), 0
    slots = []
    for number, (at, group) in enumerate(sorted(together.items())):
        if at >= (in_bar + 1) * length:
            bar, in_bar = bar.barline(), int(at // length)
        notes = []
        for nth, sound in enumerate(reversed(group)):  # the lower hand first
            pitch, staff = sound.pitch, sound.staff
            sign = bar.sign(staff, pitch)
            if sign is not None:
                bar = bar.after(staff, pitch)
            note_id = f"p{index}s{number}n{nth}"
            clef = show.clefs[staff - 1]
            notes.append(Note(note_id, pitch, staff, clef, sign, False, sound.length))
        slots.append(Slot(tuple(notes), in_bar, at))
    return tuple(slots)
