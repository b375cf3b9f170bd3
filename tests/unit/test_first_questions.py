# SPDX-License-Identifier: MIT
"""What a first-time user asks of the commands, and how a wrong question is answered."""

from __future__ import annotations

import pytest
from command_line import refused, told
from store_builders import NOON, minutes, play, result

from game.app.app import App, AppOptions
from game.cli import main
from game.paper.history import HistoryReport, best_words
from game.pieces import load_piece
from game.rounds import Flip, Press, Stop, Terms
from game.screens.reader.piece import PieceOffer
from game.session.records import histories_of
from game.store import Store

TUNE = "X:1\nT:A tune\nM:4/4\nL:1/4\nK:C\nCDEF|GABc|\n"


@pytest.fixture
def folder(tmp_path, monkeypatch, alone):
    """The user's folder, with a store of their own."""
    monkeypatch.setenv("STAVEWISE_LEVELS", str(tmp_path / "levels"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "tune.abc").write_text(TUNE, encoding="utf-8")
    return tmp_path


@pytest.fixture
def opened(monkeypatch):
    """How often the game was opened."""
    times = []
    monkeypatch.setattr("game.app.app.run", lambda how: times.append(how) or 0)
    return times


# Pieces


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("nope.musicxml", None, "nope.musicxml"),
        ("bad.musicxml", "<x/>", "bad.musicxml"),
        ("two.abc", TUNE + "\n" + TUNE.replace("X:1", "X:2"), "stavewise levels from"),
        ("empty.mei", "", "empty.mei"),
    ],
)
def test_a_piece_that_cannot_be_read_is_refused_before_a_window_opens(
    folder, capsys, opened, name, content, words
):
    if content is not None:
        (folder / name).write_text(content, encoding="utf-8")
    lines = refused(capsys, "play", name)
    assert words in " ".join(lines)
    assert opened == []


def test_a_piece_that_can_be_read_opens_the_game(folder, opened):
    assert main(["play", "tune.abc"]) == 0
    assert opened[0].piece.name == "tune.abc"


@pytest.mark.parametrize("readers", [[], ["Anna", "Ben"]])
def test_the_start_page_names_the_piece(folder, readers, monkeypatch):
    with Store.open() as store:
        for name in readers:
            store.add_reader(name)
    app = App(AppOptions(store=str(folder / "store.db"), piece=folder / "tune.abc"))
    app.first_screen()
    words = []
    kind = type(app.stage.window.canvas)
    real = kind.text
    monkeypatch.setattr(
        kind, "text", lambda c, text, *a, **k: (words.append(text), real(c, text, *a, **k))[1]
    )
    app.go.screen.draw(app.stage.window.canvas)
    assert "tune.abc" in " ".join(words)
    app.stage.store.close()
    app.stage.sounds.player.close()


def test_a_hand_is_offered_only_where_both_have_something_to_read(folder):
    two = "X:1\nT:Two\nM:4/4\nL:1/4\nK:C\n%%score {1 2}\nV:1\nCDEF|\nV:2 clef=bass\nC,D,E,F,|\n"
    (folder / "two.abc").write_text(two, encoding="utf-8")
    app = App(AppOptions(store=str(folder / "store.db")))
    for name, offered in (("tune.abc", False), ("two.abc", True)):
        app.go.screen = PieceOffer(app.stage, name, load_piece(folder / name))
        app.go.screen.draw(app.stage.window.canvas)
        assert ("hand" in {one.id for one in app.go.screen.controls}) is offered
    app.stage.store.close()
    app.stage.sounds.player.close()


def test_a_midi_file_is_told_to_have_no_notation(folder, capsys, opened):
    for name in ("tune.mid", str(folder / "tune.MIDI")):
        (line,) = refused(capsys, "play", name)
        assert "no notation" in line and ".musicxml" in line and ".abc" in line
    (folder / "notes.txt").write_text("C D E", encoding="utf-8")
    (line,) = refused(capsys, "play", "notes.txt")
    assert ".musicxml" in line
    assert opened == []


# Levels


def test_only_near_levels_are_called_near(folder, capsys):
    (line,) = refused(capsys, "deal", "nosuch", "--seed", "1")
    assert "nearest" not in line and "'stavewise levels'" in line
    (line,) = refused(capsys, "deal", "grand-staf", "--seed", "1")
    assert "nearest: grand-staff" in line


# The command line itself


def test_an_option_of_play_without_play_shows_the_whole_command(folder, capsys, opened):
    (line,) = refused(capsys, "--size", "1280x720", "tune.abc")
    assert line.endswith("stavewise play --size 1280x720 tune.abc")
    (line,) = refused(capsys, "--nonsense")
    assert "play" not in line
    assert opened == []


@pytest.mark.parametrize(
    "command", [["class", "archive", "5b"], ["sheet", "grand-staff", "--out", "a.pdf"]]
)
def test_an_unknown_option_points_to_the_help_of_its_own_command(folder, capsys, command):
    (line,) = refused(capsys, *command, "--sideways")
    named = command[:2] if command[0] == "class" else command[:1]
    assert "--sideways" in line and f"'stavewise {' '.join(named)} --help'" in line


# JSON


@pytest.fixture
def played(folder):
    """Anna's store: a whole round, a better endless one a week later, and a discarded one."""
    with Store.open() as store:
        anna = store.add_reader("Anna").id
        play(store, anna)
        store.discard(store.begin(anna, Terms("treble-lines", "x", 1, 4), NOON))
    return folder


def test_history_as_json_has_every_round_and_its_week(played, capsys):
    found = told(capsys, "history", "Anna")
    (level,) = found["levels"]
    (one,) = level["rounds"]
    assert found["reader"] == "Anna"
    assert (one["round"], one["started"]) == (1, NOON.isoformat())
    assert level["weeks"] == [{"week": "2026-W09", "rounds": 1, "best": 1}]
    assert refused(capsys, "history", "Anna", "--json", "--html", "a.html")


def test_progress_as_json_tells_what_was_read(folder, capsys):
    app = App(AppOptions(store=str(folder / "store.db")))
    rung = app.stage.levels.ladder.rungs[0]
    reader = app.stage.store.add_reader("Anna")
    app.stage.rounds.greet(reader)
    app.stage.rounds.begin(Terms.counted(rung.level, rung.text, 7, 4, app.stage.piano.compass))
    live = app.go.screen.live
    live.feed(Flip(0.0))
    (key,) = live.round.expected
    live.feed(Press(0.5, key))
    live.feed(Stop(1.0))
    app.stage.rounds.finish(live)
    app.stage.store.close()
    app.stage.sounds.player.close()
    found = told(capsys, "progress", "Anna")
    assert found["rounds"] == 1
    assert any(sign["time_s"] and sign["answers_faded"] > 0.9 for sign in found["signs"])
    assert all(0 <= sign["certainty"]["low"] <= 1 for sign in found["signs"])


def test_past_heats_and_the_levels_folder_as_json(folder, capsys):
    assert told(capsys, "heat", "list")["heats"] == []
    with Store.open() as store:
        setup = {"level": {"title": "Lines"}, "manners": {"title": "5b"}}
        store.school.begin_heat("3f2a90c1-0", setup, NOON)
        store.school.finish_heat("3f2a90c1-0", {})
    (heat,) = told(capsys, "heat", "list")["heats"]
    assert heat == {
        "id": "3f2a90c1-0", "began": NOON.isoformat(), "group": "5b", "level": "Lines"
    }  # fmt: skip
    assert told(capsys, "levels", "own")["folder"] == str(folder / "levels")


# History


def test_the_best_of_a_week_of_endless_rounds_is_told(folder):
    with Store.open() as store:
        anna = store.add_reader("Anna").id
        for number, points in enumerate((50, 310, 90)):
            terms = Terms("treble-lines", "x", number, 4, misses=1)
            one = store.begin(anna, terms, minutes(number))
            store.finish(one, result(points))
        broken = store.begin(anna, Terms("bass-lines", "x", 1, 4), NOON)
        store.finish(broken, result(50, complete=False))
        found = {
            one.level_id: HistoryReport.of(None, one, None)
            for one in histories_of(store.figures(anna), NOON)
        }
    (said,) = best_words(found["treble-lines"])
    assert "310.0 points" in said[1] and "until miss 1" in said[1]
    assert best_words(found["bass-lines"])[0][1] == "no whole round"


# Files of the wrong kind


def shared_round(folder, capsys) -> None:
    from game.files.resources import level_folders
    from game.levels import FULL_COMPASS, read_ladder

    rung = read_ladder(*level_folders()).rungs[0]
    with Store.open() as store:
        anna = store.add_reader("Anna").id
        number = store.begin(anna, Terms.counted(rung.level, rung.text, 7, 4, FULL_COMPASS), NOON)
        store.append(number, Flip(0.0))
        store.append(number, Stop(1.0))
        store.discard(number)
    assert main(["record", "export", "1", "r1.json"]) == 0


def test_a_discarded_round_is_written_down_with_a_word(folder, capsys):
    shared_round(folder, capsys)
    assert "round 1 was discarded" in capsys.readouterr().err


def test_a_rounds_file_given_for_a_heat_is_told_apart(folder, capsys):
    shared_round(folder, capsys)
    capsys.readouterr()
    for command in (
        ["judge", "--heat", "r1.json"],
        ["heat", "report", "r1.json", "--html", "a.html"],
    ):
        (line,) = refused(capsys, *command)
        assert "record of a round" in line and "record import" in line


# Classes


def test_a_class_list_that_is_not_there_is_named_with_its_folder(folder, capsys):
    (line,) = refused(capsys, "class", "import", "/nowhere/nope.csv")
    assert "/nowhere/nope.csv" in line
    (line,) = refused(capsys, "class", "import", "")
    assert "folder" not in line and "path of a file" in line


def test_a_class_is_printed_where_the_file_is_a_dash(folder, capsys):
    (folder / "list.csv").write_text("name\nBen\n", encoding="utf-8")
    assert main(["class", "import", "list.csv", "--class", "5a"]) == 0
    capsys.readouterr()
    assert main(["class", "export", "5a", "-"]) == 0
    assert "Ben" in capsys.readouterr().out
    assert not (folder / "-").exists()
