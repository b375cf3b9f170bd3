# SPDX-License-Identifier: MIT
"""The presses of a round as a Standard MIDI File: read by others, and judged as they were."""

from __future__ import annotations

import json

import mido
import music21
import pytest
from robot_rounds import keep, robot_record, robot_terms

from game.cli import main
from game.rounds import RULES, Flip, Press, Resume
from game.rounds.played import presses_of
from game.store import Store

pytestmark = pytest.mark.usefixtures("alone")

TICK_S = 1e-4


@pytest.fixture
def exported(tmp_path, capsys):
    """Export a round of the robot: its ended round, the MIDI file, and what was said."""

    def run(level_id: str, *, how: dict | None = None, **terms):
        terms = {"rules": RULES} | terms
        shared = robot_record(robot_terms(level_id, **terms), **(how or {}))
        with Store.open() as store:
            number = keep(store, store.add_reader("A").id, shared)
        path = tmp_path / "me.mid"
        argv = ["record", "export", number, tmp_path / "me.json", "--midi", path]
        assert main([*map(str, argv)]) == 0
        return shared.terms.replay(shared.events), path, capsys.readouterr().out

    return run


def slots(results: list[dict]) -> list[tuple]:
    keys = ("prompt", "slot", "verdict", "completed")
    return [tuple(result[key] for key in keys) for result in results]


def test_no_command_is_named_that_would_judge_by_other_rules(exported):
    _ended, _path, said = exported("middle-c-right", rules=1)
    assert "presses" in said and "judge" not in said


@pytest.mark.parametrize("level_id", ["middle-c-right", "chords-keys", "signs-cancelled"])
@pytest.mark.parametrize("how", [{}, {"pause_at": 3}, {"stop_at": 5}])
def test_judge_finds_the_same_verdicts_and_times(exported, capsys, level_id, how):
    ended, path, said = exported(level_id, how=how)
    command = said.splitlines()[-1].partition("stavewise ")[2]
    words = command[: command.index(" --played")].split()
    argv = [*words, "--played", str(path), "--json"]
    assert main(argv) == 0
    judged = json.loads(capsys.readouterr().out)["slots"]
    was = [(r.prompt, r.slot, r.verdict.value, r.completed) for r in ended.results]
    assert slots(judged)[: len(was)] == was
    if not how.get("stop_at"):  # a prompt left in the middle is left so again
        assert len(judged) == len(was)
    for now, result in zip(judged, ended.results, strict=False):
        if result.t is not None:
            assert now["t"] == pytest.approx(result.t, abs=2 * TICK_S)


def test_phrases_in_time_are_judged_as_they_were(exported, capsys):
    ended, path, _said = exported("time-six", prompts=3, how={"pause_at": 1})
    argv = ["judge", "time-six", "--seed", "7", "--count", "3", "--played", str(path), "--json"]
    assert main(argv) == 0
    judged = json.loads(capsys.readouterr().out)
    assert slots(judged["slots"]) == [
        (r.prompt, r.slot, r.verdict.value, r.completed) for r in ended.results
    ]
    assert judged["score"] == pytest.approx(ended.score.score, abs=0.1)


def test_the_slots_of_a_timed_round_are_judged_as_they_were(exported, capsys):
    ended, path, said = exported("middle-c-right", seconds=15, prompts=60)
    count = len({result.prompt for result in ended.results})
    assert f"--count {count} " in said
    argv = ["judge", "middle-c-right", "--seed", "7", "--count", count, "--played", path, "--json"]
    assert main([*map(str, argv)]) == 0
    judged = json.loads(capsys.readouterr().out)["slots"]
    assert slots(judged) == [
        (r.prompt, r.slot, r.verdict.value, r.completed) for r in ended.results
    ]


def test_the_times_are_those_of_reading():
    shared = robot_record(robot_terms("middle-c-right", prompts=3), pause_at=1)
    ended = shared.terms.replay(shared.events)
    # Worked out from the events: each flip goes on where the last answer was.
    reading, since, expected = 0.0, 0.0, []
    for event in shared.events:
        if isinstance(event, Flip):
            since = event.t
        elif isinstance(event, Resume):
            since += 10.0
        elif isinstance(event, Press):
            expected.append(reading + event.t - since)
            slot_over = event.t in {e.t - 0.2 for e in shared.events if isinstance(e, Flip)}
            reading, since = (expected[-1], event.t) if slot_over else (reading, since)
    assert [press.t for press in presses_of(ended)] == pytest.approx(expected, abs=1e-6)


def test_two_other_readers_find_the_same_notes(exported):
    ended, path, _said = exported("chords-keys", how={"pause_at": 2})
    presses = presses_of(ended)
    clock, by_mido = 0.0, []
    for message in mido.MidiFile(path):  # iterated over, mido gives seconds
        clock += message.time
        if message.type == "note_on" and message.velocity:
            by_mido.append((clock, message.note, message.velocity))
    assert [(key, velocity) for _t, key, velocity in by_mido] == [
        (press.key, press.velocity) for press in presses
    ]
    assert [t for t, *_ in by_mido] == pytest.approx([p.t for p in presses], abs=TICK_S)

    file = music21.midi.MidiFile()
    file.open(str(path))
    file.read()
    file.close()
    ticks, by_music21 = 0, []
    for event in file.tracks[0].events:
        if event.isDeltaTime():
            ticks += event.time
        elif event.isNoteOn() and event.velocity:
            by_music21.append((ticks / file.ticksPerQuarterNote, event.pitch))  # 60 a minute
    assert [key for _t, key in by_music21] == [press.key for press in presses]
    assert [t for t, _key in by_music21] == pytest.approx([p.t for p in presses], abs=TICK_S)
