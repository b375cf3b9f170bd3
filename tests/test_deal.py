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
from pathlib import Path

import pytest
from builders import Eye, level, printed, shipped
from hypothesis import given, settings
from hypothesis import strategies as st

from game.levels import (
    FULL_COMPASS,
    LOWER,
    UPPER,
    USUAL_LOWEST,
    Compass,
    EmptyPool,
    Level,
    Prompt,
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
every_level = pytest.mark.parametrize(
    "which",
    [*LEVELS.values(), TRIADS, TWO_PLACES, ONE_PLACE],
    ids=[*LEVELS, "triads", "two places", "one place"],
)


def drawn(prompt: Prompt) -> list[tuple[int, tuple[int, ...]]]:
    """The places of a prompt: a staff and its notes there that go down together."""
    found = []
    for slot in prompt.slots:
        for staff in (UPPER, LOWER):
            steps = tuple(note.pitch.step for note in slot.notes if note.staff == staff)
            if steps:
                found.append((staff, steps))
    return found


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
    here = Path(__file__).parent
    paths = os.pathsep.join((str(here), str(here.parent)))
    there = subprocess.run(
        [sys.executable, "-c", "import test_deal; print(test_deal.digest())"],
        env=os.environ | {"PYTHONHASHSEED": hash_seed, "PYTHONPATH": paths},
        capture_output=True,
        text=True,
        check=True,
    )
    assert there.stdout.strip() == digest()


@every_level
def test_no_prompt_looks_like_the_one_before_it(which):
    for seed in range(20):
        faces = [
            (prompt.signature, [[(n.staff, n.pitch) for n in slot.notes] for slot in prompt.slots])
            for prompt in deal(which, seed, 40)
        ]
        assert all(one != other for one, other in pairwise(faces))


@every_level
def test_ids_are_unique_in_a_deal_and_every_prompt_has_its_slots(which):
    for seed in range(5):
        prompts = deal(which, seed, 40)
        ids = [note.id for prompt in prompts for note in prompt.notes]
        assert len(set(ids)) == len(ids)
        assert all(len(prompt.slots) == which.show.slots for prompt in prompts)


@every_level
def test_an_eye_that_sees_only_signs_reads_every_dealt_pitch(which):
    for seed in range(10):
        for prompt in deal(which, seed, 30):
            eye, silent = Eye(prompt.signature.fifths), Eye(prompt.signature.fifths)
            for note, seen in zip(prompt.notes, printed(prompt.notes), strict=True):
                silent.in_bar = dict(eye.in_bar)
                unsigned = silent.read(replace(seen, sign=None))
                assert eye.read(seen) == note.pitch.alter
                assert (note.sign is None) == (unsigned == note.pitch.alter)


@every_level
def test_only_what_the_level_allows_is_shown(which):
    show = which.show
    for prompt in deal(which, 11, 60):
        assert prompt.signature.fifths in show.signatures
        for slot in prompt.slots:
            steps = {UPPER: show.treble or (), LOWER: show.bass or ()}
            lowest = {note.staff: note.pitch.step for note in reversed(slot.notes)}
            assert all(step in steps[staff] for staff, step in lowest.items())
            for note in slot.notes:
                assert note.clef is (Clef.TREBLE if note.staff == UPPER else Clef.BASS)
                own = prompt.signature.alter(note.pitch.letter)
                allowed = {own, *({"#": 1, "b": -1, "n": 0}[sign] for sign in show.signs)}
                assert note.pitch.alter in allowed
            if show.texture == "one note":
                assert len(slot.notes) == 1
            elif show.texture == "hands together":
                assert [note.staff for note in slot.notes] == [LOWER, UPPER]
            else:
                low = slot.notes[0].pitch.step
                shape = tuple(note.pitch.step - low + 1 for note in slot.notes[1:])
                assert shape in show.shapes


@every_level
def test_places_are_shown_evenly_after_every_prompt(which):
    # As deal.py states it: any two places differ by at most one, hand by hand when together.
    together = which.show.texture == "hands together"
    bags = ({UPPER}, {LOWER}) if together else ({UPPER, LOWER},)
    everything = deal(which, 5, 400)
    shown = Counter(dict.fromkeys(chain.from_iterable(map(drawn, everything)), 0))
    for prompt in everything:
        shown.update(drawn(prompt))
        for hands in bags:
            counts = [count for (staff, _steps), count in shown.items() if staff in hands]
            assert max(counts) - min(counts) <= 1


def test_signatures_are_shown_evenly():
    which = LEVELS["signatures-seven"]
    shown = Counter(prompt.signature.fifths for prompt in deal(which, 2, 4 * 25))
    assert set(shown.values()) == {25}
    assert set(shown) == set(which.show.signatures)


def test_added_signs_are_even_and_cannot_be_foreseen():
    which = level('treble = ["C4", "D4", "F4", "G4", "A4"]\nsigns = ["#"]')
    signed = [prompt.notes[0].sign is not None for prompt in deal(which, 9, 400)]
    assert sum(signed) == 200
    running = sum(one == other for one, other in pairwise(signed))
    assert running > 100  # taking turns would make it 0


@pytest.mark.parametrize("level_id", ["signs-sharps", "signs-flats", "signs-hold"])
def test_added_signs_make_no_rare_spelling(level_id):
    which = LEVELS[level_id]
    for seed in range(20):
        for prompt in deal(which, seed, 60):
            for note in prompt.notes:
                if note.sign in ("#", "b"):
                    assert note.pitch.letter + note.pitch.sign not in {"E#", "B#", "Cb", "Fb"}


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
    for which in [*LEVELS.values(), TRIADS]:
        if not playable(which, compass):
            continue
        for seed in range(3):
            for prompt in deal(which, seed, 60, compass):
                dealt += 1
                assert all(compass.low <= note.key <= compass.high for note in prompt.notes)
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
    assert all(compass.contains(note.key) for prompt in prompts for note in prompt.notes)


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
    assert left_out(shown, FULL_COMPASS) == 0
    assert left_out(shown, Compass.of_size(25)) == 4
