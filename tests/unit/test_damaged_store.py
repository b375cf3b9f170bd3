# SPDX-License-Identifier: MIT
"""A damaged store: a command refuses it as it is; the game keeps it aside and says so."""

from __future__ import annotations

import pytest
from command_line import refused

from game.app.app import App, AppOptions
from game.screens.reader.welcome import Welcome
from game.store import Store

COMMANDS = [
    ["progress", "Anna"],
    ["history", "Anna"],
    ["judge", "--record", "1"],
    ["record", "export", "1", "out.json"],
    ["class", "list"],
    ["class", "import", "list.csv"],
    ["class", "export", "5b"],
    ["class", "archive", "5b"],
    ["heat", "list"],
    ["heat", "export", "last", "out.json"],
]


@pytest.fixture(params=["garbage", "cut"])
def damaged(request, tmp_path, monkeypatch, alone):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text("name\nBen\n", encoding="utf-8")
    path = tmp_path / "store.db"
    with Store.open(path) as store:
        store.add_reader("Anna")
    whole = path.read_bytes()
    path.write_bytes(b"shopping list\n" * 99 if request.param == "garbage" else whole[:5000])
    return path


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: " ".join(command[:2]))
def test_a_command_says_so_and_leaves_it_as_it_is(damaged, tmp_path, capsys, command):
    before = damaged.read_bytes()
    (line,) = refused(capsys, *command)
    assert str(damaged) in line and "nothing was changed" in line and "Start the game" in line
    assert damaged.read_bytes() == before
    assert not [path for path in tmp_path.iterdir() if "damaged" in path.name]
    assert not (tmp_path / "out.json").exists()


def test_the_game_opened_on_it_afterwards_says_so_on_its_first_page(damaged, capsys, monkeypatch):
    refused(capsys, "progress", "Anna")
    app = App(AppOptions(store=str(damaged), size=(1024, 600)))
    words = []
    kind = type(app.stage.window.canvas)
    real = kind.text
    monkeypatch.setattr(
        kind, "text", lambda c, text, *a, **k: (words.append(text), real(c, text, *a, **k))[1]
    )
    app.first_screen()
    assert isinstance(app.go.screen, Welcome)
    app.go.screen.draw(app.stage.window.canvas)
    said = " ".join(words)
    assert "was damaged" in said and "a fresh one was begun" in said
    app.stage.store.close()
    app.stage.sounds.player.close()
