# SPDX-License-Identifier: MIT
"""Figures beside each other on a chart never touch, and long names stay whole on paper."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from itertools import combinations

import pytest
from builders import level_text
from chromium import looked_at
from heat_builders import setup_of
from heat_report_builders import robots, seats, told
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from game.engraving import Engraver
from game.heats import Heat, play
from game.notation import NOTE_NAMES, Clef
from game.paper import PAPERS, Text, pdf
from game.paper.columns import rows
from game.paper.heat_html import results_html
from game.paper.heat_sheet import results_sheet, slips_sheet
from game.paper.heat_words import HeatReport

ENGRAVE = Engraver().engrave
SIXTY = "Maximiliane-Charlotte Wilhelmina Hohenlohe of Langenburg-Sch"
NAMES = (SIXTY, "Hohenlohe" * 6 + "Schill", "Ada")


@given(
    st.lists(st.tuples(st.floats(0, 400), st.floats(1, 40)), max_size=30).map(sorted),
    st.floats(0, 10),
)
def test_labels_of_a_row_keep_their_distance(labels, gap):
    placed = rows(labels, gap)
    for (one, two), (a, b) in zip(combinations(labels, 2), combinations(placed, 2), strict=True):
        if a == b:
            assert two[0] - two[1] / 2 - (one[0] + one[1] / 2) >= gap - 1e-6


def test_a_label_leaves_the_first_row_only_where_it_must():
    assert rows([(0, 10), (20, 10), (30, 10), (40, 10), (50, 10)], 2) == (0, 0, 1, 0, 1)


@pytest.fixture(scope="module")
def heat() -> Heat:
    setup = setup_of(seats(NAMES), text=level_text('treble = "C3 to C7"\nbass = "C1 to C5"'))
    return play(setup, robots(setup))


def missed_everywhere(heat: Heat, names: str, missed: int, asked: int) -> HeatReport:
    """A report on which every line and space of both staves has the same figure, side by side."""
    found = told(heat)
    places = {(clef, position): (missed, asked) for clef in Clef for position in range(-6, 15)}
    figures = replace(found.figures, places=places)
    return replace(found, figures=figures, names=NOTE_NAMES[names])


@pytest.mark.parametrize(("missed", "asked"), [(1, 1), (1, 3), (33, 100), (100, 100), (0, 4)])
@pytest.mark.parametrize("names", ["letters", "fixed-do", "japanese"])
def test_no_figure_of_a_full_staff_touches_another_in_print(heat, names, missed, asked):
    sheet = results_sheet(missed_everywhere(heat, names, missed, asked), ENGRAVE, PAPERS["A4"])
    for page in sheet.pages:
        boxes = [item.box for item in page.items if isinstance(item, Text)]
        for one, two in combinations(boxes, 2):
            across = min(one[2], two[2]) - max(one[0], two[0])
            down = min(one[3], two[3]) - max(one[1], two[1])
            # A box reaches as low as the longest letter: figures and capitals end before.
            assert across <= 0 or down <= 0.8, (one, two)


@pytest.mark.parametrize(("missed", "asked"), [(1, 1), (1, 3), (100, 100)])
@pytest.mark.parametrize("width", [360, 900])
def test_nor_in_a_browser(heat, missed, asked, width, tmp_path):
    page = results_html(missed_everywhere(heat, "fixed-do", missed, asked), ENGRAVE)
    assert looked_at(page, tmp_path, width)["faults"] == []


def test_figures_that_touch_would_be_found(heat, tmp_path):
    page = results_html(missed_everywhere(heat, "letters", 1, 1), ENGRAVE)
    wide = page.replace("font-size:10px", "font-size:16px")
    assert any(one.startswith("touch:") for one in looked_at(wide, tmp_path, 900)["faults"])


@pytest.mark.parametrize("paper", PAPERS)
def test_names_of_sixty_letters_are_whole_on_every_page(heat, paper):
    assert [len(name) for name in NAMES[:2]] == [60, 60]
    found = told(heat)
    for sheet in (
        results_sheet(found, ENGRAVE, PAPERS[paper]),
        slips_sheet(found, ENGRAVE, PAPERS[paper]),
    ):
        read = "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf(sheet))).pages)
        read = re.sub(r"\s", "", read)
        for name in NAMES:
            assert re.sub(r"\s", "", name) in read


def test_a_name_too_wide_for_its_column_ends_in_dots_before_the_next_one(heat):
    setup = setup_of(seats(["W" * 60, "Ada"]), text=heat.setup.level_text)
    found = told(play(setup, robots(setup)))
    page = results_sheet(found, ENGRAVE, PAPERS["A4"]).pages[0]
    name = next(item for item in page.items if isinstance(item, Text) and "WW" in item.text)
    right = [i for i in page.items if isinstance(i, Text) and i.y == name.y and i.left > name.left]
    assert name.text.endswith("…")
    assert name.box[2] < min(item.left for item in right)


def test_a_long_title_of_a_level_is_whole_under_its_heading(heat):
    setup = replace(heat.setup, level_title=SIXTY)
    sheet = results_sheet(told(play(setup, robots(setup))), ENGRAVE, PAPERS["Letter"])
    said = [item.text for item in sheet.pages[0].items if isinstance(item, Text)]
    assert any(text.startswith(f"{SIXTY} (") and "…" not in text for text in said)
