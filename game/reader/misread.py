# SPDX-License-Identifier: MIT
"""The kinds of misread, and which keys each of them leads to at a note."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from game.levels.prompt import Note, Prompt
from game.notation import GRAND_STAFF, Bar, Pitch, ledger_lines, likeliest

_MIDDLE_LINE = 4


class Misread(Enum):
    """Why a wrong key was pressed; the value is its public name.

    A note a third off is a skipped line within the staff, and a miscounted ledger line outside
    it: the two never compete for one note.
    """

    OCTAVE = "wrong octave"
    SIGNATURE = "signature forgotten"
    SIGN = "sign forgotten"
    CARRIED = "sign carried past the barline"
    NATURAL = "natural ignored"
    CLEF = "other clef"
    STEP = "a step off"
    THIRD = "a third off"
    LEDGER = "ledger lines miscounted"
    SLIP = "neighbouring key"
    MIRROR = "mirrored"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Misreading:
    """A way in which a note may be misread.

    Args:
        kind: the reason.
        pitch: what the note was taken for.
        chance: that a misread of this kind is this one, 0 to 1; ours, by judgement.
    """

    kind: Misread
    pitch: Pitch
    chance: float


def readings(prompt: Prompt, note: Note, before: Prompt | None = None) -> tuple[Misreading, ...]:
    """Every misread that this note allows and that ends on a wrong key.

    The chances of a kind add up to 1 over its readings; a kind that cannot happen here, or
    whose keys are all right ones, has none. UNKNOWN predicts no key and has none either.

    Args:
        prompt: what is being read.
        note: one of its notes.
        before: the prompt read before it, whose signs may be carried over.
    """
    slot = next(slot for slot in prompt.slots if note in slot.notes)
    every = all_readings(prompt, note, before)
    wrong = [found for found in every if found.pitch.key not in slot.keys]
    total: dict[Misread, float] = {}
    for found in wrong:
        total[found.kind] = total.get(found.kind, 0.0) + found.chance
    return tuple(
        Misreading(found.kind, found.pitch, found.chance / total[found.kind]) for found in wrong
    )


def all_readings(prompt: Prompt, note: Note, before: Prompt | None) -> Iterator[Misreading]:
    """As :func:`readings`, with those that end on a right key, and chances as they are."""
    bar = prompt.bar_before(note)
    pitch, step = note.pitch, note.pitch.step
    for octaves, chance in ((-1, 0.45), (1, 0.45), (-2, 0.05), (2, 0.05)):
        yield Misreading(Misread.OCTAVE, _up(pitch, octaves), chance)
    for semitones, chance in ((-1, 0.45), (1, 0.45), (-2, 0.05), (2, 0.05)):
        key = likeliest(pitch.key + semitones, prompt.signature)
        yield Misreading(Misread.SLIP, key, chance)
    yield from _forgotten(prompt, note)
    yield from _carried(prompt, note, before)
    others = dict.fromkeys((*prompt.clefs, *GRAND_STAFF))
    others.pop(note.clef, None)
    for other in others:
        elsewhere = _elsewhere(bar, note, other.step_at(note.position), keeps_sign=True)
        nearer = -1 if elsewhere.key > pitch.key else 1
        yield Misreading(Misread.CLEF, elsewhere, 0.8 / len(others))
        nearest = _up(elsewhere, nearer)  # the letter, where the hand is
        yield Misreading(Misread.CLEF, nearest, 0.2 / len(others))
    for away in (-1, 1):
        yield Misreading(Misread.STEP, _elsewhere(bar, note, step + away), 0.5)
    if ledger_lines(note.position) == 0:
        for away in (-2, 2):
            yield Misreading(Misread.THIRD, _elsewhere(bar, note, step + away), 0.5)
    else:
        for away, chance in ((-2, 0.4), (2, 0.4), (-4, 0.1), (4, 0.1)):
            yield Misreading(Misread.LEDGER, _elsewhere(bar, note, step + away), chance)
    mirrored = _mirrored(prompt, note)
    if mirrored is not None:
        yield Misreading(Misread.MIRROR, _elsewhere(bar, note, mirrored), 1.0)


def _up(pitch: Pitch, octaves: int) -> Pitch:
    return Pitch(pitch.letter, pitch.alter, pitch.octave + octaves)


def _elsewhere(bar: Bar, note: Note, step: int, *, keeps_sign: bool = False) -> Pitch:
    """The note taken for one on another step: a sign printed at it goes along.

    With `keeps_sign`, one that holds from earlier in the bar does too (the place on the staff
    is the same, only its name is wrong).
    """
    holds = keeps_sign and (note.staff, note.pitch.step) in bar.signs
    if note.sign is not None or holds:
        return Pitch.at_step(step, note.pitch.alter)
    if keeps_sign:
        return bar.signature.pitch_at(step)
    return Pitch.at_step(step, bar.alter(note.staff, step))


def _forgotten(prompt: Prompt, note: Note) -> Iterator[Misreading]:
    """The note without what alters it: the signature, a sharp or flat, or a natural."""
    pitch, place = note.pitch, (note.staff, note.pitch.step)
    without: int | None = None  # what was in force before the sign in force at the note
    for other, bar in prompt.walk():
        if place not in bar.signs:
            without = None
        if (other.staff, other.pitch.step) == place and other.sign is not None:
            without = bar.alter(*place)
        if other.id == note.id:
            break
    if without is None:
        if pitch.alter:
            yield Misreading(Misread.SIGNATURE, Pitch.at_step(pitch.step), 1.0)
    else:
        kind = Misread.SIGN if pitch.alter else Misread.NATURAL
        yield Misreading(kind, Pitch.at_step(pitch.step, without), 1.0)


def _carried(prompt: Prompt, note: Note, before: Prompt | None) -> Iterator[Misreading]:
    """The last sign that an earlier bar had at the note's place, taken to hold still."""
    if note.sign is not None or (note.staff, note.pitch.step) in prompt.bar_before(note).signs:
        return  # this bar has a sign of its own there
    alter = None if before is None else _printed_in(before, note, before.bars)
    here = next(slot.bar for slot in prompt.slots if note in slot.notes)
    nearer = _printed_in(prompt, note, here)
    alter = alter if nearer is None else nearer
    if alter is not None and alter != note.pitch.alter:
        yield Misreading(Misread.CARRIED, Pitch.at_step(note.pitch.step, alter), 1.0)


def _printed_in(prompt: Prompt, note: Note, bars: int) -> int | None:
    """The alteration of the last sign at the place of `note` in the first bars of a prompt."""
    alter = None
    for slot in prompt.slots:
        for other in slot.notes:
            same_place = (other.staff, other.pitch.step) == (note.staff, note.pitch.step)
            if slot.bar < bars and same_place and other.sign is not None:
                alter = other.pitch.alter
    return alter


def _mirrored(prompt: Prompt, note: Note) -> int | None:
    """The step as far on the other side of the note before it on its staff.

    For the first note of a staff: on the other side of the middle line, as if the lines were
    counted from the wrong end. None where there is no other side.
    """
    steps: list[int] = []
    for slot in prompt.slots:
        if note in slot.notes:
            break
        steps = [n.pitch.step for n in slot.notes if n.staff == note.staff] or steps
    axis = min(steps, key=lambda step: abs(step - note.pitch.step), default=None)
    if axis is None:
        axis = note.clef.step_at(_MIDDLE_LINE)
    return None if axis == note.pitch.step else 2 * axis - note.pitch.step
