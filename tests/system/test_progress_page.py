# SPDX-License-Identifier: MIT
"""The page and the tables of a reader's progress, as a browser and a spreadsheet have them."""

from __future__ import annotations

import csv
import io
import re
from datetime import UTC, datetime, timedelta
from html.parser import HTMLParser
from itertools import pairwise
from random import Random

import pygame
import pytest
from builders import bar_of, key, shipped
from chromium import looked_at, pictured, printed
from progress_builders import practised, read_round
from pypdf import PdfReader

from game.engraving import Engraver
from game.levels import Ladder
from game.notation import GRAND_STAFF, NOTE_NAMES
from game.paper.plot import Plot, Point, placed, plot_svg, ticks
from game.paper.progress_csv import FILES, progress_csv
from game.paper.progress_html import progress_html
from game.paper.saving import NotSaved, file_name, save_page
from game.reader import Profile, Progress
from game.rounds import Flip, Press, Round, Stop, play
from game.session.profiles import progress_of
from game.store import Store

NOW = datetime(2026, 3, 20, 18, 0, tzinfo=UTC)
NASTY = 'Zoë <b>O\'Neill</b> & "<script>alert(1)</script>" 山田 ' + "W" * 20
PAPER_PT = {"A4": (595, 842), "Letter": (612, 792)}  # ISO 216; ANSI/ASME Y14.1
ENGRAVE = Engraver().engrave


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    with Store.open(tmp_path_factory.mktemp("page") / "store.db") as opened:
        yield opened


def _only_wrong() -> Profile:
    profile = Profile()
    for spelling, pressed in (("F#4", "F4"), ("G4", "B4"), ("C6", "E6"), ("G4", "G5")) * 4:
        prompt = bar_of(spelling, signature=1)
        events = [Flip(0.0), Press(1.0, key(pressed)), Stop(60.0)]
        result = play(Round((prompt,), 8.0), events).results[0]
        profile = profile.after(prompt, result, NOW.timestamp()).profile
    return profile


def _three() -> Profile:
    profile = Profile()
    for spelling in ("E4", "G4", "B4"):
        prompt = bar_of(spelling)
        events = [Flip(0.0), Press(1.0, key(spelling)), Stop(60.0)]
        result = play(Round((prompt,), 8.0), events).results[0]
        profile = profile.after(prompt, result, NOW.timestamp()).profile
    return profile


@pytest.fixture(scope="module")
def pages(store) -> dict[str, tuple[Progress, str]]:
    """Of a reader with nothing, three presses, only wrong ones, some weeks: progress and page."""
    weeks = store.add_reader("Weeks").id
    profiles = {
        "nothing": (store.add_reader("Nothing").id, Profile()),
        "three presses": (store.add_reader("Three").id, _three()),
        "only wrong": (store.add_reader("Wrong").id, _only_wrong()),
        "weeks": (weeks, practised(store, weeks, NOW - timedelta(days=34), days=35)),
    }
    made = {}
    for name, (reader, profile) in profiles.items():
        found = progress_of(store, reader, profile, shipped(), NOW, UTC)
        made[name] = found, progress_html(NASTY, found, ENGRAVE, NOTE_NAMES["letters"], UTC)
    return made


WHO = ("nothing", "three presses", "only wrong", "weeks")


class _Parts(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.links += [f"{name}={value}" for name, value in attrs if name in _LEADING]


_LEADING = ("href", "src", "srcset", "data", "action", "poster", "xlink:href", "background")


@pytest.mark.parametrize("who", WHO)
def test_the_page_has_nothing_that_could_fetch_or_run(pages, who):
    page = pages[who][1]
    parts = _Parts()
    parts.feed(page)
    assert parts.links == []
    assert not {"script", "link", "img", "iframe", "object", "embed", "base"} & set(parts.tags)
    assert "url(" not in page
    assert "@import" not in page
    assert "default-src 'none'" in page


@pytest.mark.parametrize(("who", "width"), [*((who, 1000) for who in WHO), ("weeks", 500)])
def test_a_browser_shows_all_of_it_and_fetches_nothing(pages, who, width, tmp_path):
    found, page = pages[who]
    seen = looked_at(page, tmp_path, width)
    assert seen["faults"] == []
    assert seen["fetched"] == 0
    assert seen["bold"] == 0
    assert "<b>O'Neill</b>" in seen["text"]
    for place in found.places[:3]:
        assert place.band.value in seen["text"]
    for misread in found.misreads:
        assert misread.kind.value.lower() in seen["text"].lower() or "No clear" in seen["text"]
    for clef in GRAND_STAFF:
        assert f"Counting in the {clef.value} clef" in page


def test_a_page_that_is_too_wide_or_fetches_would_be_found(pages, tmp_path):
    wide = '<p style="width: 3000px">wide</p><img src="https://example.org/a.png">'
    page = pages["nothing"][1].replace("</h1>", f"</h1>{wide}", 1)
    page = page.replace("default-src 'none'", "default-src 'none'; img-src *")
    seen = looked_at(page, tmp_path, 1000)
    assert "off the page: P." in seen["faults"]
    assert seen["fetched"] == 1


@pytest.mark.parametrize(
    ("who", "paper"), [("nothing", "A4"), ("weeks", "A4"), ("weeks", "Letter")]
)
def test_it_prints_on_whole_pages_with_nothing_cut_off(pages, who, paper, tmp_path):
    page = pages[who][1].replace("@page {", f"@page {{ size: {paper};")
    pdf = PdfReader(io.BytesIO(printed(page, tmp_path)))
    sizes = {(round(one.mediabox.width), round(one.mediabox.height)) for one in pdf.pages}
    assert all(
        abs(width - PAPER_PT[paper][0]) <= 1 and abs(height - PAPER_PT[paper][1]) <= 1
        for width, height in sizes
    )
    texts = [one.extract_text() for one in pdf.pages]
    assert all(text.strip() for text in texts)
    assert len(texts) <= 6
    whole = "\n".join(texts)
    headings = ["Lines and spaces", "Over time", "Misreads"]
    headings += ["Every line and space"] if who == "weeks" else []
    for heading in headings:
        [number] = [n for n, text in enumerate(texts) if heading in text.splitlines()]
        assert texts[number].rstrip().splitlines()[-1] != heading, "left alone at a page's foot"
    for place in pages[who][0].places if who == "weeks" else ():
        assert _called(place) in whole
    # Nothing may reach into the margins of 14 mm: 39 points.
    for one in pdf.pages:
        xs: list[float] = []
        one.extract_text(visitor_text=lambda text, cm, tm, font, size, xs=xs: xs.append(
            (tm[4] * cm[0] + tm[5] * cm[2] + cm[4]) if text.strip() else 100.0
        ))  # fmt: skip
        assert min(xs) >= 38
        assert max(xs) <= PAPER_PT[paper][0] - 38


def _called(place) -> str:
    step = place.clef.step_at(place.position)
    return f"{'CDEFGAB'[step % 7]}{step // 7}"


def test_it_opens_as_a_picture_with_music_in_it(pages, tmp_path):
    picture = pygame.image.load(
        io.BytesIO(pictured(pages["weeks"][1], tmp_path, 1000, 800)), "page.png"
    )
    assert picture.get_size() == (1000, 800)
    blue = sum(
        picture.get_at((x, y))[:3] == (0x1F, 0x5F, 0xA8)
        for x in range(0, 1000, 3)
        for y in range(0, 800, 3)
    )
    assert blue > 50  # the filled heads


def test_each_place_says_how_well_it_is_known_by_figure_and_by_shape(pages):
    found, page = pages["weeks"]
    svg = re.search(r'<svg class="known".*?</svg>', page, re.DOTALL)[0]
    figures = re.findall(r">(\d{1,3})(\??)</text>", svg)
    met = [place for place in found.places if place.estimate is not None]
    assert sorted(f"{n}{q}" for n, q in figures) == sorted(
        f"{min(99, round(100 * p.estimate.certainty.mean))}{'?' if p.few else ''}" for p in met
    )
    fills = set(re.findall(r'<path transform="[^"]*" fill="#[0-9a-f]{6}" d="(M[^"]*Z)"', svg))
    bands = {place.band for place in met}
    assert len(fills) >= len(bands)


def test_notes_are_called_as_the_reader_calls_them(pages):
    found = pages["only wrong"][0]
    page = progress_html("Anna", found, ENGRAVE, NOTE_NAMES["german"], UTC)
    assert "Shown Fis4" in page
    assert "F♯4" not in page


def test_an_empty_ladder_still_makes_a_page(store):
    reader = store.add_reader("No levels").id
    found = progress_of(store, reader, Profile(), Ladder((), ()), NOW, UTC)
    assert found.places == ()
    assert "Nothing has been read yet" in progress_html(
        "A", found, ENGRAVE, NOTE_NAMES["letters"], UTC
    )


# Tables


def _rows(table: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table.decode("utf-8-sig"), newline="")))


@pytest.mark.parametrize("who", WHO)
def test_the_tables_say_what_the_page_says(pages, store, who):
    found = pages[who][0]
    rounds = store.figures({"weeks": 1}.get(who, 0))
    tables = {name: _rows(table) for name, table in progress_csv(found, rounds).items()}
    assert tuple(tables) == FILES
    assert len(tables["signs.csv"]) == len(found.signs)
    for row, (sign, known) in zip(tables["signs.csv"], found.signs, strict=True):
        assert (row["clef"], int(row["staff_position"])) == (sign.clef.value, sign.position)
        assert float(row["certainty"]) == pytest.approx(known.certainty.mean, abs=1e-4)
        assert float(row["certainty_low"]) <= float(row["certainty"])
        due = datetime.fromisoformat(row["due"])
        assert due.timestamp() == pytest.approx(known.due, abs=1)
    assert [int(row["round"]) for row in tables["rounds.csv"]] == [one.id for one in rounds]
    for row, one in zip(tables["rounds.csv"], rounds, strict=True):
        assert datetime.fromisoformat(row["started"]) == one.started
        assert float(row["accuracy"]) == one.accuracy
    for row, one in zip(tables["misreads.csv"], found.misreads, strict=True):
        assert row["misread"] == one.kind.value
        if one.example is not None:
            assert int(row["example_key_played"]) == one.example.played


def test_a_level_of_ones_own_cannot_slip_a_formula_into_a_spreadsheet(store):
    reader = store.add_reader("Formula").id
    level = shipped().rungs[0].level.model_copy(update={"id": "=HYPERLINK(1)"})
    profile = read_round(store, reader, Profile(), level, NOW, Random(1))
    found = progress_of(store, reader, profile, shipped(), NOW, UTC)
    [row] = _rows(progress_csv(found, store.figures(reader))["rounds.csv"])
    assert row["level"] == "'=HYPERLINK(1)"


# Plots


def test_an_axis_has_round_values_that_span_what_is_shown():
    for low, high in ((0, 1), (0, 47), (-33, 260), (0.001, 0.002), (-5, 5), (0, 1e6)):
        values = ticks(low, high)
        assert values[0] <= low + 1e-9 * abs(low) < high <= values[-1] * (1 + 1e-9)
        assert 2 <= len(values) <= 5
        gaps = {round(b - a, 9) for a, b in pairwise(values)}
        assert len(gaps) == 1


def test_points_and_intervals_stay_in_their_frame():
    points = tuple(Point(n, 50.0 + n, -900.0, 900.0) for n in range(10))
    parts = placed(Plot("t", "u", points, line=100.0), 10, 20, 300, 200)
    spots = [*parts.path, *parts.dots, *parts.band]
    assert all(10 <= x <= 310 and 20 - 1e-6 <= y <= 220 + 1e-6 for x, y in spots)
    assert parts.dots[0][1] > parts.dots[-1][1]  # more is higher
    assert parts.line is not None
    assert parts.line < parts.dots[0][1]


def test_one_point_has_its_interval_and_no_line():
    parts = placed(Plot("t", "u", (Point(7, 5.0, 4.0, 6.0),)), 0, 0, 100, 100)
    assert parts.path == ()
    assert parts.dots == ((50.0, parts.dots[0][1]),)
    assert len({x for x, _ in parts.band}) == 2


def test_a_plot_of_nothing_says_what_it_waits_for():
    assert "later" in plot_svg(Plot("t", "u", (), empty="More later <&>."))


# Where a page is saved


def test_a_page_is_saved_among_the_documents_and_never_over_another(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DOCUMENTS_DIR", str(tmp_path))
    monkeypatch.setattr("game.paper.saving.user_documents_path", lambda: tmp_path)
    first, second = (save_page(text, "Progress of A/B: <C>") for text in ("1", "2"))
    assert first.parent == second.parent == tmp_path / "Stavewise"
    assert (first.read_text(), second.read_text()) == ("1", "2")


def test_where_nothing_can_be_written_is_said(tmp_path, monkeypatch):
    (tmp_path / "Stavewise").write_text("a file in the way")
    monkeypatch.setattr("game.paper.saving.user_documents_path", lambda: tmp_path)
    monkeypatch.setattr("game.paper.saving.data_folder", lambda: tmp_path)
    with pytest.raises(NotSaved, match="Stavewise"):
        save_page("1", "Progress")


@pytest.mark.parametrize(
    "title", ["a/b\\c:d*e?", "..", "", "x" * 500, "山田 花子", "NUL\0\n", NASTY]
)
def test_any_name_makes_a_name_of_a_file(title):
    name = file_name(title)
    assert 0 < len(name) <= 60
    assert not set('/\\:*?"<>|\0\n.') & set(name)


@pytest.mark.parametrize(
    "title", ["CON", "nul", "Com1", "LPT9", "aux.", " prn ", "COM¹", "CONOUT$", "李" * 90, "ñ" * 90]
)
def test_any_name_makes_a_file_that_every_system_takes(title):
    # Windows: "Naming Files, Paths, and Namespaces"; Linux: NAME_MAX of 255 bytes. From memory.
    devices = {"CON", "PRN", "AUX", "NUL"}
    devices |= {f"{port}{n}" for port in ("COM", "LPT") for n in "0123456789¹²³"}
    for name in (file_name(title), f"{file_name(title)}.csv", f"{file_name(title)} 12.heat.json"):
        assert name.partition(".")[0].rstrip().upper() not in devices
        assert name == name.rstrip(" .")
        assert len(f"{name} with names.heat.json".encode()) <= 255


def test_a_letter_is_not_cut_in_two_and_its_accent_stays_with_it():
    assert set(file_name("李" * 90)) == {"李"}
    assert file_name("Zoe\u0308") == "Zoë"


def test_a_name_that_only_begins_like_a_device_stays():
    assert file_name("Connie") == "Connie"
    assert file_name("5b CON") == "5b CON"
