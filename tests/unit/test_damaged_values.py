# SPDX-License-Identifier: MIT
"""A damaged value in a store: it is set aside or left out, and said; all else is there."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing

import fuzz_stores
import pytest
from store_builders import NOON, TERMS, play

from game.app.app import App, AppOptions
from game.cli import main
from game.rounds import Flip
from game.screens.reader.readers import Readers
from game.session.options import Options
from game.session.profiles import profile_of
from game.store import Store, StoreError


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    folder = tmp_path_factory.mktemp("whole")
    fuzz_stores.build(folder / "store.db")
    return folder


@pytest.fixture
def path(tmp_path, whole, alone):
    shutil.copytree(whole, tmp_path, dirs_exist_ok=True)
    return tmp_path / "store.db"


def change(path, statement: str, *values: object) -> None:
    with closing(sqlite3.connect(path)) as store, store:
        assert store.execute(statement, values).rowcount == 1


@pytest.mark.parametrize(
    "damaged", ['{"keys": 61', "[1, 2]", '{"volume": NaN}', '"\\ud83d"', "[" * 5000, b"\xff"]
)
def test_settings_are_as_at_first_and_what_they_were_is_kept_and_said(path, damaged):
    change(path, "UPDATE settings SET value = ? WHERE key = 'options'", damaged)
    app = App(AppOptions(store=str(path), size=(640, 480)))
    assert app.stage.settings.now == Options()
    app.first_screen()
    assert isinstance(app.go.screen, Readers)
    (notice,) = app.stage.notices
    assert "‘options’ is damaged" in notice and "‘damaged 1 options’" in notice
    app.stage.settings.save(Options(keys=49))
    app.stage.store.close()
    app.stage.sounds.player.close()
    with closing(sqlite3.connect(path)) as store:
        kept = dict(store.execute("SELECT key, value FROM settings WHERE reader = 0"))
    assert kept["damaged 1 options"] == damaged
    assert json.loads(kept["options"])["keys"] == 49


def test_a_profile_is_learnt_again_from_the_rounds_and_that_is_said(path):
    with Store.open(path) as store:
        known = profile_of(store, 1)
    change(path, "UPDATE settings SET value = ? WHERE key = 'profile'", '{"version": 1}')
    app = App(AppOptions(store=str(path), size=(640, 480)))
    app.stage.rounds.greet(app.stage.store.readers()[0])
    assert {*app.stage.sitting.profile.knowledge.signs} == {*known.knowledge.signs}
    assert any("‘profile’" in notice for notice in app.stage.notices)
    app.stage.store.close()
    app.stage.sounds.player.close()


BROKEN = [
    ("UPDATE records SET terms = '{' WHERE id = ?", "its terms are damaged"),
    ("UPDATE records SET terms = json_set(terms, '$.prompts', 1e12) WHERE id = ?", "its terms"),
    ("UPDATE records SET terms = json_remove(terms, '$.seed') WHERE id = ?", "its terms"),
    ("UPDATE records SET started = '2026-13-01' WHERE id = ?", "its beginning is damaged"),
    ("UPDATE events SET t = 'soon' WHERE seq = 3 AND record = ?", "an event has no time"),
    ("UPDATE events SET key = 300 WHERE kind = 'press' AND seq = 1 AND record = ?", "a press"),
    ("UPDATE events SET kind = 'leap' WHERE seq = 3 AND record = ?", "unknown kind 'leap'"),
]


@pytest.mark.parametrize(("statement", "why"), BROKEN)
def test_an_open_round_is_no_longer_offered_and_the_next_one_is(path, statement, why):
    with Store.open(path) as store:
        good = store.begin(1, TERMS, NOON)
        store.append(good, Flip(0.5))
        damaged = next(one.id for one in store.open_rounds(1) if one.id != good)
    change(path, statement, damaged)
    with Store.open(path) as store:
        assert [one.id for one in store.open_rounds(1)] == [good]
        (notice,) = store.notices
        assert f"Round {damaged} cannot go on" in notice and why in notice
        with pytest.raises(StoreError, match=why):
            store.record(damaged)
    with Store.open(path) as store:
        assert [one.id for one in store.open_rounds(1)] == [good]
        assert store.notices == (), "it is said once"


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE records SET score = 'high' WHERE id = 2",
        "UPDATE records SET mean_points = 'high', accuracy = NULL WHERE id = 2",
        "UPDATE records SET started = 'at noon' WHERE id = 2",
    ],
)
def test_a_finished_round_is_left_out_of_history_and_bests(path, statement, capsys):
    change(path, statement)
    with Store.open(path) as store:
        ids = [one.id for one in store.figures(1)]
        assert len(ids) == 7 and 2 not in ids
        assert 2 not in [one.id for one in store.records(1)]
        assert 2 not in [best.record_id for best in store.bests(1).values()]
        assert store.notices == ("Round 2 is damaged. It stays in the store, and is left out.",)
    assert main(["history", "Anna"]) == 0
    assert "Round 2 is damaged" in capsys.readouterr().err


def test_a_damaged_heat_is_left_out_and_the_others_are_there(path, capsys):
    with closing(sqlite3.connect(path)) as store:
        (uuid,) = store.execute("SELECT uuid FROM heats WHERE state = 'finished'").fetchone()
    change(path, "UPDATE heats SET setup = '[' WHERE uuid = ?", uuid)
    with Store.open(path) as store:
        assert store.school.heats() == ()
        assert len(store.school.open_heats()) == 1
        assert uuid in store.notices[0] and "left out" in store.notices[0]
    assert main(["heat", "list"]) == 0


def test_a_damaged_line_of_a_heat_is_named(path, capsys):
    change(
        path,
        "UPDATE heat_entries SET line = ? WHERE seq = 2 AND heat = "
        "(SELECT uuid FROM heats WHERE state = 'finished')",
        "[" * 5000,
    )
    assert main(["heat", "export", "last", str(path.with_name("out.json"))]) == 1
    assert "its line 2 is damaged" in capsys.readouterr().err


def test_a_byte_that_is_no_utf8_keeps_no_other_reader_from_the_page(path):
    change(path, "UPDATE readers SET name = CAST(? AS TEXT) WHERE id = 2", b"B\xffn")
    with Store.open(path) as store:
        assert [reader.name for reader in store.readers()] == ["Anna", "B\ufffdn"]


@pytest.mark.parametrize("number", [77, 1])
def test_the_number_of_the_form_is_corrected_by_the_one_that_alembic_has(path, number):
    change(path, "UPDATE stavewise SET version = ?", number)
    with Store.open(path) as store:
        assert len(store.readers()) == 2
        assert store.notices == ()


@pytest.mark.parametrize(
    ("was", "is_now"),
    [("stavewise", "stavewisd"), ("heats", "heatz"), ("mean_points", "mean_pointz")],
)
def test_a_damaged_name_in_the_schema_is_damage_and_no_other_programs_store(path, was, is_now):
    path.write_bytes(path.read_bytes().replace(was.encode(), is_now.encode()))
    with Store.open(path) as store:
        assert store.readers() == ()
        assert "was damaged" in store.notices[0]


def test_damage_that_is_met_in_use_is_looked_for_at_the_next_start(tmp_path, monkeypatch):
    monkeypatch.setattr("game.store.opening._ALWAYS_CHECKED", 0)
    path = tmp_path / "store.db"
    with Store.open(path) as store:
        reader = store.add_reader("Anna").id
        for _ in range(200):
            play(store, reader)
    with closing(sqlite3.connect(path)) as store:
        page = store.execute("PRAGMA page_size").fetchone()[0]
        (root,) = store.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'records'"
        ).fetchone()
    data = bytearray(path.read_bytes())
    data[(root - 1) * page : root * page] = b"\xa5" * page
    path.write_bytes(data)
    with Store.open(path) as store:
        assert store.notices == (), "not looked for in a large file"
        with pytest.raises(StoreError, match="damaged") as found:
            store.records(reader)
        assert "Start the game again" in found.value.mend
    with Store.open(path) as store:
        assert "was damaged" in store.notices[0], "so starting again does what it said"
        assert store.records(reader) == ()
    with Store.open(path) as store:
        assert store.notices == ()


def test_a_file_that_sqlite_complains_of_is_not_told_as_a_server(path):
    with Store.open(path) as store:
        with closing(sqlite3.connect(path)) as other:
            other.execute("ALTER TABLE classes RENAME TO klasses")
        with pytest.raises(StoreError) as found:
            store.school.classes()
        assert "damaged" in str(found.value) and "address" not in str(found.value)


@pytest.mark.timeout(0)  # each has an alarm of its own, and there is one only
def test_damaged_stores_are_opened_and_read_with_no_trace(tmp_path):
    """A few of what ``python tests/studies fuzz_stores`` does at length."""
    for what, found, memory in fuzz_stores.run(2026, 5, tmp_path):
        assert not found, f"{what}: {found[0]}"
        assert memory < fuzz_stores.MOST_MB + 500, "of the whole of this test process"
