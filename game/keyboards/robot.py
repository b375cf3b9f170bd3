# SPDX-License-Identifier: MIT
"""A reader that plays by itself, for demonstrations and tests. Pure: its chance is its seed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import cos, exp, log, pi, sqrt
from random import Random

from game.levels import Note, Prompt, Slot
from game.notation import HIGHEST_KEY, LOWEST_KEY, Pitch
from game.rounds import Press, Pulse

CHORD_SPREAD_S = 0.02  # all keys of a chord go down within this many seconds
_CORRECTION = 0.5  # a slip is corrected in this share of the reading time


@dataclass(frozen=True, slots=True)
class RobotReader:
    """A reader of stated skill. It answers the same slot in the same way every time.

    Args:
        seed: another seed is another reader.
        speed_s: median seconds from seeing a slot to the first key.
        spread: standard deviation of the natural logarithm of that time, which is lognormal.
        error_rate: probability, 0 to 1, that the first answer is wrong.
    """

    seed: int
    speed_s: float = 0.9
    spread: float = 0.25
    error_rate: float = 0.1

    def __post_init__(self) -> None:
        if self.speed_s <= 0 or self.spread < 0 or not 0 <= self.error_rate <= 1:
            raise ValueError(
                "a robot reader needs speed_s above 0, spread from 0 and error_rate from 0 to 1"
            )

    def answer(self, slot: Slot, t: float) -> tuple[Press, ...]:
        """The presses that answer a slot which became current at `t`, in order of time.

        A wrong answer (the step beside, another octave, or the alteration left out) is
        followed by the right one.
        """
        notes = " ".join(f"{note.id}={note.key}" for note in slot.notes)
        # random() of a generator seeded with a text is the same on every Python version.
        chance = Random(f"{self.seed} {notes}").random
        wrong = self._wrong(slot, chance)
        t += self._time(chance)
        presses: list[Press] = []
        if wrong is not None:
            presses += _struck(wrong, t, chance)
            t = presses[-1].t + _CORRECTION * self._time(chance)
        return (*presses, *_struck(slot.keys, t, chance))

    def perform(self, prompt: Prompt, pulse: Pulse, t: float) -> tuple[Press, ...]:
        """The presses of a phrase read in time whose count-in begins at `t`, in order of time.

        Each slot is off its beat by a normal deviate of `spread` times a fifth of a beat.
        """
        lead, off_s = pulse.lead_s(prompt), 0.2 * self.spread * pulse.beat_s(prompt)
        presses = []
        for slot in prompt.slots:
            if slot.keys and slot.beat is not None:
                chance = Random(f"{self.seed} {slot.notes[0].id}").random
                keys = self._wrong(slot, chance) or slot.keys
                due = t + lead + slot.beat * pulse.quarter_s + off_s * _deviate(chance)
                presses += _struck(keys, max(t, due), chance)
        return tuple(sorted(presses, key=lambda press: press.t))

    def _time(self, chance: Callable[[], float]) -> float:
        """Seconds, lognormal."""
        return self.speed_s * exp(self.spread * _deviate(chance))

    def _wrong(self, slot: Slot, chance: Callable[[], float]) -> frozenset[int] | None:
        """The keys of a wrong answer: one note of the slot misread; None for a right one."""
        slips = chance() < self.error_rate
        struck = [note for note in slot.notes if not note.tied]
        note = struck[int(chance() * len(struck))]
        misread = [
            key
            for key in _misreadings(note)
            if key not in slot.keys and LOWEST_KEY <= key <= HIGHEST_KEY
        ]
        pick = chance()
        if not slips or not misread:
            return None
        return slot.keys - {note.key} | {misread[int(pick * len(misread))]}


def _deviate(chance: Callable[[], float]) -> float:
    """A normal deviate: Box & Muller (1958), Ann. Math. Stat. 29:610-611."""
    return sqrt(-2 * log(1 - chance())) * cos(2 * pi * chance())


def _misreadings(note: Note) -> tuple[int, ...]:
    pitch = note.pitch
    beside = (Pitch.at_step(pitch.step + way).key for way in (-1, 1))
    octaves = (pitch.key - 12, pitch.key + 12)
    plain = Pitch(pitch.letter, 0, pitch.octave).key
    return (*beside, *octaves, plain)


def _struck(keys: frozenset[int], t: float, chance: Callable[[], float]) -> list[Press]:
    """The first key exactly at `t`, the others within the chord's spread."""
    late = sorted((chance() * CHORD_SPREAD_S, key) for key in sorted(keys))
    return [Press(t + offset - late[0][0], key) for offset, key in late]
