# SPDX-License-Identifier: MIT
"""Where data are, with the Microsoft Store's Python, whose own folder no one sees; simulated."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pytest

from game.files import resources


@pytest.fixture
def hidden(tmp_path, monkeypatch) -> Path:
    """The folder that Explorer hides, under a home of our own."""
    usual = tmp_path / "AppData" / "Local" / "stavewise"
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(sys, "base_prefix", str(tmp_path / "WindowsApps" / "Python3.13"))
    monkeypatch.setattr(resources, "user_data_path", lambda *_args, **_more: usual)
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    return usual


def test_data_of_the_stores_python_are_moved_once_to_a_folder_that_is_seen(tmp_path, hidden):
    (hidden / "levels").mkdir(parents=True)
    (hidden / "stavewise.db").write_bytes(b"rounds")
    (hidden / "levels" / "mine.toml").write_bytes(b"level")
    assert resources.data_folder() == tmp_path / "Stavewise"
    assert not hidden.exists()
    assert (tmp_path / "Stavewise" / "stavewise.db").read_bytes() == b"rounds"
    assert (tmp_path / "Stavewise" / "levels" / "mine.toml").read_bytes() == b"level"
    hidden.mkdir()
    (hidden / "stavewise.db").write_bytes(b"of another program")
    assert resources.data_folder() == tmp_path / "Stavewise"
    assert (tmp_path / "Stavewise" / "stavewise.db").read_bytes() == b"rounds"


def test_data_that_cannot_be_moved_stay_and_are_used_where_they_are(tmp_path, hidden, monkeypatch):
    hidden.mkdir(parents=True)
    (hidden / "stavewise.db").write_bytes(b"rounds")

    def full(_from, to):
        Path(to).mkdir()
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(shutil, "copytree", full)
    assert resources.data_folder() == hidden
    assert (hidden / "stavewise.db").read_bytes() == b"rounds"
    assert not (tmp_path / "Stavewise").exists()


def test_any_other_python_keeps_them_where_the_system_says(tmp_path, hidden, monkeypatch):
    monkeypatch.setattr(sys, "base_prefix", str(tmp_path / "Programs" / "Python313"))
    assert resources.data_folder() == hidden
