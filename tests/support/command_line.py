# SPDX-License-Identifier: MIT
"""What the tests of the commands share: a level, MIDI files, and ways to run a command."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import mido
from places import ROOT

from game.cli import main

LEVEL = """
format = 1
id = "five-notes"
title = "Five notes"
stage = "Tests"
limit_s = 4.0
show.treble = "C4 to G4"
pass = { accuracy = 0.6, median_s = 2.0 }
round.prompts = 3
"""


def level_file(tmp_path) -> str:
    """The path of LEVEL."""
    path = tmp_path / "five notes.toml"
    path.write_text(LEVEL, encoding="utf-8")
    return str(path)


def told(capsys, *argv: object) -> dict:
    """Run a command that must succeed quietly; its JSON."""
    assert main([*map(str, argv), "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    value = json.loads(out)
    assert value["format"] == 1
    return value


def refused(capsys, *argv: object) -> list[str]:
    """Run a command that must fail; its lines on standard error, without the name in front."""
    assert main([*map(str, argv)]) != 0
    out, err = capsys.readouterr()
    assert out == ""
    lines = err.splitlines()
    assert lines
    assert all(line.startswith("stavewise: ") for line in lines)
    return [line.removeprefix("stavewise: ") for line in lines]


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
