# SPDX-License-Identifier: MIT
"""Levels of one's own: where they go, how they are checked, and what the commands say of them."""

from __future__ import annotations

import command_line
import pytest
from builders import level_text
from command_line import told

from game.cli import main


@pytest.fixture
def own(tmp_path, monkeypatch):
    folder = tmp_path / "own"
    monkeypatch.setenv("STAVEWISE_LEVELS", str(folder))
    return folder


def test_the_folder_is_made_and_named(own, capsys):
    assert main(["levels", "own"]) == 0
    assert capsys.readouterr().out.strip() == str(own)
    assert own.is_dir()


def test_a_level_put_there_is_on_the_ladder_after_those_of_the_game(own, capsys):
    before = told(capsys, "levels")["levels"]
    own.mkdir()
    (own / "mine.toml").write_text(level_text(id='"mine"'))
    assert [one["id"] for one in told(capsys, "levels")["levels"]] == [
        *(one["id"] for one in before),
        "mine",
    ]
    assert told(capsys, "deal", "mine", "--seed", 1)["level"] == "mine"


def test_one_of_a_stage_of_the_game_stands_with_that_stage(own, capsys):
    own.mkdir()
    (own / "mine.toml").write_text(level_text(id='"mine"', stage='"Around middle C"'))
    ids = [one["id"] for one in told(capsys, "levels")["levels"]]
    assert ids.index("mine") == ids.index("five-fingers-c") - 1


def test_an_id_of_the_game_is_a_fault_that_the_check_names(own, capsys):
    own.mkdir()
    file = own / "mine.toml"
    file.write_text(level_text(id='"grand-staff"'))
    (line,) = command_line.refused(capsys, "levels", "check")
    assert line.startswith(f"{file}: id: found 'grand-staff'")
    assert "one-note.toml" in line


def test_a_folder_that_cannot_be_made_is_said(own, capsys):
    own.write_text("a file")
    (line,) = command_line.refused(capsys, "levels", "own")
    assert "STAVEWISE_LEVELS" in line
