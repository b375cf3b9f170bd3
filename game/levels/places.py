# SPDX-License-Identifier: MIT
"""Prompts of single notes, of both hands together and of chords, from places on the staves.

Evenness: places are drawn from a bag that is refilled when it is empty, so after every prompt
the counts of any two places differ by at most one (for hands together, of one hand's places;
for chords, a place is a lowest note with a shape). Signatures have a bag of their own. So have
added signs, with several of each in it, since one of each would only take turns; one that would
make a spelling too rare, or two notes of one key, is left out. Where places that carried a sign
return, they do so in the stead of a drawn one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import count as count_up
from math import prod
from random import Random
from typing import NamedTuple

from game.levels.bag import Bag
from game.levels.compass import Compass
from game.levels.prompt import LOWER, UPPER, Note, Prompt, Slot
from game.levels.show import Accidental, Show
from game.notation import ALTER_OF_SIGN, Bar, KeySignature, Pitch

_SIGNS_IN_BAG = 4
# Chances of a bar whose places return, so that each rule of the bar comes up often.
_RETURN, _OTHER_OCTAVE, _CANCEL, _TIE = 0.6, 0.35, 0.3, 0.85


@dataclass(frozen=True)
class StaffPositions:
    """Diatonic steps on one staff, lowest first: one for a single note, more for a chord."""

    staff: int
    steps: tuple[int, ...]

    @cached_property
    def written(self) -> tuple[tuple[int, int], ...]:
        """Staff and step of each of its notes."""
        return tuple((self.staff, step) for step in self.steps)


def prompts(show: Show, rng: Random, compass: Compass) -> Iterator[Prompt]:
    """Prompts without end; `compass` must have places (see :func:`different`)."""
    pools = hands(show, compass)
    bags = [Bag(pool, rng) for pool in pools]
    octaves = {
        place: [other for other in pools[0] if _octave_of(other, place)] for place in pools[0]
    }
    signatures = Bag(show.signatures, rng)
    signs = Bag((None, *show.signs) * _SIGNS_IN_BAG, rng)
    before: Prompt | None = None
    for index in count_up():
        signature = KeySignature(signatures.draw())
        draws = [
            _Draw([hand.draw() for hand in bags], signs.draw(), rng.random())
            for _ in range(show.bars * show.slots)
        ]
        if show.returns:
            draws = _returning(draws, signature, show, octaves, rng)
        prompt = _prompt(index, signature, draws, show)
        for _ in draws:
            if before is None or not prompt.looks_like(before):
                break
            draws.append(draws.pop(0))
            prompt = _prompt(index, signature, draws, show)
        yield prompt
        before = prompt


class _Draw(NamedTuple):
    """What was drawn for a slot; `tied` makes it go on with the note before it."""

    places: list[StaffPositions]
    sign: Accidental | None
    chance: float
    tied: bool = False


def _returning(
    draws: list[_Draw],
    signature: KeySignature,
    show: Show,
    octaves: dict[StaffPositions, list[StaffPositions]],
    rng: Random,
) -> list[_Draw]:
    """The same bars, in which the places of signs return: there, in another octave, tied over
    the barline, cancelled, or as the signature has them after it."""
    signed: StaffPositions | None = None  # the latest place that carried a sign
    returned: list[_Draw] = []
    for number, draw in enumerate(draws):
        first = number % show.slots == 0
        to_be_tied = show.ties and (number + 1) % show.slots == 0
        comes_back, which, chance = rng.random(), rng.random(), rng.random()
        before = returned[-1] if returned else None
        if signed is not None and before is not None and comes_back < _RETURN:
            others = octaves[signed]
            if show.ties and first and before.places == [signed] and chance < _TIE:
                draw = _Draw([signed], None, 0.0, tied=True)
            elif to_be_tied:
                draw = _Draw([signed], None, 0.0)
            elif others and which < _OTHER_OCTAVE:
                draw = _Draw([others[int(chance * len(others))]], None, 0.0)
            else:
                cancel: Accidental | None = "n" if "n" in show.signs and chance < _CANCEL else None
                draw = _Draw([signed], cancel, 0.0)
        elif signed is None:
            sign = draw.sign or show.signs[int(chance * len(show.signs))]
            draw = _Draw(draw.places, sign, draw.chance)
        place, step = draw.places[0], draw.places[0].steps[0]
        if draw.sign is not None and _right_here(step, draw.sign, signature, show.rare_spellings):
            signed = place if ALTER_OF_SIGN[draw.sign] != signature.pitch_at(step).alter else signed
        returned.append(draw)
    return returned


def _octave_of(place: StaffPositions, other: StaffPositions) -> bool:
    return place != other and (place.steps[0] - other.steps[0]) % 7 == 0


def _right_here(step: int, sign: Accidental, signature: KeySignature, rare: bool) -> bool:
    """Whether a sign may be added: rare spellings where they are allowed, a double sign only
    where the signature already has the single one."""
    changed = Pitch.at_step(step, ALTER_OF_SIGN[sign])
    if abs(changed.alter) == 2:
        return 2 * signature.alter(changed.letter) == changed.alter
    return rare or not changed.rare


def _prompt(index: int, signature: KeySignature, draws: list[_Draw], show: Show) -> Prompt:
    bar = Bar(signature)
    slots: list[Slot] = []
    for number, draw in enumerate(draws):
        in_bar, first = divmod(number, show.slots)
        if number and not first:
            bar = bar.barline()
        written = draw.places[0].written
        if len(draw.places) > 1:
            written = tuple(at for place in draw.places for at in place.written)
        tied = draw.tied and not first and _same_place(slots, written)
        pitches = [slots[-1].notes[0].pitch] if tied else _pitches(written, draw, bar, show)
        notes = []
        for nth, ((staff, _step), pitch) in enumerate(zip(written, pitches, strict=True)):
            clef = show.clefs[staff - 1]
            sign = bar.sign(staff, pitch, tied=tied)
            notes.append(Note(f"p{index}s{number}n{nth}", pitch, staff, clef, sign, tied))
            if sign is not None:
                bar = bar.after(staff, pitch)
        slots.append(Slot(tuple(notes), in_bar))
    return Prompt(signature, tuple(slots), clefs=show.clefs)


def _same_place(slots: list[Slot], written: tuple[tuple[int, int], ...]) -> bool:
    before = slots[-1].notes if slots else ()
    return tuple((note.staff, note.pitch.step) for note in before) == written


def _pitches(
    written: tuple[tuple[int, int], ...], draw: _Draw, bar: Bar, show: Show
) -> list[Pitch]:
    """What is written sounds under the signs that still hold, and under the one that is added."""
    signature = bar.signature
    pitches = [Pitch.at_step(step, bar.alter(staff, step)) for staff, step in written]
    if len(pitches) > 1 and len({pitch.key for pitch in pitches}) < len(pitches):
        # Signs that still hold would give a chord one key twice (E and Fb): take them back.
        pitches = [signature.pitch_at(step) for _staff, step in written]
    if draw.sign is not None:
        signed = int(draw.chance * len(written))
        step = written[signed][1]
        changed = Pitch.at_step(step, ALTER_OF_SIGN[draw.sign])
        others = {pitch.key for nth, pitch in enumerate(pitches) if nth != signed}
        if changed.key not in others and _right_here(
            step, draw.sign, signature, show.rare_spellings
        ):
            pitches[signed] = changed
    return pitches


def different(show: Show, compass: Compass) -> int:
    """How many different first slots there are, with their signatures."""
    return len(show.signatures) * prod(map(len, hands(show, compass)))


def hands(show: Show, compass: Compass) -> list[list[StaffPositions]]:
    """The places to draw from: one pool, or one for each hand when they play together."""
    upper = _places(show, UPPER, show.upper or (), compass)
    lower = _places(show, LOWER, show.lower or (), compass)
    return [lower, upper] if show.texture == "hands together" else [lower + upper]


def _places(
    show: Show, staff: int, steps: tuple[int, ...], compass: Compass
) -> list[StaffPositions]:
    stacks: list[tuple[int, ...]] = [(step,) for step in steps]
    if show.texture == "chord":
        top = max(steps, default=0)
        stacks = [
            (step, *(step + interval - 1 for interval in shape))
            for step in steps
            for shape in show.shapes
            if step + max(shape) - 1 <= top
        ]
    alters = {ALTER_OF_SIGN[sign] for sign in show.signs}
    signatures = [KeySignature(fifths) for fifths in show.signatures]

    def playable(step: int) -> bool:
        pitches = [signature.pitch_at(step) for signature in signatures]
        pitches += [Pitch.at_step(step, alter) for alter in alters]
        return all(compass.contains(pitch.key) for pitch in pitches)

    return [StaffPositions(staff, stack) for stack in stacks if all(map(playable, stack))]
