# SPDX-License-Identifier: MIT
"""Difficulty orders the ladder, and each thing that makes a note harder to read costs more."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from builders import bar_of, level, pitches, shipped

from game.levels import (
    LOWER,
    UPPER,
    Note,
    Prompt,
    Slot,
    deal,
    difficulty,
    level_difficulty,
)
from game.notation import Clef, KeySignature, Pitch

LADDER = shipped()


@pytest.fixture(scope="module")
def stages() -> dict[str, list[tuple[str, float]]]:
    """Stage -> its levels with their difficulty in tenths."""
    return {
        stage: [(rung.level.id, round(level_difficulty(rung.level), 1)) for rung in rungs]
        for stage, rungs in LADDER.stages.items()
    }


def test_no_level_is_easier_than_the_one_before_it_in_its_stage(stages):
    for levels in stages.values():
        for (_, easier), (name, harder) in pairwise(levels):
            assert harder >= easier, name


def test_no_stage_ends_easier_than_the_one_before_it_ended(stages):
    hardest = [max(value for _, value in levels) for levels in stages.values()]
    assert hardest == sorted(hardest)
    assert [levels[-1][1] for levels in stages.values()] == hardest
    assert len(stages) == 16


def test_the_whole_ladder_climbs(stages):
    (_, first), *_ = next(iter(stages.values()))
    assert max(value for levels in stages.values() for _, value in levels) > 4 * first


def test_a_level_is_as_hard_as_its_prompts_on_average():
    which = LADDER.find("grand-staff").level
    dealt = [prompt for seed in (0, 1) for prompt in deal(which, seed, 30)]
    mean = sum(map(difficulty, dealt)) / 60
    assert level_difficulty(which, seeds=2, prompts=30) == pytest.approx(mean)


def on(clef: Clef, spelling: str) -> float:
    note = Note("n", Pitch.parse(spelling), LOWER if clef is Clef.BASS else UPPER, clef)
    return difficulty(Prompt(KeySignature(), (Slot((note,)),)))


# The landmarks of teachers: middle C, the line that the clef names, the other Cs. Common practice.
LANDMARKS = {Clef.TREBLE: "C4 G4 C5 C6", Clef.BASS: "C2 C3 F3 C4", Clef.ALTO: "C3 C4 C5"}


@pytest.mark.parametrize("clef", Clef)
def test_a_note_costs_more_the_farther_it_is_from_a_landmark(clef):
    known = [pitch.step for pitch in pitches(LANDMARKS[clef])]
    low, high = known[0], known[-1]
    costs: dict[int, set[float]] = {}
    for step in range(low, high + 1):
        pitch = Pitch.at_step(step)
        if -3 <= clef.position(pitch) <= 11:  # with one ledger line at most
            away = min(abs(step - other) for other in known)
            costs.setdefault(away, set()).add(round(on(clef, pitch.spelling), 9))
    assert len(costs) >= 3
    assert all(len(found) == 1 for found in costs.values())
    line = [min(costs[away]) for away in sorted(costs)]
    assert line == sorted(set(line))


@pytest.mark.parametrize(
    ("clef", "fewer", "more"),
    [  # equally far from the C two ledger lines off the staff
        (Clef.TREBLE, "B5", "D6"),
        (Clef.TREBLE, "A5", "E6"),
        (Clef.BASS, "D2", "B1"),
        (Clef.BASS, "E2", "A1"),
    ],
)
def test_a_ledger_line_more_costs_more(clef, fewer, more):
    assert on(clef, more) > on(clef, fewer)


@pytest.mark.parametrize("fifths", [(0, 1, 2, 3), (0, -1, -2, -3)])
def test_a_larger_signature_costs_more_even_where_it_alters_nothing(fifths):
    costs = [difficulty(bar_of("D4", signature=number)) for number in fifths]
    assert costs == sorted(set(costs))


def test_a_note_that_the_signature_alters_costs_more():
    # F and A stand on either side of the line that the clef names.
    assert difficulty(bar_of("F#4", signature=1)) > difficulty(bar_of("A4", signature=1))


@pytest.mark.parametrize(
    ("harder", "easier"),
    [
        ("D6", "C6"),  # beyond the last landmark
        ("G6", "E6"),
        ("F#4", "F4"),  # a sign
        ("F##4", "F#4"),  # a double one
        ("Fbb4", "F#4"),
        ("E#4", "Eb4"),  # a white key by another name
        ("B#4", "Bb4"),
        ("Cb5", "C#5"),
        ("Fb4", "F#4"),
        ("C4 E4", "E4"),  # a shape
        ("C4 E4 G4", "C4 E4"),
        ("C4 E4 G4 B4", "C4 E4 G4"),
    ],
)
def test_each_thing_more_costs_more(harder, easier):
    assert difficulty(bar_of(harder)) > difficulty(bar_of(easier))


def test_a_sign_that_holds_and_is_not_shown_costs_more_than_one_that_is():
    hidden = bar_of("F#4", "G4", "F#4")
    *rest, last = hidden.slots
    assert last.notes[0].sign is None
    shown = replace(hidden, slots=(*rest, Slot((last.notes[0]._replace(sign="#"),))))
    assert difficulty(hidden) > difficulty(shown)


def test_a_sign_that_does_not_hold_here_must_be_told_from_one_that_does():
    # After F sharp, another octave's F; after A sharp, the same F, with nothing to doubt.
    assert difficulty(bar_of("F#4", "G4", "F5")) > difficulty(bar_of("A#4", "G4", "F5"))
    # And the barline ends the sign.
    assert difficulty(new_bar("F4", after="F#4")) > difficulty(new_bar("F4", after="A#4"))


def new_bar(spelling: str, after: str) -> Prompt:
    """An unsigned note in a second bar."""
    first = bar_of(after, "G4")
    note = Note("last", Pitch.parse(spelling), UPPER, Clef.TREBLE)
    return replace(first, slots=(*first.slots, Slot((note,), 1)))


def test_a_larger_leap_costs_more():
    # The same three notes: fourth and fifth, or octave and fourth.
    assert difficulty(bar_of("C4", "C5", "G4")) > difficulty(bar_of("C4", "G4", "C5"))
    # Up to a third the eye does not leave the place.
    assert difficulty(bar_of("F4", "A4")) == difficulty(bar_of("A4", "A4"))


def test_both_staves_at_once_cost_more_than_one():
    upper, lower = bar_of("C5", name="u").notes, bar_of("C3", name="l", lower=True).notes
    both = Prompt(KeySignature(), (Slot(lower + upper),))
    assert {note.staff for note in both.notes} == {UPPER, LOWER}
    assert difficulty(both) > difficulty(bar_of("C5"))


def test_what_is_asked_for_and_not_printed_costs_more():
    printed = bar_of("C5").slots[0]
    costs = [
        difficulty(Prompt(KeySignature(), (printed._replace(asks=asks),)))
        for asks in ("", "altered", "major tonic", "minor tonic")
    ]
    assert costs == sorted(set(costs))


def line(*lengths: float | None) -> Prompt:
    slots, at = [], 0.0
    for number, length in enumerate(lengths):
        note = Note(f"n{number}", Pitch.parse("G4"), UPPER, Clef.TREBLE, length=length)
        slots.append(Slot((note,), 0, at))
        at += length
    return Prompt(KeySignature(), tuple(slots), (4, 4))


def test_a_metre_costs_more_and_lengths_other_than_a_quarter_more_still():
    assert difficulty(line(1, 1)) > difficulty(bar_of("G4", "G4"))
    assert difficulty(line(1, 0.5)) > difficulty(line(1, 1))
    assert difficulty(line(0.5, 0.5)) > difficulty(line(1, 0.5))


def test_reading_in_time_costs_more_than_the_same_at_ones_own_speed():
    show = 'texture = "phrase"\ntreble = "C4 to C5"\nbars = 2'
    own, timed = level(show), level(show, more="[time]\ntempo = 60")
    assert deal(own, 0, 5) == deal(timed, 0, 5)
    assert level_difficulty(timed) > level_difficulty(own)


def test_a_tied_note_costs_nothing_and_a_prompt_of_nothing_else_has_no_difficulty():
    one = bar_of("G4")
    held = Slot((one.notes[0]._replace(id="held", tied=True),), 1)
    assert difficulty(replace(one, slots=(*one.slots, held))) == difficulty(one)
    with pytest.raises(ValueError, match="without a key to press"):
        difficulty(replace(one, slots=(held,)))
