# SPDX-License-Identifier: MIT
"""Chords whose notes were all misread in one way."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from statistics import fmean

from game.levels.prompt import Note, Prompt
from game.notation import Pitch
from game.reader.explain import Habits
from game.reader.misread import Misread, Misreading, all_readings
from game.rounds import JudgedPress, SlotResult, Verdict

_ALONE = (Misread.SIGNATURE, Misread.SIGN, Misread.NATURAL, Misread.CARRIED)
"""What may befall one note of a chord while the others are read rightly."""


@dataclass(frozen=True)
class ChordMisread:
    """How a whole chord was misread.

    Args:
        kind: the reason.
        read: what its notes were taken for, by their ids.
        alike: all of them were misread, and not only those that a signature or sign alters.
    """

    kind: Misread
    read: dict[str, Pitch]
    alike: bool


def first_answer(result: SlotResult, window_s: float) -> tuple[JudgedPress, ...]:
    """The presses of a slot up to the first wrong one, and those struck together with that.

    Each no later than `window_s` after the one before it. Empty where none was wrong before keys
    that were right had gone down apart.
    """
    found: list[JudgedPress] = []
    wrong = False
    for press in result.answers:
        if wrong and press.t - found[-1].t > window_s:
            break
        wrong = wrong or press.verdict is not Verdict.RIGHT
        found.append(press)
        if not wrong and press.t - found[0].t > window_s:
            return ()
    return tuple(found) if wrong else ()


def chord_misread(
    prompt: Prompt,
    notes: Sequence[Note],
    keys: Collection[int],
    habits: Habits,
    before: Prompt | None = None,
) -> ChordMisread | None:
    """The likeliest misread by which these notes give just these keys; None without one.

    Args:
        prompt: what was being read.
        notes: of one slot, those that continue no tie.
        keys: that went down together.
        habits: of the reader.
        before: the prompt read before it, whose signs may be carried over.
    """
    ways: dict[object, dict[str, Misreading]] = {}
    for note in notes:
        for reading in all_readings(prompt, note, before):
            if reading.kind is not Misread.SLIP or abs(reading.pitch.key - note.key) == 1:
                ways.setdefault(_way(note, reading), {})[note.id] = reading
    found: list[tuple[float, ChordMisread]] = []
    for way in ways.values():
        kinds = [reading.kind for reading in way.values()]
        kind = Misread.THIRD if Misread.THIRD in kinds else kinds[0]
        read = {note.id: way[note.id].pitch if note.id in way else note.pitch for note in notes}
        alike = len(way) == len(notes)
        gives = sorted(pitch.key for pitch in read.values()) == sorted(keys)
        if gives and (alike or kind in _ALONE):
            worth = habits.weight(kind) * fmean(reading.chance for reading in way.values())
            found.append((worth, ChordMisread(kind, read, alike)))
    return max(found, key=lambda one: one[0])[1] if found else None


def _way(note: Note, reading: Misreading) -> object:
    """What notes that are misread alike have in common: so many steps, octaves or semitones."""
    steps = reading.pitch.step - note.pitch.step
    if reading.kind in (Misread.STEP, Misread.THIRD, Misread.LEDGER):
        return steps  # on ledger lines a third off has another name
    if reading.kind is Misread.SLIP:
        return reading.kind, reading.pitch.key - note.key
    if reading.kind is Misread.OCTAVE:
        return reading.kind, steps
    if reading.kind is Misread.CLEF:  # the very place, or the letter where the hand is
        return reading.kind, abs(steps)  # two staves are taken for each other
    return reading.kind
