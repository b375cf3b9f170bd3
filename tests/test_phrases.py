# SPDX-License-Identifier: MIT
"""Phrases make music: every rule that game/levels/melody.py and phrase.py state, checked with
music21's keys and intervals; and they move as folk songs move."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import pytest
from builders import level, shipped
from music21 import corpus
from music21.interval import Interval as Music21Interval
from music21.key import Key
from music21.key import KeySignature as Music21Signature
from music21.pitch import Pitch as Music21Pitch

from game.levels import FULL_COMPASS, LOWER, UPPER, Compass, EmptyPool, Level, Note, Prompt, deal
from game.levels.rhythm import fillings

SEEDS, EACH = range(8), 24
QUARTERS = {"2/4": 2.0, "3/4": 3.0, "4/4": 4.0, "3/8": 1.5, "6/8": 3.0}
SHIPPED = {
    rung.level.id: rung.level for rung in shipped().rungs if "phrase" in rung.level.show.texture
}
KEYS = "signatures = [-7, -6, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7]\n"
EDGES = {
    "five fingers in every key": level(
        f'texture = "phrase"\ntreble = "C4 to C6"\n{KEYS}modes = ["major", "minor"]\nhand = 5\n'
        'metre = "2/4"\ncells = [[1], [0.5, 0.5], [0.25, 0.25, 0.5], [0.75, 0.25], [0.5, -0.5]]\n'
        "bars = 4"
    ),
    "two octaves in minor": level(
        f'texture = "phrase"\nbass = "C2 to C4"\n{KEYS}modes = ["minor"]\nhand = 15\nbars = 4\n'
        "cells = [[1], [0.5, 0.5], [1.5, 0.5], [1, -1]]"
    ),
    "one bar of three eighths": level(
        'texture = "phrase"\ntreble = "C4 to C5"\nmodes = ["major", "minor"]\nmetre = "3/8"\n'
        "cells = [[0.5], [0.5, 1], [0.25, 0.25]]"
    ),
    "a few notes": level(
        'texture = "phrase"\ntreble = "G3 to C5"\nhand = 5\nmetre = "2/4"\ncells = [[2], [1, 1]]\n'
        'bars = 2\nmodes = ["major", "minor"]'
    ),
    "both hands near each other": level(
        f'texture = "phrases together"\ntreble = "A3 to A5"\nbass = "C3 to E4"\n{KEYS}bars = 2\n'
        'modes = ["major", "minor"]\ncells = [[1], [2], [0.5, 0.5]]'
    ),
    "both hands in five fingers": level(
        f'texture = "phrases together"\ntreble = "C4 to G5"\nbass = "F2 to B3"\n{KEYS}hand = 5\n'
        'modes = ["major", "minor"]\nbars = 3\nmetre = "6/8"\n'
        "cells = [[1.5], [0.5, 0.5, 0.5], [1, 0.5]]"
    ),
    "both hands in three": level(
        f'texture = "phrases together"\ntreble = "C4 to G5"\nbass = "F2 to B3"\n{KEYS}bars = 4\n'
        'modes = ["minor"]\nmetre = "3/4"\ncells = [[1], [2], [1.5, 0.5], [1, -1]]'
    ),
}
ALL = {**SHIPPED, **EDGES}
TOGETHER = {name: which for name, which in ALL.items() if "together" in which.show.texture}


def each(levels: dict[str, Level]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("name", levels)


@dataclass(frozen=True)
class Phrase:
    """A prompt by hands, each note with its beat; its key as music21 has it, told by the end."""

    prompt: Prompt
    melody: tuple[tuple[float, Note], ...]
    bass: tuple[tuple[float, Note], ...]
    key: Key

    @property
    def notes(self) -> list[Note]:
        return [note for _, note in self.melody]

    def degree(self, note: Note) -> int:
        """1 = tonic … 7, whatever its signs."""
        return (note.pitch.step - "CDEFGAB".index(self.key.tonic.step)) % 7 + 1


@cache
def phrases(name: str) -> tuple[Phrase, ...]:
    which = ALL[name]
    return tuple(
        phrase(prompt, "together" in which.show.texture)
        for seed in SEEDS
        for prompt in deal(which, seed, EACH)
    )


def phrase(prompt: Prompt, together: bool) -> Phrase:
    melody, bass = [], []
    for slot in prompt.slots:
        for note in slot.notes:
            (bass if together and note.staff == LOWER else melody).append((slot.beat, note))
    key = Music21Signature(prompt.signature.fifths).asKey("major")
    if melody[-1][1].pitch.letter != key.tonic.step:
        key = key.relative
    return Phrase(prompt, tuple(melody), tuple(bass), key)


def name_of(note: Note) -> str:
    """As music21 spells it, without the octave."""
    return note.pitch.letter + note.pitch.sign.replace("b", "-")


@cache
def between(one: str, other: str) -> Music21Interval:
    """music21's interval between two spellings, such as B-4 and C5."""
    return Music21Interval(Music21Pitch(one), Music21Pitch(other))


def moves(line: list[Note]) -> list[int]:
    """Steps from note to note: 0 = repeated, 1 = a second up, -2 = a third down."""
    return [b.pitch.step - a.pitch.step for a, b in pairwise(line)]


@cache
def leading(tonic: str) -> str:
    """The note a minor second below a tonic."""
    return Music21Pitch(tonic).transpose("-m2").name


@each(ALL)
def test_a_phrase_is_in_one_of_its_levels_keys(name):
    show, met = ALL[name].show, Counter()
    for one in phrases(name):
        met[one.key.mode] += 1
        assert one.prompt.signature.fifths in show.signatures
        scale = {pitch.name for pitch in one.key.pitches}
        for here, then in [*pairwise(one.notes), (one.notes[-1], None)]:
            if one.key.mode == "minor" and one.degree(here) == 7:
                rises = then is not None and then.pitch.step == here.pitch.step + 1
                raised = name_of(here) == leading(one.key.tonic.name)
                assert raised == rises  # the leading note of the minor key is raised, to lead
                assert raised or name_of(here) in scale
            else:
                assert name_of(here) in scale
    assert set(met) == set(show.modes)


@each(ALL)
def test_a_phrase_begins_on_the_tonic_chord_and_ends_on_the_tonic_as_stated(name):
    # Kostka & Payne, Tonal Harmony, on melodic line (from memory), as melody.py says.
    for one in phrases(name):
        line = one.notes
        assert one.degree(line[0]) in (1, 3, 5)
        assert name_of(line[-1]) == one.key.tonic.name
        if len(line) > 1:
            by = abs(moves(line)[-1])
            assert by == 1 or (one.degree(line[-2]) == 5 and by in (3, 4))


@each(ALL)
def test_leaps_are_resolved_and_thirds_go_on(name):
    for one in phrases(name):
        for came, goes in pairwise(moves(one.notes)):
            if abs(came) >= 3:
                assert goes == (-1 if came > 0 else 1), one.notes
            if abs(came) == 2:
                assert abs(goes) == 1 or goes == came, one.notes


@each(ALL)
def test_no_leap_is_a_seventh_or_augmented_or_diminished(name):
    for one in phrases(name):
        for here, then in pairwise(one.notes):
            found = between(*(name_of(n) + str(n.pitch.octave) for n in (here, then)))
            assert found.generic.undirected in (1, 2, 3, 4, 5, 6, 8)
            assert found.specifier.name in ("PERFECT", "MAJOR", "MINOR"), (found, one.notes)
            assert found.generic.undirected > 1 or found.semitones == 0


@each(ALL)
def test_the_leading_note_rises_unless_it_passes_down_a_scale(name):
    for one in phrases(name):
        line = one.notes
        for (before, here), then in zip(pairwise(line), line[2:], strict=False):
            if one.degree(here) == 7 and then.pitch.step != here.pitch.step + 1:
                assert (before.pitch.step, then.pitch.step) == (
                    here.pitch.step + 1,
                    here.pitch.step - 1,
                )


@each(ALL)
def test_a_note_comes_twice_running_at_most(name):
    for one in phrases(name):
        assert all((a, b) != (0, 0) for a, b in pairwise(moves(one.notes)))


@each(ALL)
def test_each_hand_keeps_its_position_within_its_staffs_places(name):
    show = ALL[name].show
    for one in phrases(name):
        for hand in (one.melody, one.bass):
            steps = [note.pitch.step for _, note in hand]
            if steps:
                assert max(steps) - min(steps) < show.hand
                (staff,) = {note.staff for _, note in hand}
                assert set(steps) <= set(show.treble if staff == UPPER else show.bass)


@each(ALL)
def test_bars_are_full_of_the_levels_cells(name):
    show = ALL[name].show
    bar = QUARTERS[show.metre]
    for one in phrases(name):
        sounding = {at: note.length for at, note in one.melody}
        for number in range(show.bars):
            inside = sorted(at - number * bar for at in sounding if at // bar == number)
            lengths = [sounding[number * bar + at] for at in inside]
            assert made_of(show.cells, inside, lengths, 0.0, bar), (inside, lengths)


def made_of(
    cells: tuple[tuple[float, ...], ...],
    onsets: list[float],
    lengths: list[float],
    start: float,
    bar: float,
) -> bool:
    """Whether onsets and lengths are cells one after the other, rests and all, and fill a bar."""
    if start == bar:
        return not onsets
    for cell in cells:
        at, due = start, []
        for length in cell:
            if length > 0:
                due.append((at, length))
            at += abs(length)
        if at <= bar and list(zip(onsets, lengths, strict=True))[: len(due)] == due:
            rest = onsets[len(due) :], lengths[len(due) :]
            if made_of(cells, *rest, at, bar):
                return True
    return False


@each(ALL)
def test_a_phrase_begins_with_a_note_and_ends_with_one_of_a_quarter_or_more(name):
    show = ALL[name].show
    for one in phrases(name):
        assert one.melody[0][0] == 0
        at, last = one.melody[-1]
        assert at + last.length == QUARTERS[show.metre] * show.bars
        assert last.length >= 1


@each(TOGETHER)
def test_the_bass_has_a_note_or_two_a_bar_which_fill_it(name):
    show = ALL[name].show
    bar = QUARTERS[show.metre]
    for one in phrases(name):
        assert [note.staff for _, note in one.bass] == [LOWER] * len(one.bass)
        for number in range(show.bars):
            inside = [note.length for at, note in one.bass if at // bar == number]
            assert inside in ([bar], [bar / 2, bar / 2])
        assert one.bass[-1][1].length == bar


@each(TOGETHER)
def test_the_bass_is_root_or_third_of_a_chord_that_holds_the_melodys_note(name):
    # Roman numerals of the chords that phrase.py has, as scale degrees.
    chords = {"I": {1, 3, 5}, "IV": {4, 6, 1}, "V": {5, 7, 2}, "vi": {6, 1, 3}, "ii": {2, 4, 6}}
    roots = {"I": 1, "IV": 4, "V": 5, "vi": 6, "ii": 2}
    dominant, last_but_one = 0, 0
    for one in phrases(name):
        for number, (at, note) in enumerate(one.bass):
            above = [other for start, other in one.melody if start <= at][-1]
            held, low = one.degree(above), one.degree(note)
            fits = [
                chord
                for chord, degrees in chords.items()
                if held in degrees and low in (roots[chord], (roots[chord] + 1) % 7 + 1)
            ]
            if number == len(one.bass) - 1:
                assert low == 1
            else:
                assert fits, (held, low)
            if number == len(one.bass) - 2 and held in chords["V"]:
                last_but_one += 1
                dominant += low in (5, 7)
            if low == 7:
                assert name_of(note) == leading(one.key.tonic.name)
            else:
                assert name_of(note) in {pitch.name for pitch in one.key.pitches}
    assert dominant == last_but_one > 0


@each(TOGETHER)
def test_the_leading_note_is_not_in_both_hands_at_once(name):
    # Common practice of part-writing; in minor it would be two notes of one letter that differ.
    for one in phrases(name):
        for at, low in one.bass:
            above = [other for start, other in one.melody if start <= at][-1]
            assert not one.degree(low) == one.degree(above) == 7


@each(TOGETHER)
def test_hands_never_share_a_key_and_never_cross(name):
    for one in phrases(name):
        top = max(note.key for _, note in one.bass)
        assert top < min(note.key for _, note in one.melody)
        assert all(len(slot.keys) == len(slot.notes) for slot in one.prompt.slots)
