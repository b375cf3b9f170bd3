# SPDX-License-Identifier: MIT
"""Verovio's fonts under a path that its narrow file names cannot say on Windows (simulated)."""

from __future__ import annotations

import shutil
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest
from builders import bar_of

from game.app.app import App, AppOptions
from game.app.shots import Shots
from game.engraving import Engraver, toolkit
from game.rounds import Terms

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


def test_each_thread_finds_the_fonts():
    here = Engraver().engrave(bar_of("F#4"))
    with ThreadPoolExecutor(1) as pool:
        assert pool.submit(lambda: Engraver().engrave(bar_of("F#4"))).result(30) == here


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


def test_music_that_cannot_be_drawn_is_a_page_with_the_mend_and_not_the_end(tmp_path, monkeypatch):
    app = App(AppOptions(store=str(tmp_path / "store.db"), size=(1024, 600)))
    app.stage.store.add_reader("Anna")
    app.stage.engraver = Engraver(tmp_path)  # where there are no fonts
    rung = app.stage.levels.ladder.find("grand-staff")
    app.stage.rounds.greet(app.stage.store.readers()[0])
    app.stage.rounds.begin(Terms.counted(rung.level, rung.text, 3, 6, app.stage.piano.compass))
    seen = []

    def passed(self, name, surface):
        seen.append(name)
        if name == "told":
            assert "force-reinstall verovio" in " ".join(app.go.screen._lines)
            app.go.screen.back()
        elif "told" in seen:
            app.stage.go.close()  # the start page is there again

    monkeypatch.setattr(Shots, "passed", passed)
    app.stage.settings.now = replace(app.stage.settings.now, motion="less")
    app.loop.run()
    assert "told" in seen
    app.stage.store.close()
    app.stage.sounds.player.close()
