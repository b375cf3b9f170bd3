# SPDX-License-Identifier: MIT
"""stavewise heat report, as somebody types it: what is written, and what is said when it fails."""

from __future__ import annotations

import csv
import io
import json

import pytest
from command_line import refused
from heat_builders import setup_of
from heat_report_builders import robots, seats
from pypdf import PdfReader

from game.cli import main
from game.heats.chain import heat_file

SETUP = setup_of(seats(("Ada", "Bo", "Cy")), prompts=6)
THEN = setup_of(seats(("Ada", "Cy", "Bo")), prompts=6, seed=8)


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """Two exported heats of one class, and the first with a key altered."""
    folder = tmp_path_factory.mktemp("heats")
    now = heat_file(SETUP, robots(SETUP), program="tests", names=True)
    then = heat_file(THEN, robots(THEN, seed=4), program="tests", names=True)
    altered = json.loads(json.dumps(now))
    press = next(e["event"] for e in altered["entries"] if e["event"]["kind"] == "press")
    press["key"] += 1
    for name, file in (("now", now), ("then", then), ("altered", altered)):
        (folder / f"{name}.json").write_text(json.dumps(file), encoding="utf-8")
    return folder


def ran(capsys, *argv: object) -> tuple[int, str, str]:
    status = main(["heat", "report", *map(str, argv)])
    return status, *capsys.readouterr()


@pytest.mark.parametrize("paper", ["letter", "LETTER", "Letter"])
def test_a_paper_is_known_however_it_is_written(kept, tmp_path, capsys, paper):
    out = tmp_path / "wall.pdf"
    status, _, err = ran(capsys, kept / "now.json", "--pdf", out, "--paper", paper)
    assert (status, err) == (0, "")
    assert float(PdfReader(out).pages[0].mediabox.height) == pytest.approx(792, abs=0.01)


def test_every_kind_of_report_is_written_at_once(kept, tmp_path, capsys):
    out = {name: tmp_path / f"{name}.{end}" for name, end in
           (("html", "html"), ("pdf", "pdf"), ("slips", "pdf"), ("csv", "csv"))}  # fmt: skip
    options = [word for name, path in out.items() for word in (f"--{name}", path)]
    status, said, err = ran(
        capsys, kept / "now.json", *options, "--before", kept / "then.json", "--class", "5b",
        "--date", "2026-11-25", "--paper", "Letter",
    )  # fmt: skip
    assert (status, err) == (0, "")
    assert all(str(path) in said for path in out.values())
    page = out["html"].read_text(encoding="utf-8")
    assert "5b" in page
    assert "25 Nov 2026" in page
    for path in (out["pdf"], out["slips"]):
        box = PdfReader(path).pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx((612, 792), abs=0.01)
    assert len(PdfReader(out["slips"]).pages) == 2
    rows = list(csv.DictReader(io.StringIO(out["csv"].read_text(encoding="utf-8-sig"))))
    assert sorted(row["reader"] for row in rows) == ["Ada", "Bo", "Cy"]
    assert all(row["score_change"] for row in rows)
    ends = json.loads((kept / "now.json").read_text())["chain"]
    assert all(ends.startswith(row["chain"].replace(" ", "")) for row in rows)
    assert rows[0]["chain"] in page


def test_slips_are_a_page_where_their_file_is_one(kept, tmp_path, capsys):
    out = tmp_path / "slips.html"
    assert ran(capsys, kept / "now.json", "--slips", out)[0] == 0
    assert out.read_text(encoding="utf-8").count('<section class="slip">') == 3


def test_a_broken_file_is_reported_with_its_fault_on_the_page_and_status_1(kept, tmp_path, capsys):
    out = {name: tmp_path / f"{name}.html" for name in ("html", "slips")}
    table = tmp_path / "table.csv"
    status, said, err = ran(
        capsys, kept / "altered.json", "--html", out["html"], "--slips", out["slips"],
        "--csv", table,
    )  # fmt: skip
    assert status == 1
    assert "was altered" in err
    assert "what was written says so too" in err
    assert str(out["html"]) in said
    for path in out.values():
        assert "does not hold" in path.read_text(encoding="utf-8")
    assert "was altered" in out["html"].read_text(encoding="utf-8")
    assert "broken" in table.read_text(encoding="utf-8-sig")


def test_a_last_link_that_was_noted_otherwise_is_told(kept, tmp_path, capsys):
    out = tmp_path / "result.html"
    status, _, err = ran(capsys, kept / "now.json", "--html", out, "--noted", "00000000")
    assert status == 1
    assert "as it was noted" in err
    assert "does not hold" in out.read_text(encoding="utf-8")


def test_a_broken_heat_before_is_told_as_well(kept, tmp_path, capsys):
    out = tmp_path / "result.html"
    status, _, err = ran(capsys, kept / "now.json", "--html", out, "--before",
                         kept / "altered.json")  # fmt: skip
    assert status == 1
    assert "altered.json" in err
    assert "altered.json" in out.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "line"),
    [
        ([], "--html, --pdf, --slips or --csv"),
        (["--html", "result.txt"], ".html"),
        (["--pdf", "result.html"], ".pdf"),
        (["--slips", "slips.png"], ".pdf or .html"),
        (["--html", "taken.html"], "it is there already"),
        (["--html", "nowhere/result.html"], "nowhere"),
        (["--html", "a.html", "--slips", "a.html"], "one file"),
        (["--html", "a.html", "--date", "yesterday"], "2026-11-25"),
        (["--html", "a.html", "--before", "none.json"], "none.json: it cannot be read"),
        (["--html", "a.html", "--places", "two"], "--places"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_line(kept, tmp_path, capsys, monkeypatch, words, line):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "taken.html").write_text("mine")
    assert line in " ".join(refused(capsys, "heat", "report", kept / "now.json", *words))
    assert (tmp_path / "taken.html").read_text() == "mine"
    assert not (tmp_path / "a.html").exists()


def test_a_heat_of_another_length_is_not_compared(kept, tmp_path, capsys):
    other = setup_of(seats(("Ada",)), prompts=7)
    (tmp_path / "other.json").write_text(json.dumps(heat_file(other, robots(other), program="t")))
    [line] = refused(
        capsys, "heat", "report", kept / "now.json", "--html", tmp_path / "a.html", "--before",
        tmp_path / "other.json",
    )  # fmt: skip
    assert "counted:7" in line
    assert "counted:6" in line


def test_what_is_no_heat_is_named(tmp_path, capsys):
    (tmp_path / "x.json").write_text("{}")
    [line] = refused(capsys, "heat", "report", tmp_path / "x.json", "--csv", tmp_path / "a.csv")
    assert "x.json" in line
