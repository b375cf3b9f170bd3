# SPDX-License-Identifier: MIT
"""Each wrong press gets the likeliest reason; where two lead to one key they share it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builders import bar_of, key
from misread_matrix import KINDS, mixed, tally

from game.levels import Prompt, Slot
from game.notation import Pitch
from game.reader import BASE, Habits, Misread, WrongPress, explain, readings


def two_bars(*slots: str, signature: int = 0) -> Prompt:
    """A prompt whose last slot stands alone in a second bar, printed as the first bar would."""
    whole = bar_of(*slots, signature=signature)
    last = whole.slots[-1]._replace(bar=1)
    note = last.notes[0]._replace(sign=None)
    return replace(whole, slots=(*whole.slots[:-1], last._replace(notes=(note,))))


def kind_of(prompt: Prompt, pressed: str, slot: int = -1, **more: object) -> Misread:
    """What pressing the key of a spelling is explained as."""
    press = WrongPress(key(pressed), 1.4, 2.4)
    slot %= len(prompt.slots)
    return explain(prompt, slot, press, median_s=1.2, **more).kind


@pytest.mark.parametrize(
    ("kind", "prompt", "pressed"),
    [
        (Misread.OCTAVE, bar_of("G4"), "G5"),
        (Misread.OCTAVE, bar_of("Bb4", signature=-1), "Bb3"),
        (Misread.SIGNATURE, bar_of("F#4", signature=2), "F4"),
        (Misread.SIGNATURE, bar_of("Cb5", signature=-7), "C5"),
        (Misread.SIGN, bar_of("G#4"), "G4"),
        (Misread.SIGN, bar_of("G#4", "A4", "G#4"), "G4"),  # it still holds in the bar
        (Misread.NATURAL, bar_of("F4", signature=1), "F#4"),
        (Misread.NATURAL, bar_of("G#4", "G4"), "G#4"),
        (Misread.NATURAL, bar_of("G#4", "G4", "G4"), "G#4"),
        (Misread.SIGN, bar_of("F4", "F#4", "F#4", signature=1), "F4"),
        (Misread.CARRIED, two_bars("G#4", "G4"), "G#4"),
        (Misread.CLEF, bar_of("C3", lower=True), "A4"),  # second space: A in the treble clef
        (Misread.CLEF, bar_of("D5"), "F3"),  # fourth line: F in the bass clef
        (Misread.STEP, bar_of("A4"), "G4"),
        (Misread.STEP, bar_of("E4", signature=2), "F#4"),
        (Misread.THIRD, bar_of("A4"), "C5"),
        (Misread.LEDGER, bar_of("C6"), "A5"),
        (Misread.LEDGER, bar_of("E4", lower=True), "C4"),
        (Misread.MIRROR, bar_of("A4", "E5"), "D4"),  # a fifth down instead of up
        (Misread.SLIP, bar_of("A4"), "A#4"),
        (Misread.UNKNOWN, bar_of("A4"), "Eb5"),
        (Misread.UNKNOWN, bar_of("A4"), "C1"),
    ],
)
def test_a_wrong_key_is_named_by_what_leads_to_it(kind, prompt, pressed):
    assert kind_of(prompt, pressed) is kind


def test_a_sign_of_the_prompt_before_may_be_carried_over():
    before = bar_of("G#4", "A4", name="q")
    assert kind_of(bar_of("G4"), "G#4", before=before) is Misread.CARRIED
    assert kind_of(bar_of("G4"), "G#4") is Misread.SLIP


@pytest.mark.parametrize("kind", KINDS)
def test_a_reader_with_one_kind_of_mistake_is_found_out(kind):
    found = tally(kind, most=80)
    assert found.apart.total() >= 30
    assert found.recall(kind) >= 0.9


@pytest.mark.parametrize("kind", KINDS)
def test_a_reader_is_found_out_before_any_habit_is_known(kind):
    assert tally(kind, most=80, learns=False).recall(kind) >= 0.9


def test_a_reader_who_makes_every_kind_of_mistake_is_told_the_right_one():
    for kind, found in mixed(most=30).items():
        assert found.recall(kind) >= 0.8, kind


def test_of_a_chord_the_misread_note_is_found():
    found = tally(Misread.STEP, most=80)
    assert found.note_found >= 0.9 * 80
    triad = bar_of("C4 E4 G4")
    low = explain(triad, 0, WrongPress(key("C3"), 1.4))
    assert (low.kind, low.note_id) == (Misread.OCTAVE, triad.notes[0].id)


def test_a_note_that_is_down_already_was_not_misread():
    seconds = bar_of("C4 E4")
    # D lies a step from both; the one that was found already is not to blame.
    press = WrongPress(key("D4"), 1.4)
    for note in seconds.notes:
        found = explain(seconds, 0, replace(press, struck=frozenset({note.key})))
        assert found.note_id != note.id


def test_two_kinds_that_lead_to_one_key_share_it_by_how_common_they_are():
    # down instead of a fifth up, and in D minor nothing else; C5 lies a third from A and E.
    prompt = bar_of("B4", "A4")  # mirrored at B: C5, which is also a third above A
    note = prompt.notes[1]
    ways = {r.kind: r.chance for r in readings(prompt, note) if r.pitch.key == key("C5")}
    assert set(ways) == {Misread.MIRROR, Misread.THIRD}
    found = explain(prompt, 1, WrongPress(key("C5"), 1.4), median_s=1.2)
    assert set(found.predicted) == set(ways)
    by_hand = {kind: BASE[kind] * chance for kind, chance in ways.items()}
    ratio = found.shares[Misread.MIRROR] / found.shares[Misread.THIRD]
    assert ratio == pytest.approx(by_hand[Misread.MIRROR] / by_hand[Misread.THIRD], rel=0.02)
    assert sum(found.shares.values()) == pytest.approx(1)


def test_the_habit_of_a_reader_decides_a_shared_key():
    prompt = bar_of("B4", "A4")
    skips = mirrors = Habits()
    for _ in range(10):
        skips = skips.after(explain(bar_of("F4"), 0, WrongPress(key("A4"), 1.4)))
        mirrors = mirrors.after(explain(bar_of("A4", "E5"), 1, WrongPress(key("D4"), 1.4)))
    press = WrongPress(key("C5"), 1.4)
    assert explain(prompt, 1, press, skips).kind is Misread.THIRD
    assert explain(prompt, 1, press, mirrors).kind is Misread.MIRROR


def test_time_tells_a_slip_of_the_finger_from_a_step_misread():
    # E and F are neighbours on the staff and on the keyboard.
    quick = explain(bar_of("E4"), 0, WrongPress(key("F4"), 0.9, 1.2), median_s=1.2)
    slow = explain(bar_of("E4"), 0, WrongPress(key("F4"), 1.6, 2.8), median_s=1.2)
    assert (quick.kind, slow.kind) == (Misread.SLIP, Misread.STEP)
    assert set(quick.predicted) == {Misread.SLIP, Misread.STEP} == set(slow.predicted)


@pytest.mark.parametrize(("t", "right_t"), [(1.2, 2.7), (1.2, 4.2), (3.0, 5.0), (6.0, 12.0)])
@pytest.mark.parametrize("pressed", ["A#4", "Ab4"])
def test_the_key_beside_the_right_one_is_a_slip_however_late_it_is_noticed(pressed, t, right_t):
    # No sign or signature, line or space accounts for it; two semitones off is no neighbour.
    late = explain(bar_of("A4"), 0, WrongPress(key(pressed), t, right_t), median_s=1.2)
    further = explain(bar_of("E4"), 0, WrongPress(key("F#4"), t, right_t), median_s=1.2)
    assert (late.kind, further.kind) == (Misread.SLIP, Misread.UNKNOWN)


@pytest.mark.parametrize(
    ("prompt", "pressed", "kind"),
    [
        (bar_of("G#4"), "G4", Misread.SIGN),
        (bar_of("F#4", signature=2), "F4", Misread.SIGNATURE),
        (bar_of("F4", signature=1), "F#4", Misread.NATURAL),
    ],
)
def test_what_is_printed_accounts_for_a_neighbouring_key_that_is_noticed_late(
    prompt, pressed, kind
):
    assert explain(prompt, 0, WrongPress(key(pressed), 1.6, 3.0), median_s=1.2).kind is kind


def test_the_evidence_says_what_was_read_and_how_fast():
    found = explain(bar_of("F#4", signature=2), 0, WrongPress(key("F4"), 1.5, 2.5), median_s=1.0)
    assert (found.shown, found.read) == (Pitch.parse("F#4"), Pitch.parse("F4"))
    assert (found.pace, found.mended_s) == (1.5, 1.0)


def test_a_carried_note_of_a_tie_is_not_blamed():
    chord = bar_of("C4 G4")
    tied = chord.notes[0]._replace(tied=True)
    prompt = replace(chord, slots=(Slot((tied, chord.notes[1])),))
    assert explain(prompt, 0, WrongPress(key("D4"), 1.0)).note_id == chord.notes[1].id


def test_what_is_not_printed_cannot_be_misread():
    prompt = bar_of("F#4", signature=1)
    asked = replace(prompt, slots=(prompt.slots[0]._replace(asks="altered"),))
    assert explain(asked, 0, WrongPress(key("F4"), 1.0)).kind is Misread.UNKNOWN


def test_a_right_key_needs_no_explanation():
    with pytest.raises(ValueError, match="not a wrong key"):
        explain(bar_of("C4"), 0, WrongPress(60, 1.0))


def test_habits_are_kept_as_plain_values_and_old_ones_fade():
    step = explain(bar_of("A4"), 0, WrongPress(key("G4"), 1.4))
    octave = explain(bar_of("A4"), 0, WrongPress(key("A5"), 1.4))
    habits = Habits()
    for _ in range(50):
        habits = habits.after(step)
    for _ in range(100):
        habits = habits.after(octave)
    assert habits.counts[Misread.OCTAVE] > 2 * habits.counts[Misread.STEP] > 0
    kept = Habits.from_json(habits.to_json())
    assert kept.counts == pytest.approx(habits.counts, abs=1e-5)
    with pytest.raises(ValueError, match="not a valid Misread"):
        Habits.from_json({"bored": 1})
    with pytest.raises(ValueError, match="0 or more"):
        Habits.from_json({"unknown": -1})
