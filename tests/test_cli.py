# SPDX-License-Identifier: MIT
"""The commands, as somebody types them: what is printed, what fails, and with which line."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from dataclasses import fields, replace
from pathlib import Path
from xml.etree import ElementTree

import mido
import pytest

from game import __version__
from game.cli import main
from game.keyboards import read_presses
from game.levels import FULL_COMPASS, parse_level
from game.rounds import Terms
from game.rounds.played import events_of
from game.store import LiveRound, Store

ROOT = Path(__file__).parents[1]
LEVEL = """
format = 1
id = "five-notes"
title = "Five notes"
stage = "Tests"
limit_s = 4.0
show.treble = "C4 to G4"
pass = { accuracy = 0.6, median_s = 2.0 }
"""


@pytest.fixture(autouse=True)
def _alone(monkeypatch, tmp_path):
    monkeypatch.setenv("STAVEWISE_STORE", str(tmp_path / "store.db"))
    monkeypatch.setenv("STAVEWISE_MIDI", "none")
    monkeypatch.delenv("STAVEWISE_DEBUG", raising=False)


@pytest.fixture
def level(tmp_path):
    path = tmp_path / "five notes.toml"
    path.write_text(LEVEL, encoding="utf-8")
    return str(path)


@pytest.fixture
def told(capsys):
    """Run a command that must succeed quietly; its JSON."""

    def run(*argv: object) -> dict:
        assert main([*map(str, argv), "--json"]) == 0
        out, err = capsys.readouterr()
        assert err == ""
        value = json.loads(out)
        assert value["format"] == 1
        return value

    return run


@pytest.fixture
def refused(capsys):
    """Run a command that must fail; its lines on standard error, without the name in front."""

    def run(*argv: object) -> list[str]:
        assert main([*map(str, argv)]) != 0
        out, err = capsys.readouterr()
        assert out == ""
        lines = err.splitlines()
        assert lines
        assert all(line.startswith("stavewise: ") for line in lines)
        return [line.removeprefix("stavewise: ") for line in lines]

    return run


def keys(dealt: dict) -> list[int]:
    """The keys of a deal of single notes."""
    return [
        note["key"] for prompt in dealt["prompts"] for slot in prompt["slots"]
        for note in slot["notes"]
    ]  # fmt: skip


def midi_file(path: Path, *strokes: tuple[int, int]) -> Path:
    """A MIDI file of (milliseconds, key); 500 ticks a beat of half a second are 1 ms each."""
    file = mido.MidiFile(type=0, ticks_per_beat=500)
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=500_000)])
    last = 0
    for at, key in strokes:
        track.append(mido.Message("note_on", note=key, velocity=80, time=at - last))
        track.append(mido.Message("note_on", note=key, velocity=0))  # MIDI 1.0: a release
        last = at
    file.tracks.append(track)
    file.save(path)
    return path


def python(*argv: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "game", *argv],
        cwd=ROOT,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
    )


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
        ("judge grand-staff --seed 1 --played no.mid", ["no.mid", "No such file"]),
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


def test_a_folder_without_level_files_is_no_success(refused, tmp_path):
    (line,) = refused("levels", "check", tmp_path)
    assert "no level file" in line


@pytest.mark.parametrize(
    ("content", "words"), [(b"", "no Standard MIDI File"), (b"MThd\0\0\0\6\0", "MIDI File")]
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

    monkeypatch.setattr("game.cli.commands.levels", broken)
    (line,) = refused("levels")
    assert "RuntimeError: the works" in line and "STAVEWISE_DEBUG=1" in line


def test_its_traceback_is_there_for_the_asking(capsys, monkeypatch):
    monkeypatch.setattr("game.cli.commands.levels", lambda args: 1 / 0)
    monkeypatch.setenv("STAVEWISE_DEBUG", "1")
    assert main(["levels"]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_control_c_is_quiet(capsys, monkeypatch):
    def stopped(args):
        raise KeyboardInterrupt

    monkeypatch.setattr("game.cli.commands.levels", stopped)
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
@pytest.mark.parametrize("argv", [[], ["play", "grand-staff", "--robot"]])
def test_without_a_display_the_commands_that_need_none_are_named(argv, tmp_path, monkeypatch):
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"):
        monkeypatch.delenv(name, raising=False)
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
    from game.app import RobotSettings

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
    assert len(told("deal", level, "--seed", 0)["prompts"]) == 24


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


# Judge


@pytest.fixture
def judged(told, level, tmp_path):
    """Judge presses on a deal of three prompts: (milliseconds, semitones off, of which prompt)."""
    expected = keys(told("deal", level, "--seed", 7, "--count", 3))

    def run(*strokes: tuple[int, int, int], more: tuple[object, ...] = ()) -> dict:
        presses = [(at, expected[prompt] + off) for at, off, prompt in strokes]
        path = midi_file(tmp_path / "me.mid", *presses)
        return told("judge", level, "--seed", 7, "--count", 3, "--played", path, *more)

    run.expected = expected
    return run


# In a limit of 4 s: right after 1 s, 100 (1 - 1/4) = 75; an octave off after 0.5 s more,
# -100 (1 - 0.5/4) = -87.5, and found at 2 s; right after 3 s, 100 (1 - 3/4) = 25.
WHOLE = ((1000, 0, 0), (1500, 12, 1), (2000, 0, 1), (5000, 0, 2))


def test_a_file_is_judged_as_worked_out_by_hand(judged):
    told = judged(*WHOLE)
    assert [slot["expected"] for slot in told["slots"]] == [[key] for key in judged.expected]
    assert [slot["verdict"] for slot in told["slots"]] == ["right", "wrong octave", "right"]
    assert [slot["t"] for slot in told["slots"]] == pytest.approx([1.0, 0.5, 3.0])
    assert [slot["points"] for slot in told["slots"]] == pytest.approx([75.0, -87.5, 25.0])
    assert [len(slot["presses"]) for slot in told["slots"]] == [1, 2, 1]
    assert told["score"] == pytest.approx(12.5 / 3)
    assert told["accuracy"] == pytest.approx(2 / 3)
    assert (told["limit_s"], told["median_s"]) == (4.0, pytest.approx(2.0))
    assert told["tempo_per_min"] == pytest.approx(24.0)  # 2 right in 5 s
    assert told["tempo_word"] == "Adagio"
    assert (told["complete"], told["pass"]) == (True, True)


def test_a_slot_never_completed_ends_the_round(judged):
    told = judged((1000, 0, 0), (2000, 1, 1), (2500, 1, 1))
    last = told["slots"][-1]
    assert len(told["slots"]) == 2
    assert (last["completed"], len(last["presses"])) == (False, 2)
    assert last["points"] == pytest.approx(-75.0)
    assert (told["complete"], told["pass"]) == (False, False)


def test_a_slot_that_nobody_answered_is_reported_as_such(judged):
    last = judged((1000, 0, 0))["slots"][-1]
    assert (last["verdict"], last["t"], last["first_press"]) == ("unanswered", None, None)
    assert (last["points"], last["completed"]) == (0, False)


def test_a_file_of_nothing_right(judged):
    told = judged((1000, 1, 0), (2000, -1, 0))
    assert len(told["slots"]) == 1
    assert (told["score"], told["accuracy"], told["median_s"]) == (0, 0, None)
    assert told["mean_points"] == pytest.approx(-75.0)
    assert (told["tempo_per_min"], told["tempo_word"]) == (0, "Largo")


def test_a_press_at_the_flip_is_for_the_next_prompt(judged):
    told = judged((1000, 0, 0), (1000, 0, 1), (2000, 0, 2))
    assert [slot["t"] for slot in told["slots"]] == pytest.approx([1.0, 0.0, 1.0])
    assert told["accuracy"] == 1


def test_a_timed_round_lasts_its_time(judged):
    told = judged((1000, 0, 0), (2000, 0, 1), more=("--seconds", 30))
    assert (told["seconds"], told["complete"], len(told["slots"])) == (30, True, 2)
    assert told["tempo_per_min"] == pytest.approx(4.0)


def test_a_timed_round_needs_no_count(told, level, tmp_path):
    # More prompts are dealt than anybody reads in the time.
    expected = keys(told("deal", level, "--seed", 7, "--count", 30))
    path = midi_file(tmp_path / "me.mid", *((500 * n + 500, key) for n, key in enumerate(expected)))
    told = told("judge", level, "--seed", 7, "--seconds", 10, "--played", path)
    assert len(told["slots"]) == 19  # the twentieth comes as the time is up


def test_a_file_is_judged_on_the_keyboard_that_it_was_dealt_for(told, tmp_path):
    deal = ("grand-staff", "--seed", 1, "--count", 5, "--keys", 25)
    path = midi_file(
        tmp_path / "me.mid",
        *((1000 * n + 1000, key) for n, key in enumerate(keys(told("deal", *deal)))),
    )
    assert told("judge", *deal, "--played", path)["accuracy"] == 1


def test_a_judged_file_as_a_table(judged, capsys, level, tmp_path):
    judged(*WHOLE)
    path = str(tmp_path / "me.mid")
    assert main(["judge", level, "--seed", "7", "--count", "3", "--played", path]) == 0
    out = capsys.readouterr().out
    assert "wrong octave" in out
    assert "score 4.2, accuracy 67 %, median 2.00 s, 24.0 a minute (Adagio), level passed" in out


# A stored round


@pytest.fixture
def stored(judged, tmp_path):
    """A finished round in the store, of the presses of WHOLE; its number, and its judged file."""
    told = judged(*WHOLE)
    level = parse_level(LEVEL, "five-notes")
    terms = Terms.counted(level, LEVEL, 7, 3, FULL_COMPASS)
    with Store.open() as store:
        live = LiveRound.begin(terms, store.add_reader("Ada").id, store, 0.0)
        for event in events_of(live.round, read_presses(tmp_path / "me.mid")):
            live.feed(event)
        live.finish()
    return live.record_id, told


def test_a_record_gives_the_numbers_of_the_file_and_agrees(stored, told):
    number, of_file = stored
    of_record = told("judge", "--record", number)
    assert {name: of_record[name] for name in of_file} == of_file
    assert (of_record["record"], of_record["agrees"], of_record["differing"]) == (number, True, {})
    assert of_record["kept"]["score"] == of_file["score"]


def test_a_record_that_does_not_agree_fails_and_says_in_what(stored, capsys):
    number, of_file = stored
    with Store.open() as store:
        store.finish(number, replace(store.record(number).result, score=99.0))
    assert main(["judge", "--record", str(number), "--json"]) == 1
    out, err = capsys.readouterr()
    assert json.loads(out)["agrees"] is False
    assert json.loads(out)["differing"] == {"score": of_file["score"]}
    (line,) = err.splitlines()
    assert f"round {number} does not agree" in line and "score 99.0" in line


def test_a_record_says_in_words_that_it_agrees(stored, capsys):
    number, _ = stored
    assert main(["judge", "--record", str(number)]) == 0
    assert f"Round {number} agrees" in capsys.readouterr().out


def test_an_unfinished_record_is_scored_as_far_as_it_goes(told, capsys):
    level = parse_level(LEVEL, "five-notes")
    with Store.open() as store:
        reader = store.add_reader("Ada")
        terms = Terms.counted(level, LEVEL, 7, 3, FULL_COMPASS)
        number = LiveRound.begin(terms, reader.id, store, 0.0).record_id
    unfinished = told("judge", "--record", number)
    assert (unfinished["agrees"], unfinished["kept"], unfinished["slots"]) == (None, None, [])
    assert main(["judge", "--record", str(number)]) == 0
    assert "no figures were kept" in capsys.readouterr().out


def test_another_store_may_be_named(refused, stored, tmp_path):
    number, _ = stored
    (line,) = refused("judge", "--record", number, "--store", tmp_path / "other.db")
    assert "other.db" in line and f"no round {number}" in line


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
