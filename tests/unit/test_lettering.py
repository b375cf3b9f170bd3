# SPDX-License-Identifier: MIT
"""Names in any script are drawn as they are written, with the fonts of the computer."""

from __future__ import annotations

import shutil
import unicodedata

import pygame
import pytest
from computer_fonts import NAMES, needs, only_fonts_of

from game.lettering import TextRun, drawn, painted, pieces
from game.lettering.fonts import font_for
from game.paper import PAPERS, Page, Sheet, Text, pdf, svg
from game.paper.faces import says, width
from game.ui import theme


@pytest.fixture(autouse=True)
def _letters():
    pygame.font.init()


def latin(character: str) -> bool:
    return not unicodedata.category(character).startswith("L") or ord(character) < 0x250


def said(text: str) -> list[str]:
    """A line from left to right, in pieces; leftward ones marked."""
    return [f"←{one.text}" if one.leftward else one.text for one in pieces(text, latin)]


@pytest.mark.parametrize("script", NAMES)
@pytest.mark.parametrize("size", [13, 36, 150])
def test_a_name_is_drawn_whole_within_its_line(script, size):
    name = NAMES[script]
    needs(name)
    surface = theme.text_surface(name, "title", size, theme.INK)
    assert surface.get_size()[1] == theme.text_surface("Ada", "title", size, theme.INK).get_height()
    assert abs(surface.get_width() - theme.text_width(name, "title", size)) <= 1
    with only_fonts_of():
        boxes = theme.text_surface(name, "title", size, theme.INK)
    assert pygame.image.tobytes(surface, "RGBA") != pygame.image.tobytes(boxes, "RGBA")
    assert surface.get_bounding_rect().width > 0.7 * surface.get_width()


@pytest.mark.parametrize("script", NAMES)
def test_letters_that_stand_high_or_hang_low_are_not_cut_off(script):
    needs(NAMES[script])
    surface = theme.text_surface(NAMES[script], "text", 60, theme.INK)
    alpha = pygame.surfarray.array_alpha(surface)
    solid = (alpha > 128).sum()
    for piece in pieces(NAMES[script], latin):
        if piece.font:
            solid -= (painted(piece, 60).cover > 128).sum()
    # Made smaller by a tenth at most, and nothing but that: 0.9 squared is 0.81.
    assert solid > -0.2 * (alpha > 128).sum()


def test_arabic_letters_are_joined_in_the_forms_that_unicode_gives_for_their_places():
    # The Unicode Standard, chapter 9.2 and the chart "Arabic Presentation Forms-B": meem initial
    # FEE3, hah medial FEA4, meem medial FEE4, dal final FEAA; seen from right to left.
    needs("محمد")
    [name] = pieces("محمد", latin)
    forms = "\ufeaa\ufee4\ufea4\ufee3"
    if not (font := font_for(forms + "محمد")):
        pytest.skip("no font here has both the letters and their old forms")
    joined, separate = drawn(name._replace(font=font)), drawn(TextRun(forms, font))
    assert joined == separate


def test_what_is_read_from_right_to_left_is_turned_round_in_its_place():
    # As an isolate of Unicode Standard Annex 9 (2.4.2): the figures of the line stay where they
    # are, which they would not after an Arabic letter without one (its rule W2).
    arabic, other = "محمد", "علي"
    assert said(f"Next: {arabic} – 12 right") == ["Next: ", f"←{arabic}", " – 12 right"]
    assert said(f"{arabic} {other}, 7") == [f"←{other}", " ", f"←{arabic}", ", 7"]
    assert said(f"{arabic} ({other})") == ["(", f"←{other}", ") ", f"←{arabic}"]
    assert said(f"({arabic}) 3") == ["(", f"←{arabic}", ") 3"]
    assert said(f"Ada {arabic} Bo") == ["Ada ", f"←{arabic}", " Bo"]
    assert said(f"{arabic}…") == ["…", f"←{arabic}"]


def test_marks_stay_with_their_letters():
    needs("שָׁלוֹם")
    [name] = pieces("שָׁלוֹם", latin)
    assert name.leftward and set(unicodedata.normalize("NFC", "שָׁלוֹם")) == set(name.text)
    whole, bare = drawn(name), drawn(name._replace(text="שלום"))
    assert whole.advance == bare.advance  # points stand over and under, and take no room
    assert whole.d != bare.d


def test_a_word_is_not_set_in_two_fonts():
    # ハ is in the assets' fonts, as the name of a note; ナ is not.
    needs("ハナコ")
    [name] = theme._pieces("ハナコ", "text")
    assert name.text == "ハナコ" and name.font is not None
    assert all(one.font is None for one in theme._pieces("ハニホ ♯♭ – Ольга Nguyễn", "text"))


def test_composed_and_decomposed_letters_look_the_same():
    # Unicode Standard Annex 15: canonically equivalent texts should be displayed alike.
    for name in ("Ánh Nguyễn", "Ёлкина"):
        one, other = (
            pygame.image.tobytes(theme.text_surface(form, "text", 30, theme.INK), "RGBA")
            for form in (unicodedata.normalize("NFC", name), unicodedata.normalize("NFD", name))
        )
        assert one == other


@pytest.mark.parametrize("script", NAMES)
def test_a_page_has_the_outlines_of_a_name(script):
    name = NAMES[script]
    needs(name)
    page = Page(PAPERS["A4"], (Text(name, 20, 30, 12, "title"),))
    assert says(name, "title")
    picture = svg(page, "Names")
    outlined = [one for one in pieces(name, latin) if one.font]
    assert outlined and all(drawn(one).d in picture for one in outlined)
    assert len(pdf(Sheet("Names", (page,)))) > 1000
    assert width(f"{name} {name}", "title") > 2 * width(name, "title")


def test_a_computer_without_a_font_for_a_name_says_so():
    with only_fonts_of():
        for name in NAMES.values():
            assert not theme.says(name)
            assert not says(name, "title")
            assert theme.text_surface(name, "text", 30, theme.INK).get_width() > 30
        assert theme.says("Ольга Nguyễn ♯ Ada")


def test_a_broken_font_file_or_one_that_is_gone_is_passed_over(tmp_path):
    needs("שלום")
    good = font_for("שלום")
    (tmp_path / "a sans.ttf").write_bytes(b"not a font at all")
    (tmp_path / "b sans.ttf").symlink_to(tmp_path / "nowhere.ttf")
    (tmp_path / "c sans.ttf").mkdir()
    (tmp_path / "d sans.ttf").write_bytes(good.read_bytes()[:2000])
    with only_fonts_of(tmp_path, tmp_path / "no folder"):
        assert not theme.says("שלום")
    shutil.copy(good, tmp_path / "z serif italic.ttf")
    with only_fonts_of(tmp_path):
        assert theme.says("שלום")
        assert font_for("שלום") == tmp_path / "z serif italic.ttf"


def test_the_plainest_font_is_taken(tmp_path):
    needs("שלום")
    good = font_for("שלום")
    for name in ("A Sans Bold", "B Serif", "C Sans Mono", "Z Sans", "Emoji Sans"):
        shutil.copy(good, tmp_path / f"{name}.ttf")
    with only_fonts_of(tmp_path):
        assert font_for("שלום").stem == "Z Sans"
