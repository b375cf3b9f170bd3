# SPDX-License-Identifier: MIT
"""Where a round that plays itself is kept, and as whose."""

from __future__ import annotations

import pytest
from command_line import level_file

from game.app.app import App, AppOptions, RobotSettings
from game.levels import read_level
from game.store import Store


@pytest.fixture
def robot(monkeypatch, tmp_path):
    """The game with a robot, its first page shown; the usual place is in this folder too."""
    monkeypatch.setenv("STAVEWISE_MIDI", "none")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    rung = read_level(tmp_path / level_file(tmp_path))
    opened = []

    def play(place: str | None) -> App:
        app = App(AppOptions(rung=rung, count=1, robot=RobotSettings(), store=place))
        opened.append(app)
        app.first_screen()
        return app

    yield play
    for app in opened:
        app.stage.store.close()
        app.stage.sounds.player.close()


@pytest.mark.parametrize("said", ["variable", "option"])
def test_a_robots_round_is_kept_where_it_is_said_and_not_as_a_persons(
    robot, monkeypatch, tmp_path, said
):
    place = str(tmp_path / "store.db")
    with Store.open(place) as store:
        store.add_reader("Ada")
    if said == "variable":
        monkeypatch.setenv("STAVEWISE_STORE", place)
    for _ in range(2):
        app = robot(place if said == "option" else None)
        assert app.stage.sitting.reader.name == "Robot"
        app.stage.store.close()
    with Store.open(place) as store:
        ada, other = store.readers()
        assert (ada.name, other.name) == ("Ada", "Robot")
        assert store.records(ada.id, state=None) == ()
        assert len(store.records(other.id, state=None)) == 2


def test_a_robots_round_is_kept_nowhere_where_nothing_is_said(robot, monkeypatch, tmp_path):
    monkeypatch.delenv("STAVEWISE_STORE", raising=False)
    before = {*tmp_path.rglob("*")}
    robot(None)
    assert {path for path in tmp_path.rglob("*") if path.suffix == ".db"} <= before
