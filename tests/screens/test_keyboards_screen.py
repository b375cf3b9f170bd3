# SPDX-License-Identifier: MIT
"""The piano on the screen, and the computer keyboard as a piano."""

from __future__ import annotations

from itertools import pairwise

import pygame
import pytest
from builders import pitches
from hypothesis import given
from hypothesis import strategies as st

from game.keyboards import ComputerKeyboard, PianoLayout

HOME_ROW = "asdfghjkl;'"
ROW_ABOVE = "wetyuop"


def scancode(character: str) -> int:
    """SDL's own number of the place that bears this character on a US keyboard."""
    names = {";": "SEMICOLON", "'": "APOSTROPHE"}
    return getattr(pygame, f"KSCAN_{names.get(character, character.upper())}")


def test_home_row_plays_the_white_keys_and_the_row_above_the_black_ones():
    keyboard = ComputerKeyboard()
    whites = [keyboard.key_for(scancode(character)) for character in HOME_ROW]
    blacks = [keyboard.key_for(scancode(character)) for character in ROW_ABOVE]
    assert whites == [pitch.key for pitch in pitches("C4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5")]
    assert blacks == [pitch.key for pitch in pitches("C#4 D#4 F#4 G#4 A#4 C#5 D#5")]


def test_each_black_key_lies_above_and_between_its_white_neighbours():
    top_row = "qwertyuiop"
    for character in ROW_ABOVE:
        key = ComputerKeyboard().key_for(scancode(character))
        # A place of the upper row lies between the two home-row places beside its index.
        right = top_row.index(character)
        assert ComputerKeyboard().key_for(scancode(HOME_ROW[right - 1])) == key - 1
        assert ComputerKeyboard().key_for(scancode(HOME_ROW[right])) == key + 1


@pytest.mark.parametrize("character", "qrizxcv")
def test_other_places_play_nothing(character):
    assert ComputerKeyboard().key_for(scancode(character)) is None


def test_octaves_shift_and_stop_where_the_piano_ends():
    c = scancode("a")
    assert ComputerKeyboard().shifted(1).key_for(c) == 72
    assert ComputerKeyboard().shifted(-1).key_for(c) == 48
    assert ComputerKeyboard().shifted(99).shifted(1) == ComputerKeyboard().shifted(99)
    assert ComputerKeyboard().shifted(-99).shifted(-1) == ComputerKeyboard().shifted(-99)


def test_all_88_keys_and_no_others_can_be_reached():
    codes = [scancode(character) for character in HOME_ROW + ROW_ABOVE]
    octaves = [ComputerKeyboard().shifted(by) for by in range(-9, 10)]
    reached = {keyboard.key_for(code) for keyboard in octaves for code in codes}
    assert reached - {None} == set(range(21, 109))


def test_an_octave_off_the_piano_is_refused():
    with pytest.raises(ValueError, match="0 to 7"):
        ComputerKeyboard(8)


@given(st.integers(-4, 3))
def test_the_letter_shown_on_a_key_is_the_one_that_plays_it(by):
    keyboard = ComputerKeyboard().shifted(by)
    shown = {key: keyboard.label_for(key) for key in range(128)}
    for key, label in shown.items():
        if label is not None:
            assert keyboard.key_for(scancode(label.lower())) == key
    assert [key for key in range(128) if shown[key]] == sorted(
        key
        for character in HOME_ROW + ROW_ABOVE
        if (key := keyboard.key_for(scancode(character))) is not None
    )


RANGES = st.tuples(st.integers(0, 127), st.integers(0, 127)).map(sorted)


@given(RANGES, st.integers(80, 3000), st.integers(10, 400))
def test_white_keys_cover_the_whole_width_without_gap_or_overlap(keys, width, height):
    laid = PianoLayout(*keys, width, height).keys()
    whites = [key for key in laid if not key.black]
    assert whites[0].x == 0
    assert whites[-1].x + whites[-1].width == width
    for left, right in pairwise(whites):
        assert left.x + left.width == right.x
    assert {(key.y, key.height) for key in whites} == {(0, height)}
    widths = {key.width for key in whites}
    assert max(widths) - min(widths) <= 1


@given(RANGES, st.integers(80, 3000), st.integers(10, 400))
def test_black_keys_lie_between_their_white_neighbours_inside_the_piano(keys, width, height):
    keys_laid = PianoLayout(*keys, width, height).keys()
    laid = {key.key: key for key in keys_laid}
    assert set(range(keys[0], keys[1] + 1)) <= set(laid)
    for key in laid.values():
        assert key.black == (key.key % 12 in {1, 3, 6, 8, 10})
        if key.black:
            below, above = laid[key.key - 1], laid[key.key + 1]
            assert below.x <= key.x <= above.x <= key.x + key.width <= above.x + above.width + 1
            assert 0 < key.height < height


@given(st.integers(0, 799), st.integers(0, 99))
def test_the_mouse_finds_the_key_that_is_drawn_on_top(x, y):
    layout = PianoLayout(36, 96, 800, 100)
    painted = sorted(layout.keys(), key=lambda key: key.black)
    seen = [
        key.key
        for key in painted
        if key.x <= x < key.x + key.width and key.y <= y < key.y + key.height
    ]
    assert layout.key_at(x, y) == seen[-1]


@pytest.mark.parametrize(("x", "y"), [(-1, 5), (800, 5), (5, -1), (5, 100)])
def test_beside_the_piano_there_is_no_key(x, y):
    assert PianoLayout(36, 96, 800, 100).key_at(x, y) is None


def test_the_end_of_a_white_key_below_its_black_neighbour_is_the_white_key():
    layout = PianoLayout(60, 72, 700, 100)
    sharp = layout.keys()[1]
    middle = sharp.x + sharp.width // 2
    assert layout.key_at(middle, 10) == 61
    assert layout.key_at(sharp.x + 1, 99) == 60
    assert layout.key_at(sharp.x + sharp.width - 1, 99) == 62


@pytest.mark.parametrize("keys", [(-1, 60), (60, 128), (61, 60)])
def test_a_range_outside_midi_is_refused(keys):
    with pytest.raises(ValueError, match="0 to 127"):
        PianoLayout(*keys, 800, 100)
