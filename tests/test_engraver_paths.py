# SPDX-License-Identifier: MIT
"""Verovio's fonts under a path that its narrow file names cannot say on Windows (simulated)."""

from __future__ import annotations

import shutil
from importlib.resources import files
from pathlib import Path

import pytest
from builders import bar_of

from game.engraving import Engraver, toolkit

FONTS = Path(str(files("verovio") / "data"))


@pytest.fixture
def shared(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("ProgramData", str(tmp_path / "ProgramData"))
    return tmp_path / "ProgramData"


@pytest.fixture(params=["Müller", "Zoé", "Łukasz", "李"])
def folder(request, tmp_path) -> Path:
    return Path(shutil.copytree(FONTS, tmp_path / request.param / "data"))


def test_fonts_of_a_user_with_any_name_are_copied_where_they_can_be_read(folder, shared):
    found = toolkit.plainly_named(folder, "6.4")
    assert str(found).isascii()
    assert found.is_relative_to(shared)
    assert Engraver(found).engrave(bar_of("F#4")) == Engraver(FONTS).engrave(bar_of("F#4"))


def test_copy_is_made_once_for_each_verovio(folder, shared):
    first = toolkit.plainly_named(folder, "6.4")
    mark = first / "mark"
    mark.touch()
    assert toolkit.plainly_named(folder, "6.4") == first
    assert mark.exists()
    assert toolkit.plainly_named(folder, "7.0") != first


def test_copy_that_was_broken_off_is_not_taken_for_a_whole_one(folder, shared, monkeypatch):
    def full(*_args, **_more):
        (shared / "half").mkdir(parents=True)
        raise OSError(28, "No space left on device", str(shared))

    with monkeypatch.context() as patched:
        patched.setattr(toolkit.shutil, "copytree", full)
        with pytest.raises(OSError, match="No space"):
            toolkit.plainly_named(folder, "6.4")
    assert (toolkit.plainly_named(folder, "6.4") / "Bravura.xml").is_file()


def test_short_name_is_taken_where_the_disk_keeps_one(folder, shared, monkeypatch):
    monkeypatch.setattr(toolkit, "_short", lambda _path: r"C:\Users\MLLER~1\data")
    assert str(toolkit.plainly_named(folder, "6.4")) == r"C:\Users\MLLER~1\data"
    assert not shared.exists()


def test_plain_path_is_left_as_it_is(tmp_path, shared):
    assert toolkit.plainly_named(tmp_path, "6.4") == tmp_path
    assert not shared.exists()
