# SPDX-License-Identifier: MIT
"""A heat's result and slips as a browser shows and prints them, and as PDF read back."""

from __future__ import annotations

import io
import re
from html.parser import HTMLParser

import pytest
from chromium import looked_at, printed
from computer_fonts import needs, only_fonts_of
from heat_builders import setup_of
from heat_report_builders import LONG, NAMES, WIDE, heats, robots, told
from pypdf import PdfReader

from game.engraving import Engraver
from game.heats import Heat, play
from game.heats.standings import Shows
from game.paper import PAPERS, pdf, svg
from game.paper.faces import outlines, runs, says
from game.paper.heat_figures import heat_figures
from game.paper.heat_html import results_html, slips_html
from game.paper.heat_sheet import results_sheet, slips_sheet
from game.paper.heat_slip_words import NO_SLIPS
from game.paper.heat_words import BROKEN, NOTHING_COUNTS, FileCheck

ENGRAVE = Engraver().engrave
POINTS = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0)}  # ISO 216; ANSI/ASME Y14.1
EDGES = (
    "one seat", "all disqualified", "nobody answered", "nobody played", "forty seats", "no names",
    "any script", "shared places", "not closed", "in time", "signatures",
)  # fmt: skip


@pytest.fixture(scope="module")
def edges() -> dict[str, Heat]:
    found = heats()
    assert set(found) == set(EDGES)
    return found


def read(sheet) -> PdfReader:
    return PdfReader(io.BytesIO(pdf(sheet)))


def words_of(reader: PdfReader) -> str:
    return re.sub(r"\s", "", "".join(page.extract_text() for page in reader.pages))


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


class _Parts(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        leading = ("href", "src", "srcset", "data", "action", "poster", "xlink:href", "background")
        self.links += [name for name, _ in attrs if name in leading]


# HTML


@pytest.fixture
def no_fonts():
    """A computer without fonts of its own."""
    with only_fonts_of():
        yield


@pytest.mark.parametrize("name", EDGES)
def test_pages_have_nothing_that_could_fetch_or_run(edges, name):
    for page in (results_html(told(edges[name]), ENGRAVE), slips_html(told(edges[name]), ENGRAVE)):
        parts = _Parts()
        parts.feed(page)
        assert parts.links == []
        assert not {"script", "link", "img", "iframe", "object", "embed"} & set(parts.tags)
        assert "url(" not in page
        assert "default-src 'none'" in page
        assert "<b>Zoë" not in page


@pytest.mark.parametrize(
    ("name", "width"),
    [("any script", 1000), ("any script", 480), ("forty seats", 800), ("nobody played", 800),
     ("in time", 800), ("signatures", 800)],
)  # fmt: skip
def test_a_browser_shows_the_class_whole_and_fetches_nothing(edges, name, width, tmp_path):
    heat = edges[name]
    then = play(heat.setup, robots(heat.setup, seed=9)) if name == "any script" else None
    seen = looked_at(results_html(told(heat, then), ENGRAVE), tmp_path, width)
    assert seen["faults"] == []
    assert seen["fetched"] == 0
    text = squeezed(seen["text"])
    for chair in heat.chairs:
        assert squeezed(chair.seat.title) in text
    for said in ("Seed", "0a1b2c3d4e5f6071", "stavewisejudge--heatFILE"):
        assert said in text
    if name == "nobody played":
        assert squeezed(NOTHING_COUNTS) in text


@pytest.mark.parametrize(("name", "width"), [("any script", 1000), ("any script", 480)])
def test_a_browser_shows_every_slip_whole(edges, name, width, tmp_path):
    seen = looked_at(slips_html(told(edges[name]), ENGRAVE), tmp_path, width)
    assert seen["faults"] == []
    assert seen["fetched"] == 0
    for chair in edges[name].chairs:
        if chair.seat.name != LONG:
            assert squeezed(chair.seat.title) in squeezed(seen["text"])


@pytest.mark.parametrize("paper", PAPERS)
def test_slips_print_two_to_a_page_and_nothing_is_cut_off(edges, paper, tmp_path):
    found = told(edges["any script"])
    page = slips_html(found, ENGRAVE).replace("@page {", f"@page {{ size: {paper};")
    reader = PdfReader(io.BytesIO(printed(page, tmp_path)))
    assert len(reader.pages) == len(NAMES) // 2
    for nth, one in enumerate(reader.pages):
        assert float(one.mediabox.width) == pytest.approx(POINTS[paper][0], abs=1)
        assert float(one.mediabox.height) == pytest.approx(POINTS[paper][1], abs=1)
        text = one.extract_text()
        assert text.count("Right at once") == 2
        for seat in found.figures.played[2 * nth : 2 * nth + 2]:
            for met in seat.again:
                assert re.search(rf"missed {met.missed} of|right, in", text)
        # The last line of each slip stands over its end.
        assert text.count("missed") + text.count("right, in") == sum(
            len(seat.again) for seat in found.figures.played[2 * nth : 2 * nth + 2]
        )


@pytest.mark.parametrize(("name", "paper"), [("forty seats", "A4"), ("any script", "Letter")])
def test_the_class_prints_on_whole_pages(edges, name, paper, tmp_path):
    page = results_html(told(edges[name]), ENGRAVE).replace("@page {", f"@page {{ size: {paper};")
    reader = PdfReader(io.BytesIO(printed(page, tmp_path)))
    texts = [one.extract_text() for one in reader.pages]
    assert 2 <= len(texts) <= 4
    assert all(text.strip() for text in texts)
    for heading in ("Standings", "The class", "Missed most", "Kinds of misread", "To check"):
        [number] = [n for n, text in enumerate(texts) if heading in text.splitlines()]
        assert texts[number].rstrip().splitlines()[-1] != heading, "left alone at a page's foot"
    for one in reader.pages:
        xs: list[float] = []
        one.extract_text(visitor_text=lambda text, cm, tm, font, size, xs=xs: xs.append(
            (tm[4] * cm[0] + tm[5] * cm[2] + cm[4]) if text.strip() else 100.0
        ))  # fmt: skip
        assert min(xs) >= 38  # the margins of 14 mm
        assert max(xs) <= POINTS[paper][0] - 38


def test_who_is_not_to_be_listed_is_on_no_page_of_the_class(edges):
    found = told(edges["shared places"])
    for shows, there in ((Shows.PODIUM, {"Ada", "Bo", "Cy"}), (Shows.CLASS, set())):
        page = results_html(found, ENGRAVE, shows)
        sheet = words_of(read(results_sheet(found, ENGRAVE, PAPERS["A4"], shows)))
        for name in ("Ada", "Bo", "Cy", "Di"):
            assert (f"<bdi>{name}</bdi>" in page) == (name in there)
            assert bool(re.search(rf"\d=?{name}\d", sheet)) == (name in there)
        assert "Class total" in page
        assert "Classtotal" in sheet


@pytest.mark.parametrize("name", EDGES)
def test_every_head_on_the_staff_has_its_figure(edges, name):
    found = told(edges[name])
    page = results_html(found, ENGRAVE)
    drawn = re.search(r'<svg class="known".*?</svg>', page, re.DOTALL)
    if not found.figures.places:
        assert drawn is None
        return
    shown = re.findall(r">(\d{1,3})(\??)</text>", drawn[0])
    assert len(shown) == len(found.figures.places)
    for missed, asked in found.figures.places.values():
        half_up = (200 * missed + asked) // (2 * asked)
        share = min(99, half_up) if missed < asked else 100
        assert (str(share), "?" if asked < 5 else "") in shown


# PDF


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", EDGES)
def test_a_pdf_is_on_its_paper_and_everything_inside_the_margins(edges, name, paper):
    for sheet in (
        results_sheet(told(edges[name]), ENGRAVE, PAPERS[paper]),
        slips_sheet(told(edges[name]), ENGRAVE, PAPERS[paper]),
    ):
        for page in sheet.pages:
            for item in page.items:
                left, top, right, bottom = item.box
                if getattr(item, "dash", ()) or getattr(item, "text", "") == "cut here":
                    continue  # the cutting line goes from edge to edge
                assert left >= 13
                assert right <= PAPERS[paper].width - 13
                assert top >= 12
                assert bottom <= PAPERS[paper].height - 6
        reader = read(sheet)
        assert len(reader.pages) == len(sheet.pages)
        for one in reader.pages:
            size = float(one.mediabox.width), float(one.mediabox.height)
            assert size == pytest.approx(POINTS[paper], abs=0.01)
            assert not list(one.images)


def test_the_pdf_of_a_class_says_what_the_page_says(edges):
    found = told(edges["shared places"])
    text = words_of(read(results_sheet(found, ENGRAVE, PAPERS["A4"])))
    for said in ("5b:T", "25Nov2026,10:30", "T(tested)", "Seed7", "4prompts", "1Ada", "2=Bo",
                 "2=Cy", "4Di", "0a1b2c3d4e5f6071", "stavewisejudge--heatFILE"):  # fmt: skip
        assert said in text


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("seats", range(3, 10))  # from well before a page's end to well after it
def test_the_staff_and_what_its_heads_mean_are_on_one_page(seats, paper):
    setup = setup_of(seats, text=WIDE, prompts=3)
    sheet = results_sheet(told(play(setup, robots(setup))), ENGRAVE, PAPERS[paper])
    [page] = [page for page in sheet.pages if says_on(page, "Missed most")]
    assert says_on(page, "fewer than 5 answers")
    assert says_on(page, "The fuller and darker")


def says_on(page, words: str) -> bool:
    return any(words in getattr(item, "text", "") for item in page.items)


def test_forty_seats_are_all_there_under_a_head_on_every_page(edges, no_fonts):
    found = told(edges["forty seats"])
    reader = read(results_sheet(found, ENGRAVE, PAPERS["A4"]))
    text = words_of(reader)
    for one in found.figures.seats:
        name = one.row.seat.name
        assert squeezed(name if says(one.row.seat.title, "title") and name else
                        f"Seat {one.row.seat.number}")[:20] in text  # fmt: skip
    listed = [page.extract_text() for page in reader.pages]
    with_rows = [page for page in listed if re.search(r"Reader \d", page)]
    assert len(with_rows) >= 2
    assert all("Accuracy" in page for page in with_rows)


def test_names_in_other_scripts_stand_on_the_pages_where_the_computer_has_their_fonts(edges):
    for name in NAMES:
        needs(name)
    found = told(edges["any script"])
    for sheet in (results_sheet, slips_sheet):
        text = words_of(read(sheet(found, ENGRAVE, PAPERS["A4"])))
        assert "theirseatsstandinstead" not in text
        drawn = "".join(svg(page, "") for page in sheet(found, ENGRAVE, PAPERS["A4"]).pages)
        for name in ("山田 太郎", "שרה כהן", "محمد علي", "อรุณี"):
            words = [run for run in runs(name, "text") if run.piece]
            assert words and all(one.d in drawn for run in words for one in outlines(run))


def test_names_without_letters_here_give_way_to_their_seats_and_it_says_so(edges, no_fonts):
    found = told(edges["any script"])
    unsaid = [number for number, name in enumerate(NAMES, 1) if not says(name, "title")]
    assert len(unsaid) >= 4
    result = words_of(read(results_sheet(found, ENGRAVE, PAPERS["A4"])))
    slips = words_of(read(slips_sheet(found, ENGRAVE, PAPERS["A4"])))
    assert "theirseatsstandinstead" in result
    for number in unsaid:
        assert f"Seat{number}" in result
        assert f"Seat{number}" in slips
    for name in ("Björn Ångström", "Οδυσσέας", "Nguyễn Thị Minh", "Павел"):
        assert squeezed(name) in result
        assert squeezed(name) in slips
    plain = words_of(read(results_sheet(told(edges["shared places"]), ENGRAVE, PAPERS["A4"])))
    assert "theirseatsstandinstead" not in plain
    assert "shows as boxes" in results_html(found, ENGRAVE)
    assert "shows as boxes" not in results_html(told(edges["shared places"]), ENGRAVE)


def test_a_class_whose_name_has_no_letters_here_says_what_the_question_marks_are(edges, no_fonts):
    found = told(edges["one seat"], group="五年二班")
    text = words_of(read(results_sheet(found, ENGRAVE, PAPERS["A4"])))
    assert "????" in text
    assert "Aquestionmarkstandsforaletter" in text


@pytest.mark.parametrize("paper", PAPERS)
def test_two_slips_a_page_with_a_line_to_cut_and_no_rank(edges, paper):
    found = told(edges["forty seats"])
    sheet = slips_sheet(found, ENGRAVE, PAPERS[paper])
    assert len(sheet.pages) == 20
    half = PAPERS[paper].height / 2
    for page in sheet.pages:
        [line] = [item for item in page.items if getattr(item, "dash", ())]
        assert line.y1 == line.y2 == half
        over = [item for item in page.items if item is not line and item.box[1] < half - 3]
        assert all(item.box[3] < half for item in over)
    for nth, page in enumerate(read(sheet).pages):
        text = page.extract_text()
        assert text.count("Right at once") == 2
        assert "Place" not in text
        here = [one.row.seat.number for one in found.figures.played[2 * nth : 2 * nth + 2]]
        assert here == [2 * nth + 1, 2 * nth + 2]


def test_slips_show_the_signs_that_the_reader_missed(edges):
    found = told(edges["no names"])
    text = words_of(read(slips_sheet(found, ENGRAVE, PAPERS["A4"])))
    for one in found.figures.played:
        for met in one.again:
            assert squeezed(f"{found.names.name(met.pitch, octave=True)}, ") in text


def test_nobody_who_played_makes_a_page_that_says_so(edges):
    found = told(edges["nobody played"])
    assert squeezed(NO_SLIPS) in words_of(read(slips_sheet(found, ENGRAVE, PAPERS["A4"])))
    assert NO_SLIPS in slips_html(found, ENGRAVE)


def test_a_broken_file_is_told_on_every_page_for_every_reader(edges):
    found = told(edges["shared places"], checked=FileCheck("dead beef", ("entry 3 was altered",)))
    results = results_sheet(found, ENGRAVE, PAPERS["A4"])
    slips = slips_sheet(found, ENGRAVE, PAPERS["A4"])
    assert squeezed(BROKEN) in words_of(read(results))
    assert "Entry3wasaltered" in words_of(read(results))
    assert words_of(read(slips)).count(squeezed(BROKEN)) == 4
    assert BROKEN in results_html(found, ENGRAVE)
    assert slips_html(found, ENGRAVE).count(BROKEN) == 4
    assert "dead beef" not in results_html(found, ENGRAVE)


def test_the_same_heat_gives_the_same_bytes(edges):
    found = told(edges["shared places"])
    assert pdf(results_sheet(found, ENGRAVE, PAPERS["A4"])) == pdf(
        results_sheet(told(edges["shared places"]), Engraver().engrave, PAPERS["A4"])
    )
    assert heat_figures(edges["shared places"]) == heat_figures(edges["shared places"])
