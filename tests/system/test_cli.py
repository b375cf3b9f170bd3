# SPDX-License-Identifier: MIT
"""The commands, as somebody types them: what is printed, what fails, and with which line."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from dataclasses import fields
from pathlib import Path
from xml.etree import ElementTree

import command_line
import pytest
from command_line import LEVEL, ROOT, keys, midi_file, python

from game import __version__
from game.cli import main

pytestmark = pytest.mark.usefixtures("alone")


@pytest.fixture
def level(tmp_path):
    return command_line.level_file(tmp_path)


# What goes wrong: one line, and a status


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        ("deal grand-staf --seed 1", ["no level 'grand-staf'", "grand-staff"]),
        ("deal grand-staff", ["--seed", "stavewise deal --help"]),
        ("deal grand-staff --seed -1", ["--seed", "'-1'", "0 or more"]),
        ("deal grand-staff --seed 1.5", ["--seed", "'1.5'", "whole number"]),
        ("deal grand-staff --seed 1 --count 0", ["--count", "'0'", "from 1 to 100000"]),
        ("deal grand-staff --seed 1 --count -3", ["--count", "'-3'"]),
        ("deal grand-staff --seed 1 --count 100001", ["--count", "'100001'"]),
        ("deal grand-staff --seed 1 --keys 60", ["60 keys", "25, 32, 37, 49, 61, 76, 88"]),
        ("deal grand-staff --seed 1 --keys 61 --lowest X", ["'X' is not a pitch"]),
        ("deal grand-staff --seed 1 --keys 61 --lowest C8", ["108 to 168"]),
        ("deal grand-staff --seed 1 --lowest C2", ["--lowest goes with --keys"]),
        ("deal treble-staff --seed 1 --keys 25 --lowest C1", ["no prompt on keys C1 to C3"]),
        ("deal missing.toml --seed 1", ["missing.toml", "No such file"]),
        ("judge", ["LEVEL and --seed and --played", "--record ID"]),
        ("judge grand-staff --seed 1", ["judge needs --played"]),
        ("judge grand-staff --seed 1 --played no.mid", ["no.mid", "no such file"]),
        ("judge grand-staff --seed 1 --played no.mid --seconds 0", ["--seconds", "'0'"]),
        ("judge grand-staff --record 1", ["--record", "give no others"]),
        ("judge --record 1 --seed 1", ["--record", "give no others"]),
        ("judge --record 0", ["--record", "'0'"]),
        ("judge --record 77", ["there is no round 77"]),
        ("judge --record 1 --store no-such-database://x", ["no-such-database"]),
        ("levels check no-such-folder", ["no-such-folder", "No such file"]),
        ("levels paint", ["'paint'", "check"]),
        ("plya", ["'plya'", "'play'"]),
        ("--colour", ["stavewise --help"]),
        ("play no-such-level", ["no level 'no-such-level'"]),
        ("play --robot", ["need a level"]),
        ("play --seed 0", ["need a level"]),
        ("play grand-staff --speed 1", ["--robot"]),
        ("play grand-staff --robot --speed 0", ["--speed", "'0'"]),
        ("play grand-staff --robot --errors 1.5", ["--errors", "from 0 to 1"]),
        ("play grand-staff --robot --spread nan", ["--spread", "'nan'"]),
        ("play grand-staff --count 3 --seconds 9", ["--seconds", "--count"]),
        ("play grand-staff --size 1280", ["--size", "'1280'", "1280x720"]),
        ("play grand-staff --size 9x9", ["--size", "'9x9'"]),
        (f"play grand-staff --shots {__file__}", ["--shots", "File exists"]),
    ],
)
def test_a_failure_is_one_line_that_says_why(refused, argv, words):
    (line,) = refused(*argv.split())
    assert [word for word in words if word not in line] == []


def test_a_level_file_with_faults_has_a_line_for_each(refused, tmp_path):
    path = tmp_path / "broken.toml"
    path.write_text(LEVEL.replace("4.0", "-1").replace("C4 to G4", "G4 to C4"), encoding="utf-8")
    lines = refused("deal", path, "--seed", 1)
    assert len(lines) == 2
    assert all(str(path) in line for line in lines)
    assert ["limit_s" in line or "show.treble" in line for line in lines] == [True, True]


def test_a_file_that_is_not_toml_is_named_with_its_line(refused, tmp_path):
    path = tmp_path / "broken.toml"
    path.write_text("format = 1\nid = five-notes\n", encoding="utf-8")
    (line,) = refused("levels", "check", path)
    assert str(path) in line and "line 2" in line


def test_checking_a_folder_names_the_faults_of_all_its_files(refused, tmp_path):
    (tmp_path / "a.toml").write_text(LEVEL, encoding="utf-8")
    (tmp_path / "b.toml").write_text(LEVEL, encoding="utf-8")
    (tmp_path / "c.toml").write_text("format = 2", encoding="utf-8")
    lines = refused("levels", "check", tmp_path)
    assert any("b.toml: id" in line and "a.toml" in line for line in lines)
    assert any(f"{tmp_path / 'c.toml'}: format: found 2" in line for line in lines)


def test_an_id_of_the_game_is_no_id_for_ones_own_level(refused, tmp_path):
    """Its rounds would count as those of the game's level, and the ladder leaves it out."""
    path = tmp_path / "impostor.toml"
    path.write_text(LEVEL.replace("five-notes", "grand-staff"), encoding="utf-8")
    for argv in (["levels", "check", path], ["levels", "check", tmp_path], ["play", path]):
        (line,) = refused(*argv)
        assert "impostor.toml" in line or argv[-1] == tmp_path
        assert "id: found 'grand-staff'" in line and "“One note anywhere” has this one" in line


def test_a_copy_of_a_level_of_the_game_is_that_level(capsys, tmp_path):
    shipped = ROOT / "levels/06-grand-staff/1-one-note.toml"
    copy = tmp_path / "copy.toml"
    copy.write_bytes(shipped.read_bytes())
    assert main(["levels", "check", str(copy)]) == 0


def test_a_folder_without_level_files_is_no_success(refused, tmp_path):
    (line,) = refused("levels", "check", tmp_path)
    assert "no level file" in line


@pytest.mark.parametrize(
    ("content", "words"), [(b"", "empty or ends too soon"), (b"MThd\0\0\0\6\0", "MIDI File")]
)
def test_what_is_no_midi_file_is_said_to_be_none(refused, level, tmp_path, content, words):
    path = tmp_path / "x.mid"
    path.write_bytes(content)
    (line,) = refused("judge", level, "--seed", 1, "--played", path)
    assert str(path) in line and words in line


def test_a_midi_file_without_notes(refused, level, tmp_path):
    path = midi_file(tmp_path / "silent.mid")
    (line,) = refused("judge", level, "--seed", 1, "--played", path)
    assert str(path) in line and "no notes" in line


def test_an_error_that_nobody_foresaw_is_one_line(refused, monkeypatch):
    def broken(args):
        raise RuntimeError("the\nworks")

    monkeypatch.setattr("game.cli.levels._levels", broken)
    (line,) = refused("levels")
    assert "RuntimeError: the works" in line and "STAVEWISE_DEBUG=1" in line


def test_its_traceback_is_there_for_the_asking(capsys, monkeypatch):
    monkeypatch.setattr("game.cli.levels._levels", lambda args: 1 / 0)
    monkeypatch.setenv("STAVEWISE_DEBUG", "1")
    assert main(["levels"]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_control_c_is_quiet(capsys, monkeypatch):
    def stopped(args):
        raise KeyboardInterrupt

    monkeypatch.setattr("game.cli.levels._levels", stopped)
    assert main(["levels"]) == 130
    assert capsys.readouterr() == ("", "")


@pytest.mark.skipif(sys.platform == "win32", reason="pipes break otherwise there")
def test_a_pipe_that_is_closed_early_is_quiet():
    command = [sys.executable, "-m", "game", "deal", "grand-staff", "--seed", "1"]
    with subprocess.Popen(
        [*command, "--count", "5000", "--json"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        process.stdout.read(10)
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait() == 141


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_is_one_line():
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "game", "levels"],
            cwd=ROOT,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
        )
    assert done.returncode == 1
    assert done.stderr == "stavewise: the output cannot be written: No space left on device\n"


@pytest.mark.skipif(sys.platform != "linux", reason="other systems always have a display")
@pytest.mark.parametrize("driver", ["", "nonsense"])
@pytest.mark.parametrize("argv", [[], ["play", "grand-staff", "--robot"]])
def test_without_a_display_the_commands_that_need_none_are_named(
    argv, driver, tmp_path, monkeypatch
):
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("SDL_VIDEODRIVER", driver)
    done = python(*argv)
    assert (done.returncode, done.stdout) == (1, "")
    (line,) = done.stderr.splitlines()
    assert "no display" in line
    assert all(name in line for name in ("deal", "judge", "keyboards", "levels"))


# Help


@pytest.mark.parametrize(
    "command",
    ["", "play", "deal", "judge", "keyboards", "levels", "levels check", "levels schema"],
)
def test_every_command_has_help_with_an_example(capsys, command):
    assert main([*command.split(), "--help"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert re.search(rf"example:\n  stavewise {command}".rstrip(), out)


def test_the_version(capsys):
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"stavewise {__version__}\n"


def test_the_help_tells_the_defaults_of_the_robot(capsys):
    from game.app.app import RobotSettings

    main(["play", "--help"])
    out = " ".join(capsys.readouterr().out.split())
    for field, option in zip(
        fields(RobotSettings), ("--robot-seed N", "--speed S", "--spread X", "--errors R"),
        strict=True,
    ):  # fmt: skip
        assert re.search(rf"{option} [^(]*\({field.default}\)", out), option


@pytest.mark.parametrize(
    ("argv", "never"),
    [
        ("--version", {"pydantic", "pygame", "verovio", "sqlalchemy", "mido", "numpy"}),
        ("levels", {"pygame", "verovio", "sqlalchemy", "mido", "numpy"}),
        ("deal grand-staff --seed 1", {"pygame", "verovio", "sqlalchemy", "mido", "numpy"}),
        ("deal grand-staff --seed 1 --json", {"verovio", "sqlalchemy", "mido"}),
        ("levels schema", {"pygame", "verovio", "sqlalchemy", "mido", "numpy"}),
    ],
)
def test_a_command_waits_for_nothing_that_it_does_not_need(argv, never):
    code = (
        "import sys; from game.cli import main; main(sys.argv[1:]); "
        "print(*sys.modules, file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *argv.split()], cwd=ROOT, capture_output=True, text=True
    )
    assert "game.cli" in done.stderr.split()
    assert never & set(done.stderr.split()) == set()


# Levels and keyboards


def test_the_list_of_levels(told, capsys):
    levels = told("levels")["levels"]
    assert all(set(level) == {"id", "title", "limit_s"} for level in levels)
    assert levels[0]["id"] == "middle-c-right"
    assert main(["levels"]) == 0
    out = capsys.readouterr().out
    assert [line.split()[0] for line in out.splitlines() if line.startswith("  ")] == [
        level["id"] for level in levels
    ]
    assert out.startswith("Around middle C\n")


def test_the_shipped_levels_have_no_fault(capsys):
    assert main(["levels", "check"]) == 0
    assert re.fullmatch(r"\d+ level files, no fault\n", capsys.readouterr().out)


def test_one_sound_file_is_checked(capsys, level):
    assert main(["levels", "check", level]) == 0
    assert capsys.readouterr().out == "1 level file, no fault\n"


def test_the_schema_is_a_json_schema(capsys):
    assert main(["levels", "schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert "limit_s" in schema["properties"]


def test_keyboards_without_midi(told, capsys):
    assert told("keyboards")["keyboards"] == []
    assert "none" in told("keyboards")["backend"]
    assert main(["keyboards"]) == 0
    assert "no MIDI keyboard is connected" in capsys.readouterr().out


# Deal


def test_a_deal_is_the_same_in_another_process(told):
    argv = ["deal", "signs-hold", "--seed", "7", "--count", "5", "--json"]
    other = python(*argv, PYTHONHASHSEED="1", PYTHONIOENCODING="ascii")
    assert json.loads(other.stdout) == told(*argv[:-1])
    assert other.stderr == ""


def test_a_deal_has_the_number_of_prompts_asked_for_or_the_levels_own(told, level):
    assert len(told("deal", level, "--seed", 0, "--count", 3)["prompts"]) == 3
    assert len(told("deal", level, "--seed", 0)["prompts"]) == 3


def test_the_music_of_a_deal_has_the_notes_that_are_listed(told):
    dealt = told("deal", "signatures-naturals", "--seed", 3, "--count", 20)
    mei = "{http://www.music-encoding.org/ns/mei}"
    signs = {None: None, "s": "#", "f": "b", "n": "n", "x": "##", "ff": "bb"}
    for prompt in dealt["prompts"]:
        root = ElementTree.fromstring(prompt["mei"])
        written = {
            note.get("{http://www.w3.org/XML/1998/namespace}id"): (
                f"{note.get('pname').upper()}{note.get('oct')}",
                signs[note.get("accid")],
            )
            for note in root.iter(f"{mei}note")
        }
        listed = {
            note["id"]: (re.sub("[#b]", "", note["spelling"]), note["sign"])
            for slot in prompt["slots"]
            for note in slot["notes"]
        }
        assert written == listed
    assert any(prompt["signature"] for prompt in dealt["prompts"])


def test_a_deal_keeps_to_the_keyboard(told):
    dealt = told("deal", "grand-staff", "--seed", 1, "--keys", 25)
    assert 48 <= min(keys(dealt)) <= max(keys(dealt)) <= 72  # C3 to C5
    lower = told("deal", "grand-staff", "--seed", 1, "--keys", 25, "--lowest", "C2")
    assert 36 <= min(keys(lower)) < 48


def test_a_deal_as_a_table(told, capsys, level):
    dealt = told("deal", level, "--seed", 5, "--count", 4)
    assert main(["deal", level, "--seed", "5", "--count", "4"]) == 0
    _head, *rows = capsys.readouterr().out.splitlines()
    assert [int(re.search(r"\((\d+)\)", row)[1]) for row in rows] == keys(dealt)


# In a window that nobody sees


def test_the_robot_plays_a_level_file_and_leaves_pictures(level, tmp_path):
    done = python(
        "play", level, "--robot", "--speed", "0.05", "--count", "2", "--seed", "1",
        "--shots", str(tmp_path / "shots"), "--size", "800x600",
        SDL_VIDEODRIVER="dummy", SDL_AUDIODRIVER="dummy",
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    names = " ".join(path.name for path in (tmp_path / "shots").glob("*.png"))
    assert "play" in names and "result" in names
