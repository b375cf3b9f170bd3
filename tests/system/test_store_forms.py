# SPDX-License-Identifier: MIT
"""Stores of older games are brought forward with nothing lost, or left as they were."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import create_engine
from store_builders import NOON, TERMS, at_once, filled_form_1, play, stores_engine

from game.rounds import Flip, Press
from game.store import RoundState, Store, StoreError, schema, tables


def clock() -> datetime:
    return datetime(2026, 3, 1, 9, 8, 7, tzinfo=UTC)


COPY = "store.db.form-1-20260301-090807"


@pytest.fixture
def old(tmp_path: Path) -> Path:
    path = tmp_path / "store.db"
    filled_form_1(path)
    return path


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def dump(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as other:
        return list(other.iterdump())


def test_what_an_older_game_kept_is_all_there_and_the_round_goes_on(old):
    with Store.open(old, clock) as store:
        assert [(r.id, r.name, r.archived) for r in store.readers(True)] == [
            (1, "Ольга", False),
            (2, "Ben", True),
        ]
        assert store.get_setting("names", None, 1) == "german"
        (finished,) = store.records(1)
        assert (finished.terms, finished.started) == (TERMS, NOON)
        assert (finished.result.mean_points, finished.result.median_s) == (-12.5, None)
        (broken_off,) = store.open_rounds(1)
        assert broken_off.events == (Flip(0.25), Press(1.5, 61, 70, "ピアノ"))
        assert store.append(broken_off.id, Press(2.5, 60))
        assert store.record(broken_off.id).events[2:] == (Press(2.5, 60),)
        assert play(store, 1) == 3
        assert store.record(1).state is RoundState.FINISHED


def test_the_store_is_copied_before_and_the_notice_names_the_copy(old):
    before = dump(old)
    with Store.open(old, clock) as store:
        (notice,) = store.notices
        assert str(old.with_name(COPY)) in notice
    assert dump(old.with_name(COPY)) == before
    with Store.open(old, clock) as store:  # once
        assert store.notices == ()
    assert names(old.parent) == ["store.db", COPY]


def test_no_earlier_copy_is_overwritten(old):
    old.with_name(COPY).write_text("precious")
    Store.open(old, clock).close()
    assert old.with_name(COPY).read_text() == "precious"
    assert old.with_name(COPY + "-2").is_file()


def test_what_the_older_game_had_only_in_its_log_is_copied_and_kept(old):
    """The older game was killed: its last event stands in the -wal file alone."""
    with closing(sqlite3.connect(old)) as game:
        game.execute("INSERT INTO events VALUES (2, 2, 'flip', 9.5, NULL, NULL, NULL)")
        game.commit()
        assert old.with_name("store.db-wal").stat().st_size > 0
        with Store.open(old, clock) as store:
            assert store.record(2).events[-1] == Flip(9.5)
    assert any("9.5" in line for line in dump(old.with_name(COPY)))


@pytest.mark.parametrize("fails", ["ALTER TABLE nowhere ADD COLUMN x", "INSERT INTO readers"])
def test_a_step_that_fails_leaves_the_store_as_it_was(old, tmp_path, monkeypatch, fails):
    scripts = shutil.copytree(schema.SCRIPTS, tmp_path / "elsewhere" / "migrations")
    (scripts / "versions" / "form_4.py").write_text(
        "from alembic import op\nrevision, down_revision = '4', '3'\n"
        "def upgrade():\n"
        "    op.execute('ALTER TABLE readers ADD COLUMN nickname TEXT')\n"
        "    op.execute('UPDATE stavewise SET version = 4')\n"
        f"    op.execute('{fails}')\n"
    )
    monkeypatch.setattr(schema, "SCRIPTS", scripts)
    before = dump(old)
    with pytest.raises(StoreError) as caught:
        Store.open(old, clock)
    assert str(old) in str(caught.value)
    assert dump(old) == before
    assert names(tmp_path) == ["elsewhere", "store.db"]
    monkeypatch.undo()
    with Store.open(old, clock) as store:
        assert len(store.readers()) == 1


def test_no_room_for_the_copy_leaves_the_store_as_it_was(old, monkeypatch):
    before = dump(old)

    def full(path: Path, target: Path) -> None:
        target.write_text("half a copy")
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(schema, "_copy", full)
    with pytest.raises(StoreError, match="disk is full"):
        Store.open(old, clock)
    assert dump(old) == before
    assert names(old.parent) == ["store.db"]


def test_copies_that_start_at_once_bring_a_store_forward_once(old):
    code = (
        "import sys\nfrom game.store import Store\nprint('ready', flush=True)\n"
        "sys.stdin.readline()\n"
        "with Store.open(sys.argv[1]) as store: print(*store.notices)\n"
    )
    said = at_once(code, *[(old,)] * 3)
    assert len([words for words in said if "new form" in words]) == 1
    assert len(names(old.parent)) == 2


def test_a_damaged_older_store_is_kept_aside_not_brought_forward(old):
    damaged = bytearray(old.read_bytes())
    page = int.from_bytes(damaged[16:18], "big")  # sqlite.org/fileformat2.html, section 1.3
    damaged[2 * page : 4 * page] = b"\xa5" * (2 * page)
    old.write_bytes(damaged)
    with Store.open(old, clock) as store:
        assert store.readers() == ()
        assert "damaged" in store.notices[0]
    aside = old.with_name("store.db.damaged-20260301-090807")
    assert aside.read_bytes() == bytes(damaged)


def test_a_store_brought_forward_is_the_same_as_a_fresh_one(stores_url):
    """Alembic's own comparison finds nothing to change, from any form on."""
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    with stores_engine(stores_url) as engine, engine.begin() as connection:
        schema.bring_forward(connection, None)
        context = MigrationContext.configure(
            connection, opts={"version_table": "stavewise_alembic", "compare_type": True}
        )
        assert compare_metadata(context, tables.METADATA) == []
    with Store.open(stores_url) as store:
        play(store, store.add_reader("Anna").id)
    with stores_engine(stores_url) as engine, engine.connect() as connection:
        found = connection.exec_driver_sql("SELECT version_num FROM stavewise_alembic").all()
        form = connection.exec_driver_sql("SELECT version FROM stavewise").all()
    assert (found, form) == ([(str(tables.FORM),)], [(tables.FORM,)])


def test_a_fresh_store_will_be_found_by_the_next_script(tmp_path, monkeypatch):
    path = tmp_path / "store.db"
    with Store.open(path) as store:
        store.add_reader("Anna")
    scripts = shutil.copytree(schema.SCRIPTS, tmp_path / "elsewhere" / "migrations")
    (scripts / "versions" / "form_4.py").write_text(
        "from alembic import op\nrevision, down_revision = '4', '3'\n"
        "def upgrade():\n"
        "    op.execute('ALTER TABLE readers ADD COLUMN nickname TEXT')\n"
        "    op.execute('UPDATE stavewise SET version = 4')\n"
    )
    monkeypatch.setattr(schema, "SCRIPTS", scripts)
    monkeypatch.setattr(schema, "FORM", 4)
    for _ in range(2):
        with Store.open(path) as store:
            assert [reader.name for reader in store.readers()] == ["Anna"]
    monkeypatch.undo()
    with pytest.raises(StoreError, match="newer Stavewise"):
        Store.open(path)


def test_a_store_of_this_form_opens_without_alembic(tmp_path):
    code = (
        "import sys\nfrom game.store import Store\n"
        f"for _ in range(2): Store.open({str(tmp_path / 'store.db')!r}).close()\n"
        "sys.exit('alembic' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_the_copy_is_a_store_that_can_be_used(old):
    Store.open(old, clock).close()
    engine = create_engine(f"sqlite:///{old.with_name(COPY)}")
    with engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM events").scalar() == 2
    engine.dispose()
    with Store.open(old.with_name(COPY)) as store:
        assert len(store.readers()) == 1
