# SPDX-License-Identifier: MIT
"""``stavewise judge``: a MIDI file, or a stored round again, scored by the rules of the window."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import replace

import command_line
import pytest
from command_line import LEVEL, keys, midi_file

from game.cli import main
from game.keyboards import read_presses
from game.levels import FULL_COMPASS, parse_level
from game.rounds import Terms
from game.rounds.played import events_of
from game.session.live_round import LiveRound
from game.store import Store

pytestmark = pytest.mark.usefixtures("alone")


@pytest.fixture
def level(tmp_path):
    return command_line.level_file(tmp_path)


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
    assert (told["seconds"], told["complete"]) == (30, True)
    # The third prompt was left for 28 s, longer than its limit of 4 s: it counts.
    assert [slot["verdict"] for slot in told["slots"]] == ["right", "right", "unanswered"]
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


def test_a_record_that_is_listed_as_another_kind_does_not_agree(stored, capsys):
    number, _ = stored
    with Store.open() as store:
        place = store.place
    with closing(sqlite3.connect(place)) as file, file:
        file.execute("UPDATE records SET kind = 'counted:24'")
    assert main(["judge", "--record", str(number), "--json"]) == 1
    out, err = capsys.readouterr()
    assert json.loads(out)["differing"] == {"kind": "counted:3"}
    assert "kind counted:24 is now counted:3" in err


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
