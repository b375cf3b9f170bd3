# SPDX-License-Identifier: MIT
"""Phrases: a melody in one hand, or with the other hand's bass, in a metre.

A phrase is in the major or minor key of its signature. Its melody keeps the rules of
:mod:`melody` inside one position of the hand. The bass, where both hands play, has a note or two
a bar: root or third of a chord that holds the melody's note there, the dominant before the
last, and the tonic at the end.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, count
from random import Random

from game.levels.bag import Bag, chosen, pick
from game.levels.compass import Compass
from game.levels.melody import Lines
from game.levels.prompt import LOWER, UPPER, Note, Prompt, Slot
from game.levels.rhythm import Rhythm, bar_quarters, fillings
from game.levels.show import Show
from game.notation import Bar, Clef, KeySignature, Pitch

_TRIES = 8  # at another phrase, when one looks like the one before it
# Degrees of a chord's root and third, and how likely it is: I, IV, V, vi, ii.
_CHORDS = (((0, 2, 4), 5.0), ((3, 5, 0), 3.0), ((4, 6, 1), 4.0), ((5, 0, 2), 1.0), ((1, 3, 5), 1.0))
_DOMINANT, _LEADING = 4, 6
_TO_ROOT = 3.0  # against its third


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


@dataclass(frozen=True, slots=True)
class _Sound:
    """A note to be set: its onset and length in quarters, its staff and pitch."""

    at: float
    length: float
    staff: int
    pitch: Pitch


def possible(show: Show, compass: Compass) -> bool:
    """Whether every key of the level can have a phrase on this keyboard."""
    return all(
        _hands(show, staff, key, compass)
        for key in (_key(fifths, mode) for fifths in show.signatures for mode in show.modes)
        for staff in _staves(show)
    )


def prompts(show: Show, rng: Random, compass: Compass) -> Iterator[Prompt]:
    """Phrases without end; `compass` must have room for them (:func:`possible`)."""
    signatures, modes = Bag(show.signatures, rng), Bag(show.modes, rng)
    staves = Bag(_staves(show)[-1:] if show.texture == "phrases together" else _staves(show), rng)
    before: Prompt | None = None
    for index in count():
        key, staff = _key(signatures.draw(), modes.draw()), staves.draw()
        for _ in range(_TRIES):
            prompt = _phrase(index, show, key, staff, rng, compass)
            if before is None or not prompt.looks_like(before):
                break
        yield prompt
        before = prompt


def _staves(show: Show) -> tuple[int, ...]:
    return tuple(
        staff for staff, steps in ((LOWER, show.bass), (UPPER, show.treble)) if steps is not None
    )


@lru_cache(maxsize=64)
def _key(fifths: int, mode: str) -> _Key:
    signature = KeySignature(fifths)
    name = signature.major if mode == "major" else signature.minor
    return _Key(signature, mode, Pitch.parse(f"{name}4").step % 7)


@lru_cache(maxsize=256)
def _hands(show: Show, staff: int, key: _Key, compass: Compass) -> tuple[tuple[int, ...], ...]:
    """The positions of a hand: runs of places that have a melody of four notes in this key."""
    steps = (show.treble if staff == UPPER else show.bass) or ()
    size = min(show.hand, len(steps))
    runs = (steps[start : start + size] for start in range(len(steps) - size + 1))
    return tuple(
        run
        for run in runs
        if run[-1] - run[0] == len(run) - 1
        and all(
            compass.contains(key.pitch(step, raised=up).key) for step in run for up in (False, True)
        )
        and Lines(key.degree(run[0]), size, key.mode).draw(4, Random(0)) is not None
    )


def _phrase(index: int, show: Show, key: _Key, staff: int, rng: Random, compass: Compass) -> Prompt:
    metre = show.metre
    hand = pick(_hands(show, staff, key, compass), rng)
    rhythm = _rhythm(show, rng)
    line = None
    while line is None:  # a few rhythms have more or fewer notes than any melody of this hand
        onsets = list(_onsets(rhythm))
        line = Lines(key.degree(hand[0]), len(hand), key.mode).draw(len(onsets), rng)
        rhythm = _rhythm(show, rng)
    steps = [hand[place] for place in line]
    sounds = [
        _Sound(at, length, staff, key.pitch(step, raised=_leads(key, step, then)))
        for (at, length), step, then in zip(onsets, steps, [*steps[1:], None], strict=True)
    ]
    if show.texture == "phrases together":
        other = pick(_hands(show, LOWER, key, compass), rng)
        sounds += _bass(sounds, key, other, show, rng)
    count_of, unit = metre.split("/")
    slots = _set(index, sounds, key.signature, bar_quarters(metre))
    return Prompt(key.signature, slots, (int(count_of), int(unit)))


def _leads(key: _Key, step: int, then: int | None) -> bool:
    return key.degree(step) == _LEADING and then == step + 1


@lru_cache(maxsize=64)
def _bars(show: Show) -> tuple[tuple[tuple[Rhythm, ...], list[float]], ...]:
    """Rhythms of a first, a middle and a last bar, with running weights.

    Each note more makes a rhythm less likely, or bars of many short notes would crowd out all
    others. The first bar begins and the last one ends with a note, that of a beat or more.
    """
    every = fillings(show.cells, show.metre)
    first = tuple(bar for bar in every if bar[0] > 0) or every
    long_end = tuple(bar for bar in every if bar[-1] >= 1) or tuple(b for b in every if b[-1] > 0)
    found = []
    for bars in (first, every, long_end or every):
        weights = accumulate(1 / len(bar) ** 2 for bar in bars)
        found.append((bars, list(weights)))
    return tuple(found)


def _rhythm(show: Show, rng: Random) -> tuple[Rhythm, ...]:
    first, middle, last = _bars(show)
    kinds = [first, *[middle] * (show.bars - 2), last][-show.bars :]
    return tuple(chosen(bars, totals, rng) for bars, totals in kinds)


def _onsets(rhythm: tuple[Rhythm, ...]) -> Iterator[tuple[float, float]]:
    """Onset and length of each note, in quarters."""
    at = 0.0
    for length in (length for bar in rhythm for length in bar):
        if length > 0:
            yield at, length
        at += abs(length)


def _bass(
    melody: list[_Sound], key: _Key, hand: tuple[int, ...], show: Show, rng: Random
) -> Iterator[_Sound]:
    bar = bar_quarters(show.metre)
    halves = (bar / 2,) * 2 if bar != 3 or show.metre == "6/8" else (bar,)
    rhythm = [(bar,) if rng.random() < 0.5 else halves for _ in range(show.bars - 1)]
    onsets = list(_onsets((*rhythm, (bar,))))
    step: int | None = None
    for number, (at, length) in enumerate(onsets):
        above = [sound for sound in melody if sound.at <= at]
        degree = key.degree(above[-1].pitch.step) if above else 0
        if number == len(onsets) - 1:
            tones: tuple[int, ...] = _CHORDS[0][0][:1]
        else:
            chords, totals = _fitting(degree, dominant=number == len(onsets) - 2)
            chord = chosen(chords, totals, rng)
            tones = chord[:1] if rng.random() < _TO_ROOT / (_TO_ROOT + 1) else chord[1:2]
        places = _places(key, hand, tones)
        step = pick(places, rng) if step is None else _nearest(places, step)
        yield _Sound(at, length, LOWER, key.pitch(step, raised=key.degree(step) == _LEADING))


@lru_cache(maxsize=16)
def _fitting(degree: int, *, dominant: bool) -> tuple[list[tuple[int, ...]], list[float]]:
    """The chords that hold a degree, with running weights; the dominant alone if it is asked."""
    fitting = [(chord, weight) for chord, weight in _CHORDS if degree in chord]
    if dominant:
        fitting = [(chord, w) for chord, w in fitting if chord[0] == _DOMINANT] or fitting
    return [chord for chord, _ in fitting], list(accumulate(weight for _, weight in fitting))


def _nearest(steps: tuple[int, ...], to: int) -> int:
    return min(steps, key=lambda step: abs(step - to))


@lru_cache(maxsize=1024)
def _places(key: _Key, hand: tuple[int, ...], tones: tuple[int, ...]) -> tuple[int, ...]:
    """Where a hand has these degrees; all its places where it has none."""
    return tuple(step for step in hand if key.degree(step) in tones) or hand


def _set(
    index: int, sounds: list[_Sound], signature: KeySignature, length: float
) -> tuple[Slot, ...]:
    """The sounds as slots, with the signs that must be printed."""
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
            clef = Clef.TREBLE if staff == UPPER else Clef.BASS
            notes.append(Note(note_id, pitch, staff, clef, sign, False, sound.length))
        slots.append(Slot(tuple(notes), in_bar, at))
    return tuple(slots)
