# SPDX-License-Identifier: MIT
"""What a store does not take is kept in a spare file on another disk, and taken in from there."""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from threading import Timer

import pytest
from store_builders import NOON, TERMS, play, result, script, until
from store_faults import full, locked, moved_away

from game.rounds import Flip, Press
from game.store import HeatEntry, RoundTaken, Store, StoreError, outbox, spool
from game.store.spool import Spool

PRESSES = tuple(Press(number / 7, 60) for number in range(400))


@pytest.fixture
def folders(tmp_path, monkeypatch):
    """The two places for a spare file."""
    made = tmp_path / "data", tmp_path / "temporary"
    for folder in made:
        folder.mkdir()
    monkeypatch.setattr(outbox, "FOLDERS", tuple(lambda _make, to=one: to for one in made))
    return made


@pytest.fixture
def path(tmp_path) -> Path:
    (tmp_path / "store").mkdir()
    return tmp_path / "store" / "s.db"


def begun(path: Path) -> tuple[Store, int]:
    """A store with a reader and a round just begun."""
    store = Store.open(path)
    return store, store.begin(store.add_reader("Anna").id, TERMS, NOON)


def spares(*folders: Path) -> list[Path]:
    return [file for folder in folders for file in folder.glob("for-store-*.db")]


@pytest.mark.parametrize(
    ("trouble", "words"), [(locked, "another program"), (full, "disk is full")]
)
def test_what_a_killed_game_could_not_keep_is_there_at_the_next_start(
    path, folders, trouble, words
):
    store, record = begun(path)
    played = [Flip(0.0)]
    assert store.append(record, Flip(0.0))
    with trouble(path):
        for press in PRESSES:
            assert store.append(record, press), "it is on a disk"
            played.append(press)
            if store.pending == 3:
                break
        assert (store.pending, store.unsaved) == (3, 0)
        (notice,) = store.notices
        (file,) = spares(*folders)
        assert words in notice and str(file) in notice and "memory" not in notice
        assert store.record(record).events == tuple(played)
    # Killed here: nothing is closed.
    with Store.open(path) as again:
        assert again.record(record).events == tuple(played)
        assert again.notices == ()
    with Store.open(path) as again:  # and it was not taken in twice
        assert again.record(record).events == tuple(played)


def test_a_store_that_another_program_holds_is_not_asked_at_each_press(path, folders, monkeypatch):
    store, record = begun(path)
    tries = []
    real = outbox.deliver
    monkeypatch.setattr(outbox, "deliver", lambda *a, **k: (tries.append(1), real(*a, **k))[1])
    with locked(path):
        for press in PRESSES[:60]:
            assert store.append(record, press)
        assert len(tries) < 20
        assert store.record(record).events == PRESSES[:60]
    until(lambda: store.pending == 0)
    store.close()
    with Store.open(path) as again:
        assert again.record(record).events == PRESSES[:60]


PLAYS = """
import sys
from game.rounds import Press
from game.store import Store
store = Store.open(sys.argv[1])
print("open", flush=True)
sys.stdin.readline()
for number in range(100_000):
    assert store.append(1, Press(number / 7, 60))
    print(number, flush=True)
"""


@pytest.mark.parametrize("held", [0, 30, 100])
def test_a_game_that_is_killed_has_kept_what_the_store_took_and_what_it_did_not(
    tmp_path, path, monkeypatch, held
):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    store, record = begun(path)
    store.close()
    child = script(PLAYS, path)
    with child.stdin, child.stdout:
        assert child.stdout.readline() == "open\n"
        with locked(path):
            child.stdin.write("go\n")
            child.stdin.flush()
            for _ in range(held):
                child.stdout.readline()
        while int(child.stdout.readline()) < 100:
            pass
        child.kill()
        acknowledged = 101 + child.stdout.read().count("\n")
        child.wait()
    with Store.open(path) as again:
        events = again.record(record).events
        # The last may be kept and not yet printed.
        assert acknowledged <= len(events) <= acknowledged + 1
        assert events == tuple(Press(number / 7, 60) for number in range(len(events)))
        assert again.notices == ()


def test_closing_a_game_leaves_it_in_the_file_until_there_is_room(path, folders):
    store, record = begun(path)
    with full(path):
        for press in PRESSES:
            store.append(record, press)
        waited = store.pending
        assert waited
        store.close()
        with Store.open(path) as again:  # still no room: it goes on waiting, and is seen
            assert (again.pending, again.unsaved) == (waited, 0)
            assert "disk is full" in again.notices[0]
            assert again.record(record).events == PRESSES
            assert again.open_rounds()[0].events == PRESSES
    with Store.open(path) as again:
        assert (again.pending, again.notices) == (0, ())
        assert again.append(record, Press(99.0, 61))
    with Store.open(path) as again:
        assert again.record(record).events == (*PRESSES, Press(99.0, 61))


def test_where_the_first_place_is_full_too_the_second_has_it(path, folders):
    folders[0].rmdir()
    store, record = begun(path)
    with locked(path):
        assert store.append(record, Flip(0.0))
    assert spares(folders[1])
    with Store.open(path) as again:
        assert again.record(record).events == (Flip(0.0),)


def test_where_no_place_takes_it_that_is_said_and_closing_refuses(path, folders):
    for folder in folders:
        folder.rmdir()
    store, record = begun(path)
    with locked(path):
        assert not store.append(record, Flip(0.0))
        assert store.unsaved == 1
        assert "memory only" in store.notices[0]
        with pytest.raises(StoreError, match="another program"):
            store.close()
    store.try_again()
    assert (store.pending, store.unsaved, store.waits) == (0, 0, None)
    store.close()


def test_once_kept_nothing_of_it_stays_in_the_spare_file(path, folders):
    store, record = begun(path)
    with locked(path):
        store.append(record, Press(0.125, 60, 64, "a child's piano"))
    store.finish(record, result(50))
    store.close()
    (file,) = spares(*folders)
    assert b"a child's piano" not in file.read_bytes()
    with closing(sqlite3.connect(file)) as seen:
        assert seen.execute("SELECT count(*) FROM waiting").fetchone() == (0,)


def test_a_fresh_store_in_the_old_ones_place_gets_nothing_of_it(path, folders):
    """Its rounds have the same numbers."""
    store, record = begun(path)
    with locked(path):
        store.append(record, Press(1.0, 99))
        store.close()
    path.rename(path.with_name("old.db"))
    fresh, other = begun(path)
    assert other == record
    assert fresh.record(other).events == ()
    fresh.close()
    path.unlink()
    path.with_name("old.db").rename(path)
    with Store.open(path) as again:
        assert again.record(record).events == (Press(1.0, 99),)


def test_a_stick_pulled_out_and_put_in_again_gets_what_was_played_meanwhile(path, folders):
    store, record = begun(path)
    with moved_away(path):
        assert store.append(record, Flip(0.0))
        store.close()
    with Store.open(path) as again:
        assert again.record(record).events == (Flip(0.0),)


@pytest.mark.parametrize("there", [False, True])
def test_a_spool_that_another_game_is_just_opening_is_waited_for(tmp_path, there):
    path = tmp_path / "spool.db"
    if there:
        Spool(path).close()
    other = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN EXCLUSIVE")
    release = Timer(0.5, other.close)
    release.start()
    try:
        with closing(Spool(path)) as opened:
            assert opened.count() == 0
    finally:
        release.join()


@contextmanager
def gone_on_elsewhere(path: Path, record: int) -> Iterator[None]:
    """Another copy holds the store, and has gone on with the round when it lets go."""
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("INSERT INTO events VALUES (?, 0, 'flip', 0.5, NULL, NULL, NULL)", [record])
        other.execute("COMMIT")


def test_what_came_second_is_kept_apart_and_the_next_game_is_told(path, folders):
    store, record = begun(path)
    with gone_on_elsewhere(path, record):
        store.append(record, Press(1.0, 60))
        store.close()
    with Store.open(path) as again:
        assert again.record(record).events == (Flip(0.5),)
        assert "gone on with round" in again.notices[0]
    with Store.open(path) as again:
        assert again.notices == ()


def test_the_one_who_plays_on_is_told_that_another_has_gone_on(path, folders):
    store, record = begun(path)
    with gone_on_elsewhere(path, record):
        store.append(record, Press(1.0, 60))
    until(lambda: store.pending == 0)
    with pytest.raises(RoundTaken):
        store.append(record, Press(2.0, 60))
    store.close()
    with Store.open(path) as again:
        assert again.record(record).events == (Flip(0.5),)


def test_a_discarded_rounds_answers_do_not_come_back(path, folders):
    store, record = begun(path)
    with locked(path):
        store.append(record, Flip(0.0))
    with locked(path):
        store.close()
        with pytest.raises(StoreError):
            Store.open(path)
    with Store.open(path) as again:
        assert again.record(record).events == (Flip(0.0),)
    store, record = begun_again(path)
    with locked(path):
        store.append(record, Flip(0.0))
        with pytest.raises(StoreError):
            store.discard(record)
        store.close()
    with Store.open(path) as again:
        assert again.record(record).events == ()


def begun_again(path: Path) -> tuple[Store, int]:
    store = Store.open(path)
    return store, store.begin(store.readers()[0].id, TERMS, NOON)


def test_a_store_that_takes_everything_makes_nothing_elsewhere(path, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    store, record = begun(path)
    store.append(record, Flip(0.0))
    store.close()
    assert [one.name for one in tmp_path.iterdir()] == ["store"]


def test_a_heats_lines_are_kept_likewise(path, folders):
    store = Store.open(path)
    store.school.begin_heat("5b-1", {}, NOON)
    with locked(path):
        store.school.append_heat_entries("5b-1", [HeatEntry(0, '{"t": 1.5}', "ab12")])
        assert (store.pending, store.unsaved) == (1, 0)
    with Store.open(path) as again:
        assert [entry.line for entry in again.school.heat("5b-1").entries] == ['{"t": 1.5}']


def test_a_broken_spare_file_keeps_nobody_from_playing(path, folders):
    store, record = begun(path)
    with locked(path):
        store.append(record, Flip(0.0))
        store.close()
    (file,) = spares(folders[0])
    file.write_bytes(b"no database at all " * 99)
    with Store.open(path) as again, locked(path):
        assert "kept as" in again.notices[0]
        assert again.append(record, Flip(0.0))
        assert (again.pending, again.unsaved) == (1, 0)
    with Store.open(path) as again:
        assert again.record(record).events == (Flip(0.0),)
        play(again, again.add_reader("Ben").id)


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="this system has no users' numbers")
def test_in_the_folder_for_all_users_only_a_folder_of_ones_own_is_used(tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    mine = spool._temporary(True)
    assert mine.parent == tmp_path and stat.S_IMODE(mine.stat().st_mode) == 0o700
    mine.chmod(0o777)
    with pytest.raises(PermissionError):
        spool._temporary(True)
    mine.rmdir()
    mine.symlink_to(tmp_path)
    with pytest.raises(PermissionError):
        spool._temporary(True)
