# SPDX-License-Identifier: MIT
"""What is kept of readers is their own: nobody else on the computer can read its files."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from store_builders import NOON, TERMS, filled_form_1
from store_faults import moved_away
from teacher import Teacher

from game.app.app import App, AppOptions
from game.cli import main
from game.rounds import Flip, Press
from game.screens.school.heat_result import HeatResult
from game.store import Store, outbox

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no modes of files there")


@pytest.fixture(autouse=True)
def usual_umask() -> Iterator[None]:
    before = os.umask(0o022)
    yield
    os.umask(before)


def open_to_others(folder: Path) -> list[str]:
    """What in a folder others may use in any way."""
    every = [path for path in folder.rglob("*") if path.lstat().st_mode & 0o077]
    return sorted(str(path.relative_to(folder)) for path in every)


def test_a_store_and_what_lies_beside_it(tmp_path):
    path = tmp_path / "store.db"
    with Store.open(path) as store:
        store.add_reader("Anna")
        assert len(list(tmp_path.iterdir())) == 3, "the log and its index are there"
        assert open_to_others(tmp_path) == []
    path.write_bytes(b"a shopping list" * 99)
    with Store.open(path):
        assert open_to_others(tmp_path) == []
    assert len(list(tmp_path.iterdir())) == 2, "what was damaged is kept aside"


def test_an_older_store_is_closed_to_others_and_so_is_its_copy(tmp_path):
    path = tmp_path / "store.db"
    filled_form_1(path)
    path.chmod(0o664)
    with Store.open(path):
        assert open_to_others(tmp_path) == []
    assert len(list(tmp_path.iterdir())) == 2


def test_the_folder_of_the_usual_store(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.delenv("STAVEWISE_STORE", raising=False)
    (tmp_path / "stavewise").mkdir()  # as older games made it
    with Store.open():
        assert open_to_others(tmp_path) == []


def test_a_spare_file(tmp_path, monkeypatch):
    folder = tmp_path / "other disk"
    folder.mkdir(0o700)
    monkeypatch.setattr(outbox, "FOLDERS", (lambda _make: folder,))
    path = tmp_path / "store" / "store.db"
    path.parent.mkdir(0o700)
    store = Store.open(path)
    record = store.begin(store.add_reader("Anna").id, TERMS, NOON)
    with moved_away(path):
        assert store.append(record, Flip(0.0))
        assert list(folder.iterdir())
        assert open_to_others(tmp_path) == []
        store.close()


def test_what_waits_for_a_server(postgres_url, tmp_path):
    with Store.open(postgres_url) as store:
        record = store.begin(store.add_reader("Anna").id, TERMS, NOON)
        store.append(record, Press(1.0, 60))
        assert list((tmp_path / "data" / "stavewise").glob("for-server-*"))
        assert open_to_others(tmp_path / "data") == []


def test_the_files_of_a_heat_and_its_papers(tmp_path, monkeypatch):
    documents = tmp_path / "documents"
    documents.mkdir(0o700)
    (documents / "Stavewise").mkdir()  # as older games made it
    monkeypatch.setenv("XDG_DOCUMENTS_DIR", str(documents))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    teacher = Teacher(App(AppOptions(store=str(tmp_path / "store.db"), size=(1024, 600))))
    teacher.plug("Piano")
    teacher.new_class("3b", "Zoë", "Mia")
    teacher.click_on("export")
    teacher.begin(prompts=6)
    teacher.start()
    teacher.answer_seat(1, "Piano")
    teacher.screen.asks.sure = lambda _key: True
    teacher.screen.results()
    teacher.look()
    assert isinstance(teacher.screen, HeatResult)
    teacher.click_on("page")
    teacher.stage.store.close()
    teacher.stage.sounds.player.close()
    written = [path for path in documents.rglob("*") if path.is_file()]
    for path in written:
        named = path.suffix == ".pdf" or "Zoë".encode() in path.read_bytes()
        assert (" with names." in path.name) is named, "what has names says so, and nothing else"
    assert {path.suffix for path in written} == {".csv", ".html", ".json", ".pdf"}
    (papers,) = {path.parent for path in documents.rglob("*.pdf")}
    assert papers.name.endswith(" with names")
    assert open_to_others(documents) == []


def test_what_a_command_writes(tmp_path, monkeypatch, alone):
    with Store.open(tmp_path / "store.db") as store:
        store.add_reader("Anna")
    out = tmp_path / "out"
    out.mkdir(0o700)
    page, tables = out / "anna.html", out / "tables"
    assert main(["progress", "Anna", "--html", str(page), "--csv", str(tables)]) == 0
    assert page.exists() and tables.is_dir()
    assert open_to_others(out) == []
