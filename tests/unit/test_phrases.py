# SPDX-License-Identifier: MIT
"""Phrases make music: every rule that game/levels/melody.py and phrase.py state, checked with
music21's keys and intervals; and they move as folk songs move."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from builders import level, shipped
from music21 import abcFormat, corpus
from music21.interval import Interval as Music21Interval
from music21.key import Key
from music21.key import KeySignature as Music21Signature
from music21.pitch import Pitch as Music21Pitch

from game.levels import FULL_COMPASS, LOWER, UPPER, Compass, EmptyPool, Level, Note, Prompt, deal

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
    key = key_of(prompt.signature.fifths, "major")
    if melody[-1][1].pitch.letter != key.tonic.step:
        key = key_of(prompt.signature.fifths, "minor")
    return Phrase(prompt, tuple(melody), tuple(bass), key)


@cache
def key_of(fifths: int, mode: str) -> Key:
    return Music21Signature(fifths).asKey(mode)


@cache
def scale(fifths: int, mode: str) -> frozenset[str]:
    """The names of its notes; in minor those of the signature."""
    return frozenset(pitch.name for pitch in key_of(fifths, mode).pitches)


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
        names = scale(one.prompt.signature.fifths, one.key.mode)
        for here, then in [*pairwise(one.notes), (one.notes[-1], None)]:
            if one.key.mode == "minor" and one.degree(here) == 7:
                rises = then is not None and then.pitch.step == here.pitch.step + 1
                raised = name_of(here) == leading(one.key.tonic.name)
                assert raised == rises  # the leading note of the minor key is raised, to lead
                assert raised or name_of(here) in names
            else:
                assert name_of(here) in names
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
                assert set(steps) <= set(show.upper if staff == UPPER else show.lower)


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
def test_the_beat_can_be_seen_in_what_is_printed(name):
    # Gould, Behind Bars (2011), "Grouping of note-values" (from memory), as rhythm.py says.
    metre = ALL[name].show.metre
    beat = 1.5 if metre.endswith("/8") else 1.0
    for one in phrases(name):
        for at, note in one.melody:
            if note.length <= beat:
                assert at % beat + note.length <= beat
            elif note.length < QUARTERS[metre]:
                assert at % beat == 0
            if metre == "4/4" and note.length == 2:
                assert at % 4 in (0, 2)


@each(ALL)
def test_a_phrase_begins_with_a_note_and_ends_with_one_of_a_quarter_or_more(name):
    show = ALL[name].show
    for one in phrases(name):
        assert one.melody[0][0] == 0
        at, last = one.melody[-1]
        assert at + last.length == QUARTERS[show.metre] * show.bars
        assert last.length >= 1


@each(SHIPPED)
def test_a_phrase_ends_on_a_strong_beat(name):
    # Common practice: the first beat, and in duple metres the middle of the bar.
    show = ALL[name].show
    bar = QUARTERS[show.metre]
    for one in phrases(name):
        at = one.melody[-1][0] % bar
        assert at == 0 or (show.metre in ("2/4", "4/4", "6/8") and at == bar / 2)


@each({name: which for name, which in TOGETHER.items() if name in SHIPPED})
def test_notes_struck_by_both_hands_are_hardly_ever_dissonant(name):
    # Consonances between two voices: unison, third, perfect fifth, sixth, octave (music21's own
    # verdict). Left over are bars of an ending that give the tonic no strong beat of its own.
    consonant = []
    for one in phrases(name):
        melody = dict(one.melody)
        for at, low in one.bass:
            if at in melody:
                pair = (
                    Music21Pitch(name_of(low) + str(low.pitch.octave)),
                    Music21Pitch(name_of(melody[at]) + str(melody[at].pitch.octave)),
                )
                consonant.append(Music21Interval(*pair).isConsonant())
    assert len(consonant) > 100
    assert sum(consonant) / len(consonant) > 0.95


@each(TOGETHER)
def test_the_bass_has_a_note_or_two_a_bar_which_fill_it(name):
    show = ALL[name].show
    bar = QUARTERS[show.metre]
    for one in phrases(name):
        assert [note.staff for _, note in one.bass] == [LOWER] * len(one.bass)
        for number in range(show.bars):
            inside = [note.length for at, note in one.bass if at // bar == number]
            assert inside in ([bar], [bar / 2, bar / 2])
        # The closing tonic fills its bar, or waits with the melody's for the middle of it.
        at, close = one.bass[-1]
        assert close.length == bar or at == one.melody[-1][0]


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
                assert name_of(note) in scale(one.prompt.signature.fifths, one.key.mode)
    assert dominant == last_but_one > 0


@each(TOGETHER)
def test_the_leading_note_is_not_in_both_hands_at_once(name):
    # Common practice of part-writing; in minor it would be two notes of one letter that differ.
    for one in phrases(name):
        for at, low in one.bass:
            meanwhile = [
                other
                for start, other in one.melody
                if start < at + low.length and start + other.length > at
            ]
            assert one.degree(low) != 7 or all(one.degree(other) != 7 for other in meanwhile)


@each(TOGETHER)
def test_hands_never_share_a_key_and_never_cross(name):
    for one in phrases(name):
        top = max(note.key for _, note in one.bass)
        assert top < min(note.key for _, note in one.melody)
        assert all(len(slot.keys) == len(slot.notes) for slot in one.prompt.slots)


# What a teacher may write

PHRASE = 'texture = "phrase"\n'


@pytest.mark.parametrize(
    "show",
    [
        pytest.param('treble = "C4 to G4"\nhand = 5\nbars = 1\ncells = [[4]]', id="one note"),
        pytest.param('treble = "E4 to B4"\nhand = 5', id="no tonic"),
        pytest.param(
            'treble = "A3 to E4"\nhand = 5\nmetre = "2/4"\ncells = [[2]]\nbars = 2',
            id="two notes that cannot close",
        ),
        pytest.param('treble = ["C4", "E4", "G4", "B4", "D5", "F5"]', id="places with gaps"),
        pytest.param('treble = "C4 to G4"\nhand = 5\nsignatures = [0, 3]', id="not in every key"),
    ],
)
def test_a_level_without_two_phrases_is_refused(show):
    with pytest.raises(ValueError, match="at least two different prompts"):
        level(PHRASE + show)


def test_hands_that_have_no_room_beside_each_other_are_refused():
    show = 'texture = "phrases together"\ntreble = "C4 to C5"\nbass = "C4 to C5"\nbars = 2'
    with pytest.raises(ValueError, match="at least two different prompts"):
        level(show)


@pytest.mark.parametrize("cells", ["[[1], [-1]]", "[[1], [-2], [-0.5, 0.5]]", "[[4], [-1], [1]]"])
def test_rests_never_leave_a_bar_or_a_phrase_without_a_note(cells):
    which = level(f'{PHRASE}treble = "C4 to C5"\nbars = 3\ncells = {cells}')
    for prompt in deal(which, 1, 200):
        assert {slot.bar for slot in prompt.slots} == {0, 1, 2}
        assert prompt.slots[0].beat == 0


def test_cells_of_nothing_but_rests_are_refused():
    with pytest.raises(ValueError, match="cells that can fill a bar of 4/4"):
        level(f'{PHRASE}treble = "C4 to C5"\ncells = [[-2], [-1]]')


def test_a_small_keyboard_has_the_positions_that_lie_on_it():
    which = ALL["phrases-wide"]
    compass = Compass(60, 79)  # C4 to G5: no lower staff
    with pytest.raises(EmptyPool):
        deal(which, 1, 5, compass)
    upper = level(f'{PHRASE}treble = "C4 to C6"\nsignatures = [-1, 0, 1]\nbars = 2')
    keys = {n.key for prompt in deal(upper, 1, 200, compass) for n in prompt.notes}
    assert min(keys) >= 60
    assert max(keys) <= 79
    everywhere = {n.key for prompt in deal(upper, 1, 200, FULL_COMPASS) for n in prompt.notes}
    assert max(everywhere) > 79


# Against folk song

COLLECTIONS = ("erk5", "folkHaydn", "irl", "ballad10")
"""Of the Essen folk-song collection (Schaffrath 1995) that music21's corpus carries: songs from
Germany and the north, Scots and Irish airs."""
RUN = 6  # notes: the shortest phrases of ours have hardly more
SHARE, SPAN = 0.03, 0.5
"""Tolerances: of a share, the collections differ more among themselves; of a mean span in steps."""


@dataclass(frozen=True)
class Motion:
    """How lines move: shares of their moving intervals, and of all intervals for `repeated`."""

    step: float
    third: float
    leap: float
    repeated: float
    onwards: float  # of two steps running, those that go the same way
    span: float  # lowest to highest of RUN notes running, in steps, on average


def motion(lines: list[list[int]]) -> Motion:
    """Of lines of diatonic steps."""
    every = [[b - a for a, b in pairwise(line)] for line in lines]
    moving = Counter(min(abs(move), 3) for moves in every for move in moves)
    total = sum(moving.values()) - moving[0]
    pairs = [a == b for moves in every for a, b in pairwise(moves) if abs(a) == abs(b) == 1]
    runs = [line[at : at + RUN] for line in lines for at in range(0, len(line) - RUN + 1, RUN)]
    return Motion(
        moving[1] / total,
        moving[2] / total,
        moving[3] / total,
        moving[0] / (total + moving[0]),
        sum(pairs) / len(pairs),
        sum(max(run) - min(run) for run in runs) / len(runs),
    )


@pytest.fixture(scope="module")
def folk() -> Motion:
    """Read by music21's own ABC reader, note after note."""
    lines = []
    for name in COLLECTIONS:
        text = Path(str(corpus.getWork(f"essenFolksong/{name}.abc"))).read_text(encoding="utf-8")
        for tune in re.split(r"^X:", text, flags=re.MULTILINE)[1:]:
            handler = abcFormat.ABCHandler()
            handler.process(f"X:{tune}")
            notes = [token for token in handler.tokens if getattr(token, "pitchName", None)]
            struck = [note for note in notes if note.tie in (None, "start")]
            lines.append([Music21Pitch(note.pitchName).diatonicNoteNum for note in struck])
    assert len(lines) >= 200
    return motion(lines)


def dealt(hand: int) -> Motion:
    """Of the shipped levels whose hand has so many places."""
    return motion(
        [
            [note.pitch.step for note in one.notes]
            for name, which in SHIPPED.items()
            if which.show.hand == hand
            for one in phrases(name)
        ]
    )


def test_phrases_an_octave_wide_move_as_folk_songs_do(folk):
    ours = dealt(8)
    for name in ("step", "third", "leap", "onwards"):
        assert getattr(ours, name) == pytest.approx(getattr(folk, name), abs=SHARE), name
    assert ours.span == pytest.approx(folk.span, abs=SPAN)


def test_five_fingers_move_by_step_rather_more_and_span_less(folk):
    # A position of five notes has no sixth or octave and few fifths: steps stand in for them.
    ours = dealt(5)
    assert folk.step < ours.step < folk.step + 0.1
    assert folk.leap - 0.06 < ours.leap < folk.leap
    assert ours.third == pytest.approx(folk.third, abs=2 * SHARE)
    assert folk.span - 1 < ours.span < folk.span


def test_notes_are_repeated_less_than_in_songs_on_purpose(folk):
    # A repeated note asks for nothing new to be read; words of a song need it, a reader does not.
    for hand in (5, 8):
        assert 0 < dealt(hand).repeated < folk.repeated / 2
