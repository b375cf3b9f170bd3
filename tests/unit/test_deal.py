# SPDX-License-Identifier: MIT
"""Dealing: the same everywhere, never the same prompt twice running, even, and playable."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from itertools import chain, pairwise

import pytest
from builders import Eye, level, read, shipped
from hypothesis import given, settings
from hypothesis import strategies as st
from places import MODULES

from game.levels import (
    FULL_COMPASS,
    LOWER,
    UPPER,
    USUAL_LOWEST,
    Compass,
    EmptyPool,
    Level,
    Prompt,
    Slot,
    check_pool,
    deal,
    left_out,
)
from game.notation import Clef

LEVELS = {rung.level.id: rung.level for rung in shipped().rungs}
SIZES = {size: Compass.of_size(size) for size in USUAL_LOWEST}
TRIADS = level(
    'treble = "C4 to C6"\ntexture = "chord"\nshapes = [[2], [3, 5], [4, 6]]\n'
    'signatures = [-7, -6, 0, 6, 7]\nsigns = ["#", "b", "n"]\nrare_spellings = true\nslots = 3'
)
TWO_PLACES = level('treble = ["C4", "D4"]\nslots = 4')
ONE_PLACE = level('treble = ["C4"]\nsignatures = [0, 1, 2]\nslots = 2')
RETURNING = level(
    'treble = "C4 to C6"\nsignatures = [-7, 0, 7]\nsigns = ["##", "#", "n", "b", "bb"]\n'
    "rare_spellings = true\nslots = 3\nbars = 4\nreturns = true\nties = true"
)
WRITTEN = level(
    'texture = "written"\n[[show.written]]\nsignature = 2\nslots = ["C#5 / A3", "C5", "/ F3"]\n'
    '[[show.written]]\nslots = ["B##3@bass"]\n[[show.written]]\nslots = ["Cb4 Eb4"]'
)
ALL = {
    **LEVELS,
    "triads": TRIADS,
    "two places": TWO_PLACES,
    "one place": ONE_PLACE,
    "returning": RETURNING,
    "written": WRITTEN,
}
PLACED = {  # whose notes are drawn from places on the staves
    name: which
    for name, which in ALL.items()
    if which.show.texture in ("one note", "hands together", "chord")
}
PHRASES = {name: which for name, which in ALL.items() if "phrase" in which.show.texture}
ALTERS = {"bb": -2, "b": -1, "n": 0, "#": 1, "##": 2}
RARE = {("E", 1), ("B", 1), ("C", -1), ("F", -1)}


def each(levels: dict[str, Level]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("which", levels.values(), ids=levels)


every_level = each(ALL)


def drawn(prompt: Prompt) -> list[tuple[int, tuple[int, ...]]]:
    """The places of a prompt: a staff and its notes there that go down together."""
    found = []
    for slot in prompt.slots:
        for staff in (UPPER, LOWER):
            steps = tuple(note.pitch.step for note in slot.notes if note.staff == staff)
            if steps:
                found.append((staff, steps))
    return found


def reached(slot: Slot, compass: Compass) -> bool:
    """Whether a keyboard can answer a slot: in any octave where what is asked is not printed."""
    keys = range(compass.low, compass.high + 1)
    if slot.asks:
        return {key % 12 for key in slot.keys} <= {key % 12 for key in keys}
    return all(note.key in keys for note in slot.notes)


def playable(which: Level, compass: Compass) -> bool:
    try:
        check_pool(which, compass)
    except EmptyPool:
        return False
    return True


def digest() -> str:
    """A digest of everything that is dealt for a few seeds on every shipped level."""
    total = hashlib.sha256()
    for which in LEVELS.values():
        for seed in (0, 1, 2**40):
            total.update(repr(deal(which, seed, 30)).encode())
    return total.hexdigest()


@every_level
def test_the_same_seed_deals_the_same_and_another_seed_another(which):
    assert deal(which, 7, 40) == deal(which, 7, 40)
    if which is not ONE_PLACE and which is not TWO_PLACES:
        assert deal(which, 7, 40) != deal(which, 8, 40)


@every_level
def test_a_longer_deal_begins_with_the_shorter(which):
    assert deal(which, 3, 40)[:13] == deal(which, 3, 13)
    assert deal(which, 3, 0) == ()


@pytest.mark.parametrize("hash_seed", ["0", "4711"])
def test_another_process_deals_the_same(hash_seed):
    there = subprocess.run(
        [sys.executable, "-c", "import test_deal; print(test_deal.digest())"],
        env=os.environ | {"PYTHONHASHSEED": hash_seed, "PYTHONPATH": MODULES},
        capture_output=True,
        text=True,
        check=True,
    )
    assert there.stdout.strip() == digest()


@every_level
def test_no_prompt_looks_like_the_one_before_it(which):
    for seed in range(20):
        faces = [
            (
                prompt.signature,
                [
                    (slot.bar, slot.beat, [(n.staff, n.pitch, n.tied) for n in slot.notes])
                    for slot in prompt.slots
                ],
            )
            for prompt in deal(which, seed, 40)
        ]
        assert all(one != other for one, other in pairwise(faces))


@every_level
def test_ids_are_unique_in_a_deal_and_every_prompt_asks_for_a_key(which):
    for seed in range(5):
        prompts = deal(which, seed, 40)
        ids = [note.id for prompt in prompts for note in prompt.notes]
        assert len(set(ids)) == len(ids)
        assert all(prompt.slots[0].keys for prompt in prompts)


@each(PLACED)
def test_every_bar_has_its_slots(which):
    expected = [bar for bar in range(which.show.bars) for _ in range(which.show.slots)]
    for prompt in deal(which, 4, 40):
        assert [slot.bar for slot in prompt.slots] == expected
        assert prompt.bars == which.show.bars
        assert prompt.metre is None


@each(PHRASES)
def test_every_phrase_has_its_bars_and_its_metre(which):
    for prompt in deal(which, 4, 40):
        assert prompt.bars == which.show.bars
        assert "{}/{}".format(*prompt.metre) == which.show.metre
        bars = [slot.bar for slot in prompt.slots]
        assert bars == sorted(bars)
        assert [slot.beat // prompt.bar_quarters for slot in prompt.slots] == bars


@every_level
def test_an_eye_that_sees_only_signs_reads_every_dealt_pitch(which):
    for seed in range(10):
        for prompt in deal(which, seed, 30):
            for note, seen, eye in read(prompt):
                silent = Eye(eye.fifths, dict(eye.in_bar), dict(eye.sounding))
                unsigned = silent.read(replace(seen, sign=None))
                assert eye.read(seen) == note.pitch.alter
                assert (note.sign is None) == (unsigned == note.pitch.alter)


@each(PLACED)
def test_only_what_the_level_allows_is_shown(which):
    show = which.show
    for prompt in deal(which, 11, 60):
        assert prompt.signature.fifths in show.signatures
        for slot in prompt.slots:
            steps = {UPPER: show.upper or (), LOWER: show.lower or ()}
            lowest = {note.staff: note.pitch.step for note in reversed(slot.notes)}
            assert all(step in steps[staff] for staff, step in lowest.items())
            for note in slot.notes:
                assert note.clef is (Clef.TREBLE if note.staff == UPPER else Clef.BASS)
                own = prompt.signature.alter(note.pitch.letter)
                assert note.pitch.alter in {own, *(ALTERS[sign] for sign in show.signs)}
            if show.texture == "one note":
                assert len(slot.notes) == 1
            elif show.texture == "hands together":
                assert [note.staff for note in slot.notes] == [LOWER, UPPER]
            else:
                low = slot.notes[0].pitch.step
                shape = tuple(note.pitch.step - low + 1 for note in slot.notes[1:])
                assert shape in show.shapes


@each({name: which for name, which in PLACED.items() if not which.show.returns})
def test_places_are_shown_evenly_after_every_prompt(which):
    # As places.py states it: any two places differ by at most one, hand by hand when together.
    # Not where places that carried a sign return: they stand in for drawn ones.
    together = which.show.texture == "hands together"
    bags = ({UPPER}, {LOWER}) if together else ({UPPER, LOWER},)
    everything = deal(which, 5, 400)
    shown = Counter(dict.fromkeys(chain.from_iterable(map(drawn, everything)), 0))
    for prompt in everything:
        shown.update(drawn(prompt))
        for hands in bags:
            counts = [count for (staff, _steps), count in shown.items() if staff in hands]
            assert max(counts) - min(counts) <= 1


@each({name: which for name, which in ALL.items() if which is not WRITTEN})
def test_signatures_are_shown_evenly_after_every_prompt(which):
    shown = Counter(dict.fromkeys(which.show.signatures, 0))
    for prompt in deal(which, 2, 120):
        shown[prompt.signature.fifths] += 1
        assert set(shown) == set(which.show.signatures)
        assert max(shown.values()) - min(shown.values()) <= 1


@each({name: which for name, which in PHRASES.items() if "together" not in which.show.texture})
def test_phrases_are_dealt_to_both_hands_evenly(which):
    hands = {UPPER: which.show.upper, LOWER: which.show.lower}
    shown = Counter({staff: 0 for staff, steps in hands.items() if steps is not None})
    for prompt in deal(which, 2, 60):
        (staff,) = {note.staff for note in prompt.notes}
        shown[staff] += 1
        assert set(shown) == {staff for staff, steps in hands.items() if steps is not None}
        assert max(shown.values()) - min(shown.values()) <= 1


def test_added_signs_are_even_and_cannot_be_foreseen():
    which = level('treble = ["C4", "D4", "F4", "G4", "A4"]\nsigns = ["#"]')
    signed = [prompt.notes[0].sign is not None for prompt in deal(which, 9, 400)]
    assert sum(signed) == 200
    running = sum(one == other for one, other in pairwise(signed))
    assert running > 100  # taking turns would make it 0


@each({name: which for name, which in PLACED.items() if not which.show.rare_spellings})
def test_added_signs_make_no_rare_spelling(which):
    for seed in range(10):
        for prompt in deal(which, seed, 60):
            for note in prompt.notes:
                name = (note.pitch.letter, note.pitch.alter)
                assert name not in RARE or note.pitch.alter == prompt.signature.alter(name[0])


@each({name: which for name, which in PLACED.items() if {"##", "bb"} & set(which.show.signs)})
def test_double_signs_come_only_where_the_signature_has_the_single_one(which):
    doubles = 0
    for seed in range(10):
        for prompt in deal(which, seed, 60):
            for note in prompt.notes:
                if abs(note.pitch.alter) == 2:
                    doubles += 1
                    assert prompt.signature.alter(note.pitch.letter) * 2 == note.pitch.alter
    assert doubles > 100


RETURNS = {name: which for name, which in PLACED.items() if which.show.returns}


@each(RETURNS)
def test_where_places_return_every_rule_of_the_bar_comes_up(which):
    """What a reader meets after a sign: counted over 600 prompts, each in one of thirty or more."""
    show, met = which.show, Counter()
    for seed in range(10):
        for prompt in deal(which, seed, 60):
            met.update(rules_met(prompt))
    pool = {(UPPER, step) for step in show.upper or ()} | {
        (LOWER, step) for step in show.lower or ()
    }
    due = {"sign", "holds"}
    if any((staff, step + 7) in pool for staff, step in pool):
        due.add("another octave")
    if "n" in show.signs:
        due.add("cancelled")
    if show.bars > 1:
        due.add("ended by the barline")
    if show.ties:
        due.add("tied")
    assert {rule for rule in due if met[rule] >= 20} == due
    assert ("tied" in met) == show.ties


def rules_met(prompt: Prompt) -> set[str]:
    """The rules of signs that a bar or a few bring up, told from what is printed alone."""
    met = set()
    bar, here, ever = 0, {}, set()
    for slot in prompt.slots:
        if slot.bar != bar:
            bar, here = slot.bar, {}
        for note in slot.notes:
            place = (note.staff, note.pitch.step)
            octaves = {step % 7 for staff, step in here if (staff, step) != place}
            if note.tied:
                met.add("tied")
            elif note.sign is not None:
                met.add("cancelled" if here.get(place, "n") != "n" and note.sign == "n" else "sign")
                here[place] = note.sign
                ever.add(place)
            elif place in here:
                met.add("holds")
            elif place[1] % 7 in octaves:
                met.add("another octave")
            elif place in ever:
                met.add("ended by the barline")
    return met


@each(RETURNS)
def test_a_tie_goes_over_a_barline_from_the_same_note_and_needs_no_key(which):
    for seed in range(10):
        for prompt in deal(which, seed, 60):
            for before, slot in pairwise(prompt.slots):
                if slot.notes[0].tied:
                    (note,), (held,) = slot.notes, before.notes
                    assert (note.staff, note.pitch) == (held.staff, held.pitch)
                    assert slot.bar == before.bar + 1
                    assert slot.keys == frozenset()
                    assert note.sign is None


def test_rare_spellings_come_when_they_are_asked_for():
    which = level('treble = ["E4", "B4"]\nsigns = ["#"]\nrare_spellings = true')
    names = {note.pitch.spelling for prompt in deal(which, 1, 40) for note in prompt.notes}
    assert names == {"E4", "E#4", "B4", "B#4"}


def test_the_notes_of_a_chord_have_a_key_each():
    for seed in range(30):
        for prompt in deal(TRIADS, seed, 60):
            for slot in prompt.slots:
                assert len(slot.keys) == len(slot.notes)


@pytest.mark.parametrize("size", SIZES)
def test_every_size_of_keyboard_has_every_key_that_is_asked_for(size):
    compass = SIZES[size]
    dealt = 0
    for which in ALL.values():
        if not playable(which, compass):
            continue
        for seed in range(3):
            for prompt in deal(which, seed, 60, compass):
                dealt += 1
                assert all(reached(slot, compass) for slot in prompt.slots)
    assert dealt > 0


@settings(max_examples=60)
@given(st.integers(0, 110), st.sampled_from(sorted(SIZES)), st.sampled_from(sorted(LEVELS)))
def test_wherever_a_keyboard_begins_a_deal_fits_it_or_says_why_not(lowest, size, level_id):
    if lowest + size > 128:
        with pytest.raises(ValueError, match="0 to 127"):
            Compass.of_size(size, lowest)
        return
    compass = Compass.of_size(size, lowest)
    try:
        prompts = deal(LEVELS[level_id], 1, 20, compass)
    except EmptyPool as error:
        assert "a round needs two" in str(error)
        assert not playable(LEVELS[level_id], compass)
        return
    assert len(prompts) == 20
    assert all(reached(slot, compass) for prompt in prompts for slot in prompt.slots)


def test_a_full_keyboard_plays_every_shipped_level():
    assert all(playable(which, SIZES[88]) for which in LEVELS.values())


@pytest.mark.parametrize(
    ("show", "compass", "message"),
    [
        ('treble = "C6 to G6"', Compass(48, 72), "no prompt on keys C3 to C5"),
        ('treble = "C6 to G6"\nsignatures = [-1, 1]', Compass(48, 72), "no prompt"),
        ('treble = "B4 to G5"', Compass(48, 71), "only one prompt on keys C3 to B4"),
        (
            'treble = "C4 to G4"\nbass = "C2 to G2"\ntexture = "hands together"',
            Compass(48, 72),
            "no prompt",
        ),
    ],
)
def test_a_keyboard_too_small_for_a_level_is_told_its_keys(show, compass, message):
    which = level(show)
    with pytest.raises(EmptyPool, match=message):
        deal(which, 1, 5, compass)
    with pytest.raises(EmptyPool, match=message):
        check_pool(which, compass)


def test_a_place_that_leaves_the_keyboard_by_its_sign_is_not_shown():
    which = level('treble = "C4 to C5"\nsigns = ["#"]')
    keys = {note.key for prompt in deal(which, 1, 80, Compass(60, 72)) for note in prompt.notes}
    assert max(keys) <= 72
    assert 71 in keys


@pytest.mark.parametrize(("seed", "count"), [(-1, 5), (1, -5)])
def test_a_seed_or_count_below_0_is_refused(seed, count):
    with pytest.raises(ValueError, match="0 or more"):
        deal(TWO_PLACES, seed, count)


# The usual lowest keys of the makers' sizes: common practice, from memory.
@pytest.mark.parametrize(
    ("size", "low", "high"), [(88, 21, 108), (61, 36, 96), (49, 36, 84), (25, 48, 72)]
)
def test_usual_keyboards(size, low, high):
    assert SIZES[size] == Compass(low, high)
    assert SIZES[size].keys == size


@pytest.mark.parametrize("size", [0, 24, 89])
def test_a_size_that_is_not_made_is_answered_with_those_that_are(size):
    with pytest.raises(ValueError, match="25, 32, 37, 49, 61, 76, 88"):
        Compass.of_size(size)


def test_what_a_small_keyboard_leaves_out_is_counted():
    # C4 to G5 is twelve places; a keyboard from C3 to C5 lacks D5 to G5.
    shown = level('treble = "C4 to G5"')
    assert left_out(shown, FULL_COMPASS) == (0, 12)
    assert left_out(shown, Compass.of_size(25)) == (4, 12)
