# SPDX-License-Identifier: MIT
"""``deal --piece`` and ``levels from`` as their user meets them."""

from __future__ import annotations

from math import inf

import pytest
from command_line import refused, told
from piece_reading import PIECES

from game.cli import main
from game.cli.pieces import _progress
from game.levels import parse_level


@pytest.fixture(autouse=True)
def _alone(monkeypatch, tmp_path, alone):
    monkeypatch.setattr("game.cli.pieces._QUIET_S", inf)  # a busy machine is slow, and says so


@pytest.fixture
def told_after_a_second(monkeypatch):
    monkeypatch.setattr("game.cli.pieces._QUIET_S", 1.0)


def test_the_json_of_a_piece(capsys):
    found = told(capsys, "deal", "--piece", PIECES / "ties.musicxml")
    assert found["format"] == 1
    assert found["piece"] == "Ties"
    slot = found["slots"][2]
    note_id = slot["notes"][0].pop("id")
    assert note_id
    assert slot == {
        "bar": "2",
        "beat": 1.0,
        "signature": 0,
        "notes": [
            {
                "spelling": "F#4", "key": 66, "staff": 1, "clef": "treble", "sign": None,
                "tied": True, "grace": False,
            }
        ],
    }  # fmt: skip
    assert found["notices"] == [
        {"bar": "3", "text": "a tie does not lead from one note to another", "doubtful": True}
    ]


def test_the_table_of_a_piece_and_what_is_to_be_known_of_it(capsys):
    assert main(["deal", "--piece", str(PIECES / "disagreement.musicxml")]) == 0
    out, err = capsys.readouterr()
    assert out.splitlines()[0] == "Disagreement"
    assert any(line.split() == ["2", "1", "F#4(66)"] for line in out.splitlines())
    assert err == "stavewise: bar 2: F4 is natural as printed and sharp as encoded\n"


def test_a_part_and_a_number_can_be_chosen(capsys):
    assert told(capsys, "deal", "--piece", PIECES / "duo.musicxml", "--part", "cello")["part"] == (
        "Cello"
    )
    assert told(capsys, "deal", "--piece", PIECES / "book.abc", "--number", 2)["piece"] == "Second"


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (["deal"], "--piece FILE"),
        (["deal", "grand-staff"], "--seed"),
        (["deal", "grand-staff", "--seed", "1", "--part", "2"], "--part"),
        (["deal", "grand-staff", "--piece", "x.abc"], "a piece has no seed"),
        (["deal", "--piece", "gone.abc"], "gone.abc"),
        (["levels", "from", "gone.abc", "--as", "bars"], "gone.abc"),
        (["levels", "from", "gone.abc"], "--as"),
        (["levels", "from", "gone.abc", "--as", "bars", "--bars", "3"], "hardest"),
        (["levels", "from", "gone.abc", "--as", "hardest", "--bars", "0"], "2 to 500"),
    ],
)
def test_a_wrong_command_line_is_refused_in_one_line(capsys, arguments, part):
    (line,) = refused(capsys, *arguments)
    assert part in line


@pytest.mark.parametrize("option", ["--robot", "--seed=1", "--count=2", "--seconds=9"])
def test_a_piece_is_not_played_by_itself_which_is_a_wrong_command_line(capsys, option):
    assert main(["play", str(PIECES / "repeats.musicxml"), option]) == 2
    assert "'stavewise levels from' makes one" in capsys.readouterr().err


def test_a_level_is_printed_or_written_and_then_dealt(capsys, tmp_path):
    source = str(PIECES / "wide-chords.musicxml")
    assert main(["levels", "from", source, "--as", "bars"]) == 0
    printed, err = capsys.readouterr()
    assert err == ""
    assert parse_level(printed, "printed").title == "Wide chords: bar by bar"

    folder = tmp_path / "my levels"
    assert main(["levels", "from", source, "--as", "bars", "--out", str(folder)]) == 0
    path, err = capsys.readouterr()
    assert "left out, bar 2: 6 keys at once" in err
    written = folder / "wide-chords-bars.toml"
    assert path.strip() == str(written)
    assert written.read_text(encoding="utf-8") == printed

    dealt = told(capsys, "deal", written, "--seed", 1, "--count", 2)
    assert dealt["prompts"][0]["slots"][0]["notes"][0]["spelling"] == "C4"


def test_a_level_file_is_never_written_over(capsys, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("precious", encoding="utf-8")
    source = PIECES / "repeats.musicxml"
    (line,) = refused(capsys, "levels", "from", source, "--as", "bars", "--out", path)
    assert "there already" in line
    assert path.read_text(encoding="utf-8") == "precious"


def test_one_hand_of_the_hardest_bars(capsys):
    source = str(PIECES / "octave-lines.musicxml")
    command = ["levels", "from", source, "--as", "hardest", "--hand", "right", "--bars", "2"]
    assert main(command) == 0
    level = parse_level(capsys.readouterr().out, "printed")
    assert level.title == "Octave lines: hardest bars, right hand"
    assert [one.slots for one in level.show.written] == [("C5", "F6", "G6", "C5"), ("C7",)]


def test_json_is_alone_on_standard_output_while_progress_is_told(capsys, told_after_a_second):
    with _progress("a long piece.krn") as wait:
        wait(0.5)
        assert capsys.readouterr().err == ""
        wait(1.5)
        wait(2.5)
    out, err = capsys.readouterr()
    assert out == ""
    assert err == "stavewise: reading a long piece.krn, which takes a while\n"


def test_on_a_terminal_progress_is_a_bar_that_grows_and_goes(
    capsys, monkeypatch, told_after_a_second
):
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    with _progress("piece.krn") as wait:
        wait(1.2)
        first = capsys.readouterr().err
        wait(8.0)
        second = capsys.readouterr().err
    assert 0 < first.count("█") < second.count("█")
    assert capsys.readouterr().err == "\r\x1b[K"


def test_help_has_an_example_that_runs(capsys):
    assert main(["levels", "from", "--help"]) == 0
    assert "--as hardest" in capsys.readouterr().out
