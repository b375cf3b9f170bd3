# SPDX-License-Identifier: MIT
"""Readers made up for the tests: each makes one kind of mistake, or takes a known time.

They read the printed face of a prompt (clef, place, sign, signature) with an eye of their own,
sharing nothing with game.reader, so that its model is not tested against itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import cos, exp, log, pi, sqrt
from random import Random

from builders import Eye, Printed

from game.levels import Level, Note, Prompt, deal
from game.notation import Clef
from game.reader import Misread, TimedAnswer, WrongPress

_SEMITONES = (0, 2, 4, 5, 7, 9, 11)
_BOTTOM_STEP = {Clef.TREBLE: 4 * 7 + 2, Clef.BASS: 2 * 7 + 4}  # E4 and G2, C0 = 0


def lognormal(rng: Random, median: float, spread: float) -> float:
    """A time; the normal deviate is Box and Muller's (1958)."""
    deviate = sqrt(-2 * log(1 - rng.random())) * cos(2 * pi * rng.random())
    return median * exp(spread * deviate)


@dataclass(frozen=True)
class Mistake:
    """A wrong press made for a known reason, at a known note."""

    prompt: Prompt
    before: Prompt | None
    slot: int
    note: Note
    press: WrongPress


@dataclass
class FaultyEye(Eye):
    """Stateful. An eye that overlooks one kind of sign, or keeps signs for a bar too long."""

    fault: Misread = Misread.UNKNOWN
    kept: dict[tuple[int, str, int], int] = field(default_factory=dict)

    def read(self, note: Printed) -> int:
        unseen = {Misread.SIGN: ("#", "b", "##", "bb"), Misread.NATURAL: ("n",)}
        if note.sign in unseen.get(self.fault, ()):
            note = Printed(note.staff, note.letter, note.octave, None, note.tied)
        place = (note.staff, note.letter, note.octave)
        if note.sign is None and place not in self.in_bar and place in self.kept:
            return self.kept[place]
        return super().read(note)

    def barline(self) -> None:
        if self.fault is Misread.CARRIED:
            self.kept = dict(self.in_bar)
        super().barline()


def key_at(step: int, alter: int) -> int:
    """The MIDI key of a diatonic step counted from C0."""
    octave, letter = divmod(step, 7)
    return 12 * (octave + 1) + _SEMITONES[letter] + alter


@dataclass(frozen=True)
class MisreadingReader:
    """A reader who makes one kind of mistake, wherever it leads to a wrong key.

    Args:
        kind: the mistake.
        seed: of its chance.
        median_s: its reading time.
    """

    kind: Misread
    seed: int = 0
    median_s: float = 1.2

    def mistakes(self, prompts: Sequence[Prompt]) -> Iterator[Mistake]:
        """Its mistakes in these prompts, read one after another: one a slot at most."""
        rng = Random(f"{self.seed} {self.kind.value}")
        eye = FaultyEye(0, fault=self.kind)
        before = None
        for prompt in prompts:
            fifths = 0 if self.kind is Misread.SIGNATURE else prompt.signature.fifths
            eye.fifths = fifths
            eye.barline()
            bar, last = 0, dict[int, int]()
            for index, slot in enumerate(prompt.slots):
                if slot.bar != bar:
                    eye.barline()
                    bar = slot.bar
                chosen = slot.notes[int(rng.random() * len(slot.notes))]
                read = {note.id: self._key(note, eye, last, rng) for note in slot.notes}
                last |= {note.staff: self._step(note) for note in slot.notes}
                if slot.asks or chosen.tied or read[chosen.id] in slot.keys:
                    continue
                yield Mistake(prompt, before, index, chosen, self._press(read[chosen.id], rng))
            before = prompt

    def _press(self, key: int, rng: Random) -> WrongPress:
        if self.kind is Misread.SLIP:
            t = lognormal(rng, 0.9 * self.median_s, 0.3)
            return WrongPress(key, t, t + lognormal(rng, 0.4, 0.35))
        t = lognormal(rng, 1.15 * self.median_s, 0.35)
        return WrongPress(key, t, t + lognormal(rng, 0.9, 0.4))

    @staticmethod
    def _step(note: Note) -> int:
        return _BOTTOM_STEP[note.clef] + note.position

    def _key(self, note: Note, eye: FaultyEye, last: dict[int, int], rng: Random) -> int:
        """What the faulty eye takes the note for."""
        step = self._step(note)
        way = -1 if rng.random() < 0.5 else 1
        match self.kind:
            case Misread.CLEF:
                step += -12 if note.clef is Clef.TREBLE else 12
            case Misread.STEP:
                step += way
            case Misread.THIRD if -2 < note.position < 10:
                step += 2 * way
            case Misread.LEDGER if not -2 < note.position < 10:
                step += 2 * way
            case Misread.MIRROR:
                axis = last.get(note.staff, _BOTTOM_STEP[note.clef] + 4)
                step = 2 * axis - step
        alter = eye.read(self._printed(note, self._step(note)))
        if step != self._step(note):
            # A sign printed at the note goes with it; else the other place has its own.
            asked = self._printed(note, step)
            if note.sign is None:
                place = (asked.staff, asked.letter, asked.octave)
                alter = eye.in_bar.get(place, eye._signature(asked.letter))
        key = key_at(step, alter)
        if self.kind is Misread.OCTAVE:
            key += 12 * way
        if self.kind is Misread.SLIP:
            key += way
        return key

    @staticmethod
    def _printed(note: Note, step: int) -> Printed:
        octave, letter = divmod(step, 7)
        return Printed(note.staff, "CDEFGAB"[letter], octave, note.sign, note.tied)


def mistakes_of(
    kind: Misread, levels: Sequence[Level], *, seed: int, rounds: int, prompts: int = 8
) -> Iterator[Mistake]:
    """What a reader with one kind of mistake does in so many rounds on each of these levels."""
    for number in range(rounds):
        reader = MisreadingReader(kind, 100 * seed + number)
        for level in levels:
            yield from reader.mistakes(deal(level, 100 * seed + number, prompts))


@dataclass(frozen=True)
class TimedReader:
    """A reader whose time is known: base, and so much for each step from a landmark.

    Args:
        ms_per_step: 0 recognises, 250 or more counts.
        landmarks: staff positions known by heart.
        base_s: median seconds at a landmark.
        spread: of the log time.
    """

    ms_per_step: float
    landmarks: tuple[int, ...] = (2,)
    base_s: float = 0.8
    spread: float = 0.3

    def timings(self, positions: Sequence[int], rng: Random) -> list[TimedAnswer]:
        """Its times at these places."""
        found = []
        for position in positions:
            steps = min(abs(position - landmark) for landmark in self.landmarks)
            median = self.base_s + self.ms_per_step / 1000 * steps
            found.append(TimedAnswer(position, lognormal(rng, median, self.spread)))
        return found


def round_of(places: Sequence[int], rng: Random, length: int = 24) -> list[int]:
    """So many staff positions, at random."""
    return [places[int(len(places) * rng.random())] for _ in range(length)]


@dataclass
class ClimbingReader:
    """Stateful: its chance goes on. A reader at a known place on the ladder.

    Its sureness and its speed each end somewhere; the lower of the two is its level, the first
    that it does not read well enough. How sharply they end, how steady its times are and how
    often it presses wrongly for no reason differ from reader to reader.

    Args:
        level: index of the level that it should begin at.
        seed: another seed is another reader.
    """

    level: int
    seed: int

    def __post_init__(self) -> None:
        self._rng = Random(f"{self.level} {self.seed}")
        ends = [self.level, self.level + 3 * self._rng.random()]
        self._sure, self._quick = ends if self._rng.random() < 0.5 else ends[::-1]
        self._steep = 0.7 + 0.8 * self._rng.random()
        self._spread = 0.3 + 0.2 * self._rng.random()
        self._slows = 0.15 + 0.15 * self._rng.random()
        self._lapses = 0.04 * self._rng.random()

    def answer(self, rung: int, median_s: float) -> tuple[bool, float]:
        """Right or wrong, and the seconds, on a level that asks for so many at the median.

        Half a level below the end nine answers in ten are right, and the median is reached.
        """
        logit = self._steep * (self._sure - rung - 0.5) + 2.2
        right = self._rng.random() < (1 - self._lapses) / (1 + exp(-logit))
        median = median_s * exp(-self._slows * (self._quick - rung - 0.5))
        return right, lognormal(self._rng, median, self._spread)
