# SPDX-License-Identifier: MIT
"""stavewise progress: text, a page, tables; what it refuses; what takes long is said."""

from __future__ import annotations

import csv
import time
from datetime import UTC, datetime, timedelta

import pytest
from command_line import python, refused
from progress_builders import practised

from game.cli import main
from game.paper.progress_csv import FILES
from game.store import Store

pytestmark = pytest.mark.usefixtures("alone")


@pytest.fixture
def anna(tmp_path):
    with Store.open() as store:
        store.add_reader("Ben")
        reader = store.add_reader("Anna")
        practised(store, reader.id, datetime.now(UTC) - timedelta(days=5), days=6)
    return reader


def told(capsys, *argv: object) -> str:
    assert main(["progress", *map(str, argv)]) == 0
    return capsys.readouterr().out


def test_the_text_says_what_is_known(anna, capsys):
    out = told(capsys, "anna")  # capitals aside
    assert out.splitlines()[0] == "Anna"
    assert "You read on" in out
    assert "Misreads" in out
    assert "C4  1st ledger line below the staff, treble" in out


def test_a_reader_with_nothing_is_no_error(anna, capsys):
    assert "Nothing has been read yet" in told(capsys, "Ben")


def test_the_page_and_the_tables_are_written_side_by_side(anna, capsys, tmp_path):
    page, folder = tmp_path / "deep" / "anna.html", tmp_path / "tables"
    out = told(capsys, "Anna", "--html", page, "--csv", folder)
    assert str(page) in out
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert {path.name for path in folder.iterdir()} == set(FILES)
    with (folder / "rounds.csv").open(encoding="utf-8-sig", newline="") as file:
        assert len(list(csv.DictReader(file))) == 8  # two a day, two days missed


def test_names_of_notes_can_be_chosen(anna, capsys):
    assert "do4" in told(capsys, "Anna", "--names", "fixed-do")


def test_nothing_is_written_over_unless_asked_for(anna, capsys, tmp_path):
    page = tmp_path / "anna.html"
    page.write_text("mine")
    [said] = refused(capsys, "progress", "Anna", "--html", page)
    assert "--force" in said
    assert page.read_text() == "mine"
    told(capsys, "Anna", "--html", page, "--force")
    folder = tmp_path / "tables"
    folder.mkdir()
    (folder / "signs.csv").write_text("mine")
    [said] = refused(capsys, "progress", "Anna", "--csv", folder)
    assert "signs.csv" in said
    assert [path.name for path in folder.iterdir()] == ["signs.csv"]


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (["progress"], "READER"),
        (["progress", "Carla"], "there are Ben, Anna"),
        (["progress", "Anna", "--html", "anna.pdf"], ".html"),
        (["progress", "Anna", "--names", "klingon"], "klingon"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(anna, capsys, argv, words):
    [said] = refused(capsys, *argv)
    assert words in said


def test_a_folder_that_is_a_file_is_refused(anna, capsys, tmp_path):
    (tmp_path / "file").write_text("")
    [said] = refused(capsys, "progress", "Anna", "--csv", tmp_path / "file")
    assert "folder" in said


def test_without_a_reader_at_all_it_says_what_to_do(capsys):
    [said] = refused(capsys, "progress", "Anna")
    assert "play first" in said


def test_what_takes_long_is_said(anna, capsys, monkeypatch):
    from game.session import profiles

    quick = profiles.progress_of

    def slow(*args):
        time.sleep(1.3)
        return quick(*args)

    monkeypatch.setattr(profiles, "progress_of", slow)
    assert main(["progress", "Anna"]) == 0
    out, err = capsys.readouterr()
    assert "looking through the rounds of Anna" in err
    assert "Anna" in out


def test_it_runs_as_a_program_without_a_window(anna, tmp_path):
    done = python("progress", "Anna", DISPLAY="", SDL_VIDEODRIVER="nothing")
    assert done.returncode == 0, done.stderr
    assert "Anna" in done.stdout
