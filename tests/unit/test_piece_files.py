# SPDX-License-Identifier: MIT
"""Files of sheet music: what is taken, and what is refused in one line that helps."""

from __future__ import annotations

import shutil
import sys

import pytest
from piece_reading import PIECES, lines, piece

from game.pieces import PieceError, load_piece, loading

REPEATS = ["1 1: C4", "2 1: D4", "3 1: E4", "4 1: F4"]


@pytest.mark.parametrize("name", ["packed.mxl", "utf-16.musicxml"])
def test_packed_and_differently_encoded_files_are_the_same_music(name):
    assert lines(piece(name)) == REPEATS


def test_musicxml_may_be_named_xml_and_a_packed_file_too(tmp_path):
    for name in ("repeats.musicxml", "packed.mxl"):
        shutil.copy(PIECES / name, tmp_path / "piece.xml")
        assert lines(load_piece(tmp_path / "piece.xml")) == REPEATS


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("torn.musicxml", ["line 12", "cut short", "export"]),
        ("empty.musicxml", ["empty", "export"]),
        ("no-notes.musicxml", ["no note"]),
        ("plain-text.mei", ["plain text"]),
        ("not-music.mxl", ["zip archive without a score"]),
        ("other.xml", ["<recipe>", "MusicXML"]),
        ("drum.musicxml", ["bar 1", "percussion"]),
        ("quarter-tone.musicxml", ["bar 2", "1qs"]),
        ("loose-tuplet.mei", ["bar 3", "tuplet"]),
        ("duo.musicxml", ["1 Flute, 2 Cello, 3 Viola", "--part"]),
        ("two-movements.mei", ["2 pieces", "--number"]),
        ("book.abc", ["1 First, 2 Second", "--number"]),
        ("overlaid.abc", ["line 6", "&"]),
    ],
)
def test_a_refusal_is_one_line_with_the_file_the_place_and_the_mend(name, parts):
    with pytest.raises(PieceError) as refusal:
        piece(name)
    message = str(refusal.value)
    assert message.startswith(str(PIECES / name))
    assert "\n" not in message
    for part in parts:
        assert part in message


@pytest.mark.parametrize(
    ("name", "content", "part"),
    [
        ("piece.pdf", b"%PDF", ".musicxml"),
        ("piece.mxl", b"<score-partwise/>", "name it .musicxml"),
        ("piece.mxl", b"PK\x03\x04 and no more", "damaged zip"),
        ("piece.musicxml", b'<?xml version="1.0" encoding="UTF-8"?><a>\xff</a>', "encoding"),
        ("piece.musicxml", b"<score-partwise/>", "piece.musicxml"),
        ("piece.krn", b"four score and seven", "**"),
        ("piece.abc", b"four score and seven", "X:"),
        ("piece.abc", b"X:1\nK:C\nCDEF|\n\nGABc|\n", "line 5"),
        ("piece.abc", b"X:1\nCDEF|\n", "K:"),
        ("piece.abc", b"X:1\nL:1/4\nK:C\nCD(3EF|\n", "line 4"),
        ("piece.abc", b"X:1\nL:1/4\nK:C _b ^f\nCDEF|\n", "line 3"),
        ("piece.abc", b"X:1\nL:1/4\nK:C clef=perc\nCDEF|\n", "percussion"),
    ],
)
def test_what_is_no_sheet_music_is_refused(tmp_path, name, content, part):
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(PieceError) as refusal:
        load_piece(path)
    assert str(path) in str(refusal.value)
    assert part in str(refusal.value)


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(PieceError, match=r"gone\.musicxml: No such file"):
        load_piece(tmp_path / "gone.musicxml")


def test_a_part_or_a_number_that_is_not_there_is_refused_with_the_choice():
    for part in ("4", "oboe", "", "1,1", "1,2,3", "1,oboe"):
        with pytest.raises(PieceError, match="1 Flute, 2 Cello, 3 Viola"):
            piece("duo.musicxml", part)
    with pytest.raises(PieceError, match="the last is 2"):
        piece("book.abc", number=3)


def test_one_of_several_pieces_can_be_chosen():
    assert lines(piece("book.abc", number=2))[0] == "1 1: G4"
    assert lines(piece("two-movements.mei", number=2)) == ["1 1: G4"]


def test_ids_are_those_of_the_file_or_else_the_same_each_time():
    assert [slot.notes[0].id for slot in piece("octave-line.mei").slots][:4] == list("abcd")
    first, second = (
        [note.id for slot in piece("repeats.musicxml").slots for note in slot.notes]
        for _ in range(2)
    )
    assert first == second
    assert len(set(first)) == len(first)


def test_titles_come_from_the_file_or_from_its_name():
    assert piece("repeats.musicxml").title == "Repeats"
    assert piece("double-bass.musicxml").title == "double-bass"
    assert piece("tune.abc").title == "A tune"


@pytest.fixture
def child(monkeypatch, tmp_path):
    """Another program in the place of the one that reads."""

    def become(source: str) -> None:
        path = tmp_path / "child.py"
        path.write_text(source, encoding="utf-8")
        monkeypatch.setattr(loading, "_CHILD", [sys.executable, str(path)])

    return become


def test_a_reading_that_breaks_off_is_a_message_and_not_the_end(child):
    """Verovio aborts on some files; the game goes on."""
    child("import os\nos.abort()\n")
    with pytest.raises(PieceError, match=r"repeats\.musicxml: reading it broke off; open it"):
        piece("repeats.musicxml")


def test_a_reading_that_hangs_is_given_up_and_told_meanwhile(child, monkeypatch):
    child("import time\ntime.sleep(60)\n")
    monkeypatch.setattr(loading, "_PATIENCE_S", 0.6)
    seen = []
    with pytest.raises(PieceError, match="takes too long to read"):
        load_piece(PIECES / "repeats.musicxml", wait=seen.append)
    assert seen == sorted(seen) != []


def test_a_reading_that_uses_the_processor_without_end_is_given_up(child):
    child("from game.pieces import child\nchild._limit('CPU', 1)\nwhile True:\n    pass\n")
    with pytest.raises(PieceError, match="takes too long to read"):
        piece("repeats.musicxml")


@pytest.mark.parametrize("limits", [True, False])
def test_a_reading_that_takes_all_memory_is_given_up(child, monkeypatch, limits):
    """Where a process cannot limit itself, the one that waits for it looks."""
    monkeypatch.setattr(loading, "_LIMITS", limits)
    child(
        "import json, sys, time\n"
        "from game.pieces import child\n"
        "def grow(*_):\n"
        "    held = []\n"
        "    for _ in range(200):\n"
        "        held.append(b'x' * 10_000_000)\n"
        "        time.sleep(0.01)\n"
        "    time.sleep(60)\n"
        "child._answer = grow\n"
        "child.main(*json.loads(sys.argv[1]))\n"
    )
    with pytest.raises(PieceError, match="takes more than 450 MB of memory"):
        piece("repeats.musicxml")


def test_without_music21_one_line_says_how_to_read_abc(child):
    child(
        "import json, sys\n"
        "sys.modules['music21'] = None\n"
        "from game.pieces import child\n"
        "child.main(*json.loads(sys.argv[1]))\n"
    )
    with pytest.raises(PieceError, match=r"pip install 'stavewise\[abc\]'") as refusal:
        piece("tune.abc")
    assert "\n" not in str(refusal.value)
    assert lines(piece("repeats.musicxml")) == REPEATS  # the rest needs no music21


def test_verovio_says_nothing_on_the_terminal(capfd):
    with pytest.raises(PieceError):
        piece("no-notes.musicxml")
    piece("ties.musicxml")  # "There are 1 ties left open"
    out, err = capfd.readouterr()
    assert (out, err) == ("", "")


def test_what_verovio_complains_of_is_kept():
    assert any("left open" in complaint for complaint in piece("ties.musicxml").complaints)
    assert piece("repeats.musicxml").complaints == ()
