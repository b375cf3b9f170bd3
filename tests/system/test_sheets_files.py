# SPDX-License-Identifier: MIT
"""Sheets as files, through the commands: PDF read back by another library, SVG, PNG, bad places."""

from __future__ import annotations

import hashlib
import io
import os
import re
import shlex
import subprocess
import sys
from xml.etree import ElementTree

import pygame
import pytest
from builders import level_text, shipped
from command_line import ROOT, refused
from pypdf import PageObject, PdfReader

from game.cli import main
from game.levels import Prompt, deal
from game.notation import NOTE_NAMES
from game.paper import PAPERS, Page, Sheet, Text, pdf, svg

LADDER = shipped()
POINTS = {
    name: (paper.width / 25.4 * 72, paper.height / 25.4 * 72) for name, paper in PAPERS.items()
}


def printed(capsys, *argv: object) -> str:
    """Run a command that must succeed; what it said."""
    assert main([*map(str, argv)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def sheet_of(tmp_path, capsys, *argv: object) -> PdfReader:
    out = tmp_path / "sheet.pdf"
    printed(capsys, "sheet", *argv, "--out", out)
    return PdfReader(out)


def words(page: PageObject) -> str:
    """The text of a page in the order in which it is drawn, without white space."""
    return re.sub(r"\s", "", page.extract_text())


def names_of(prompt: Prompt, naming: str = "letters") -> str:
    """The names of a prompt's notes, from left to right and from low to high."""
    names = NOTE_NAMES[naming]
    return "".join(
        names.name(note.pitch)
        for slot in prompt.slots
        for note in sorted(slot.notes, key=lambda note: note.key)
    )


@pytest.mark.parametrize("naming", NOTE_NAMES)
@pytest.mark.parametrize(
    "level_id",
    ["middle-c-both", "signs-both", "rare-double-sharps", "chords-inversions", "signatures-seven"],
)
def test_the_answers_are_the_notes_that_were_dealt(tmp_path, capsys, level_id, naming):
    found = LADDER.find(level_id).level
    pdf_read = sheet_of(tmp_path, capsys, found.id, "--seed", 11, "--count", 8, "--names", naming)
    answers = "".join(map(words, pdf_read.pages[1:]))
    wanted = "".join(
        f"{number}{names_of(prompt, naming)}" for number, prompt in enumerate(deal(found, 11, 8), 1)
    )
    assert wanted in answers


def test_no_answers_when_none_are_wanted(tmp_path, capsys):
    read = sheet_of(tmp_path, capsys, "grand-staff", "--count", 4, "--no-answers")
    assert len(read.pages) == 1
    assert "Answers" not in words(read.pages[0])


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", ["worksheet", "cards"])
def test_a_pdf_is_vector_on_the_paper_asked_for_with_its_fonts_inside(
    tmp_path, capsys, kind, paper
):
    read = sheet_of(
        tmp_path, capsys, "signatures-seven", "--kind", kind, "--paper", paper, "--seed", 1
    )
    assert len(read.pages) > 1
    for page in read.pages:
        assert (page.mediabox.width, page.mediabox.height) == pytest.approx(POINTS[paper], abs=0.01)
        assert not list(page.images)
        fonts = page["/Resources"]["/Font"]
        for font in fonts.values():
            descriptor = font.get_object()["/FontDescriptor"]
            assert "/FontFile2" in descriptor  # ISO 32000-1, table 122: an embedded TrueType
    drawn = read.pages[0].get_contents().get_data()
    # ISO 32000-1, tables 59 and 60: c appends a curve, re a rectangle, f fills.
    operators = re.findall(rb"(?<=\s)(c|re|f)(?=\s)", drawn)
    assert operators.count(b"c") > 100 and operators.count(b"re") > 50


def test_the_same_seed_gives_the_same_bytes_on_another_day_and_in_another_process(tmp_path):
    found = set()
    for nth, zone in enumerate(("UTC", "Asia/Tokyo")):
        out = tmp_path / f"{nth}.pdf"
        subprocess.run(
            [sys.executable, "-m", "game", "sheet", "signs-tied", "--seed", "5", "--out", out],
            cwd=ROOT,
            env={**os.environ, "TZ": zone, "PYTHONHASHSEED": str(nth)},
            check=True,
            capture_output=True,
            timeout=60,
        )
        found.add(hashlib.sha256(out.read_bytes()).hexdigest())
    assert len(found) == 1


@pytest.mark.parametrize(
    "options",
    [
        ("grand-staff-bars",),
        ("phrases-keys", "--paper", "Letter", "--names", "german"),
        ("chords-root", "--kind", "cards", "--paper", "Letter", "--names", "fixed-do"),
        ("chords-root", "--no-answers"),
    ],
)
def test_what_is_printed_small_makes_the_same_sheet_again(tmp_path, capsys, options):
    first, second = tmp_path / "first.pdf", tmp_path / "second.pdf"
    said = printed(capsys, "sheet", *options, "--out", first)
    seed = re.search(r"seed (\d+)", said)[1]
    foot = " ".join(PdfReader(first).pages[0].extract_text().split())
    command = re.search(r"stavewise (sheet [\w-]+( --[\w-]+( (?!Stavewise)\w[\w-]*)?)*)", foot)[1]
    assert f"--seed {seed}" in command
    printed(capsys, *shlex.split(command), "--out", second)
    assert first.read_bytes() == second.read_bytes()


def test_a_level_file_is_printed_like_any_other(tmp_path, capsys):
    path = tmp_path / "mine.toml"
    path.write_text(level_text(title='"Übung 山田 أحمد 😀"'), encoding="utf-8")
    for kind in ("worksheet", "cards"):
        out = tmp_path / f"{kind}.pdf"
        printed(capsys, "sheet", path, "--kind", kind, "--count", 3, "--out", out)
        text = words(PdfReader(out).pages[0])
        assert "Übung" in text and "sheetmine.toml" in text
        assert str(tmp_path) not in text  # where it lies is nobody's business
    for ending in ("pdf", "png", "svg"):
        printed(capsys, "levels", "preview", path, "--out", tmp_path / f"sample.{ending}")


def test_characters_beyond_the_basic_plane_are_drawn_and_break_nothing():
    page = Page(PAPERS["A4"], (Text("Re 𝄪 Do", 20, 20),))
    read = PdfReader(io.BytesIO(pdf(Sheet("", (page,)))))
    assert words(read.pages[0]) == "ReDo"  # 𝄪 is there as an outline, beside the text
    assert b" c" in read.pages[0].get_contents().get_data()


def test_a_preview_says_what_the_level_asks(tmp_path, capsys):
    out = tmp_path / "sample.PDF"
    printed(capsys, "levels", "preview", "signs-tied", "--out", out)
    (page,) = PdfReader(out).pages
    text = page.extract_text()
    level = LADDER.find("signs-tied").level
    for part in (level.title, level.about, level.stage, "C4 to G5", "F2 to C4", "3 bars", "85 %"):
        assert part in " ".join(text.split()), part


def test_a_preview_in_svg_is_well_formed_and_as_large_as_the_paper(tmp_path, capsys):
    out = tmp_path / "sample.svg"
    printed(capsys, "levels", "preview", "chords-sevenths", "--paper", "Letter", "--out", out)
    root = ElementTree.parse(out).getroot()
    assert (root.get("width"), root.get("height")) == ("215.9mm", "279.4mm")
    kinds = {element.tag.rpartition("}")[2] for element in root.iter()}
    assert not kinds & {"text", "image", "use", "style", "script"}  # nothing that may look other


def test_a_title_cannot_break_the_svg():
    page = Page(PAPERS["A4"], (Text('<b> & "q" \x07', 20, 20),))
    ElementTree.fromstring(svg(page, '<i> & "t"'))


def test_a_preview_in_png_is_black_on_white(tmp_path, capsys):
    out = tmp_path / "sample.png"
    printed(capsys, "levels", "preview", "grand-staff", "--out", out)
    picture = pygame.image.load(out)
    width, height = picture.get_size()
    assert width / height == pytest.approx(210 / 297, rel=0.001)
    assert picture.get_at((2, 2))[:3] == (255, 255, 255)
    black = (pygame.surfarray.array3d(picture) == 0).all(axis=2)
    assert 0.005 < black.mean() < 0.2


def test_the_sample_can_be_seen_again_and_changes_with_its_seed(tmp_path, capsys):
    made = []
    for nth, seed in enumerate((1, 1, 2)):
        out = tmp_path / f"{nth}.svg"
        printed(capsys, "levels", "preview", "grand-staff", "--seed", seed, "--out", out)
        made.append(out.read_text(encoding="utf-8"))
    assert made[0] == made[1] != made[2]


def test_more_prompts_than_a_page_holds_are_said_to_be_left_out(tmp_path, capsys):
    out = tmp_path / "sample.svg"
    assert main(["levels", "preview", "grand-staff", "--count", "150", "--out", str(out)]) == 0
    assert "of the 150 prompts" in capsys.readouterr().err


def test_fewer_cards_than_asked_for_are_said(tmp_path, capsys):
    out = tmp_path / "cards.pdf"
    argv = ["sheet", "middle-c-right", "--kind", "cards", "--count", "40", "--out", str(out)]
    assert main(argv) == 0
    said = capsys.readouterr()
    assert "5 cards" in said.out and "no more than 5 cards" in said.err


@pytest.mark.parametrize("ending", ["", ".doc", ".pdf.txt", ".svg"])
def test_a_sheet_in_another_format_is_refused_and_the_right_ending_named(tmp_path, capsys, ending):
    out = tmp_path / f"sheet{ending}"
    (line,) = refused(capsys, "sheet", "grand-staff", "--out", out)
    assert str(out) in line and "must end in .pdf" in line
    assert not out.exists()


def test_a_preview_in_another_format_is_refused_and_the_right_endings_named(tmp_path, capsys):
    (line,) = refused(capsys, "levels", "preview", "grand-staff", "--out", tmp_path / "a.gif")
    assert all(ending in line for ending in (".png", ".svg", ".pdf"))


def test_a_file_that_is_there_is_kept_unless_forced(tmp_path, capsys):
    out = tmp_path / "sheet.pdf"
    out.write_text("my only copy")
    (line,) = refused(capsys, "sheet", "grand-staff", "--out", out)
    assert "there already" in line and "--force" in line
    assert out.read_text() == "my only copy"
    printed(capsys, "sheet", "grand-staff", "--out", out, "--force")
    assert out.read_bytes().startswith(b"%PDF")


def test_a_place_that_cannot_be_written_is_named(tmp_path, capsys):
    for out in (tmp_path / "nowhere" / "a.pdf", tmp_path / "file" / "a.pdf"):
        (tmp_path / "file").write_text("")
        (line,) = refused(capsys, "sheet", "grand-staff", "--out", out)
        assert str(out) in line and "name a place that can be written" in line
    folder = tmp_path / "folder.pdf"
    folder.mkdir()
    (line,) = refused(capsys, "sheet", "grand-staff", "--force", "--out", folder)
    assert str(folder) in line


@pytest.mark.parametrize(
    ("argv", "part"),
    [
        (("sheet", "grand-staf", "--out", "x.pdf"), "nearest: grand-staff"),
        (("sheet", "grand-staff", "--count", "0", "--out", "x.pdf"), "whole number from 1"),
        (("sheet", "grand-staff", "--count", "100000", "--out", "x.pdf"), "whole number from 1"),
        (("sheet", "grand-staff", "--paper", "A5", "--out", "x.pdf"), "A5"),
        (("sheet", "grand-staff", "--names", "dutch", "--out", "x.pdf"), "dutch"),
        (("sheet", "grand-staff", "--kind", "cards", "--answers", "--out", "x.pdf"), "worksheets"),
        (("sheet", "grand-staff"), "--out"),
        (("levels", "preview", "no-such-file.toml", "--out", "x.png"), "no-such-file.toml"),
    ],
)
def test_what_cannot_be_printed_is_refused_in_one_line(tmp_path, capsys, monkeypatch, argv, part):
    monkeypatch.chdir(tmp_path)
    (line,) = refused(capsys, *argv)
    assert part in line
    assert not list(tmp_path.iterdir())


def test_many_pages_are_drawn_in_one_file(tmp_path, capsys):
    read = sheet_of(tmp_path, capsys, "grand-staff", "--count", 200, "--seed", 1, "--no-answers")
    ends = [re.search(r"page(\d+)of(\d+)", words(page)).groups() for page in read.pages]
    assert ends == [(str(n), str(len(ends))) for n in range(1, len(ends) + 1)]
    numbers = [
        int(found)
        for page in read.pages
        for found in re.findall(r"^\d+$", page.extract_text(), re.M)
    ]
    assert sorted(numbers) == list(range(1, 201))
