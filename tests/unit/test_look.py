# SPDX-License-Identifier: MIT
"""Colours that everybody can tell apart and read."""

from __future__ import annotations

import pytest
from fontTools.ttLib import TTFont

from game.files.resources import font_path
from game.notation import LETTERS, NOTE_NAMES, Pitch
from game.paper.progress_chart import LOOKS
from game.ui import theme


def luminance(colour: theme.Colour) -> float:
    """Relative luminance, WCAG 2.2 "relative luminance" (W3C Recommendation, 2023)."""

    def linear(channel: int) -> float:
        value = channel / 255
        return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(channel) for channel in colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: theme.Colour, other: theme.Colour) -> float:
    """Contrast ratio, WCAG 2.2."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("ground", ["PAPER", "CARD", "ACCENT_WASH"])
@pytest.mark.parametrize("words", ["INK", "MUTED", "ACCENT", "WRONG"])
def test_text_reaches_wcag_aa(words, ground):
    # WCAG 2.2 success criterion 1.4.3: at least 4.5:1 for text of normal size.
    assert contrast(getattr(theme, words), getattr(theme, ground)) >= 4.5


def test_the_formula_gives_the_standards_own_extremes():
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21)


def test_right_and_wrong_differ_in_lightness_or_hue_for_every_eye():
    # Blue and orange stay apart for red-blind and green-blind eyes: their difference lies in
    # the blue channel, which both kinds of eye see (common practice in colour-safe palettes).
    assert abs(theme.RIGHT[2] - theme.WRONG[2]) > 100


def test_the_heads_of_the_progress_page_are_seen_on_paper_and_darken_as_they_fill():
    # WCAG 2.2 success criterion 1.4.11: at least 3:1 for graphics.
    for paper in (theme.PAPER, (255, 255, 255)):
        looks = [(filled, contrast(ink, paper)) for filled, ink in LOOKS.values()]
        assert min(ratio for _, ratio in looks) >= 3
        assert looks == sorted(looks)


def test_text_is_wrapped_within_its_width_and_nothing_is_lost():
    import pygame

    pygame.font.init()
    words = "Quick and right earns most, slow and right little, quick and wrong costs most."
    lines = theme.wrapped(words, "text", 18, 200)
    assert " ".join(lines) == words
    assert all(theme.text_width(line, "text", 18) <= 200 for line in lines)


@pytest.mark.parametrize("face", ["text", "strong"])
@pytest.mark.parametrize("scheme", sorted(NOTE_NAMES))
def test_every_note_name_has_its_glyphs(scheme, face):
    for alter in range(-2, 3):
        for letter in LETTERS:
            assert_drawable(NOTE_NAMES[scheme].name(Pitch(letter, alter, 4), octave=True), face)


@pytest.mark.parametrize("face", ["text", "strong", "title"])
def test_the_signs_on_the_screens_and_names_of_many_countries_have_glyphs(face):
    assert_drawable("Ольга Łukasz Nguyễn Ελένη Çağla – … · × − ▏", face)


def assert_drawable(words: str, face: str) -> None:
    for use, run in theme._runs(words, face):
        with TTFont(font_path(theme._FACES[use])) as font:
            missing = {character for character in run if ord(character) not in font.getBestCmap()}
        assert not missing, (missing, use)
