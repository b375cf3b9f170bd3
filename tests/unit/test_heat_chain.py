# SPDX-License-Identifier: MIT
"""A heat's file: judged again by anybody, and told from one that was altered."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from datetime import UTC, datetime
from hashlib import sha256

import pytest
from builders import level_text
from heat_builders import class_of, played_by_robots, setup_of
from places import TESTS

from game.cli import main
from game.heats import Binding, Bound, End, Join, Redo, Seat, SeatPress, play, standings_of
from game.heats.chain import heat_file, judge, printed, verify
from game.heats.events import event_to_json
from game.store import HeatEntry, Store

pytestmark = pytest.mark.usefixtures("alone")

SEATS = [Seat(n, f"Reader {n}", f"m{n}", Binding(f"keyboard {n}")) for n in range(1, 9)]
SETUP = setup_of(SEATS, text=level_text('treble = "C4 to G5"'), seconds=20, seed=11)


@pytest.fixture(scope="module")
def events():
    """Eight robot readers play for twenty seconds."""
    return played_by_robots(SETUP, class_of(8))


@pytest.fixture
def file(events):
    return heat_file(SETUP, events, program="tests", names=True)


def judged(file: dict, noted: str | None = None):
    return judge(json.dumps(file), "heat.json", noted)


def test_a_class_of_eight_is_judged_again_to_the_point(file, events):
    heat = play(SETUP, events)
    again = judged(file)
    assert again.sound
    assert again.chain == file["chain"]
    rows = again.standings.to_json()
    assert rows == standings_of(heat).to_json() == file["standings"]
    assert [row["place"] for row in rows] == list(range(1, 9))
    assert all(row["slots"] > 5 for row in rows)
    # robots 8, 7 … are faster and surer than 1, 2 …
    assert {rows[0]["seat"], rows[1]["seat"]} < {5, 6, 7, 8}


def test_the_chain_is_sha_256_over_each_entry_after_the_hash_before(file):
    # Worked out here by the rule of the manual alone; these events hold no whole floats but t.
    def text(value: object) -> bytes:
        def plain(item: object) -> object:
            if isinstance(item, float) and item == int(item):
                return int(item)
            if isinstance(item, dict):
                return {name: plain(each) for name, each in item.items()}
            return [plain(each) for each in item] if isinstance(item, list) else item

        words = json.dumps(plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        return words.encode()

    last = sha256(text(file["setup"])).hexdigest()
    assert file["seal"] == last
    for entry in file["entries"]:
        last = sha256(last.encode() + text(entry["event"])).hexdigest()
        assert entry["hash"] == last
    assert file["chain"] == last


def test_names_are_left_out_unless_asked_for_and_change_no_hash(file, events):
    bare = heat_file(SETUP, events, program="tests")
    assert "Reader" not in json.dumps(bare)
    assert '"m1"' not in json.dumps(bare)
    assert bare["chain"] == file["chain"]
    assert judged(bare).sound
    assert judged(file).standings.rows[0].seat.name.startswith("Reader ")


def test_a_file_says_that_names_were_left_out_and_only_then(file, events):
    assert judged(heat_file(SETUP, events, program="tests")).nameless
    assert not judged(file).nameless
    unnamed = replace(SETUP, seats=tuple(replace(seat, name="") for seat in SETUP.seats))
    assert not judged(heat_file(unnamed, events, program="tests")).nameless


def test_somebody_who_joined_is_nameless_too(events):
    more = [
        *events[:-1],
        Join(30.0, Seat(9, "Late", "m9")),
        Bound(31.0, 9, Binding("x")),
        End(40.0),
    ]
    bare = heat_file(SETUP, more, program="tests")
    assert "Late" not in json.dumps(bare)
    named = heat_file(SETUP, more, program="tests", names=True)
    assert judged(named).standings.of(9).seat.name == "Late"


def press(file: dict, number: int) -> int:
    """The index of a press."""
    found = [n for n, entry in enumerate(file["entries"]) if entry["event"]["kind"] == "press"]
    return found[number]


def test_an_altered_press_is_named(file):
    for change in ({"t": 5.0}, {"key": 1}, {"seat": 2}, {"velocity": 1}, {"more": 1}):
        altered = copy.deepcopy(file)
        at = press(altered, 40)
        altered["entries"][at]["event"] |= change
        again = judged(altered)
        assert len(again.faults) == 1
        assert again.faults[0].startswith(f"entry {at + 1} (press of seat ")


def test_of_several_alterations_the_first_is_named(file):
    for number in (50, 20, 30):
        file["entries"][press(file, number)]["event"]["velocity"] = 1
    assert judged(file).faults[0].startswith(f"entry {press(file, 20) + 1} ")


def test_entries_left_out_added_or_moved_are_found(file):
    entries = file["entries"]
    without = file | {"entries": entries[:30] + entries[31:]}
    doubled = file | {"entries": entries[:30] + entries[29:]}
    moved = file | {"entries": [*entries[:30], entries[31], entries[30], *entries[32:]]}
    for altered in (without, doubled, moved):
        assert verify(altered)[0].startswith("entry 31 ")
    shortened = file | {"entries": entries[:-2]}
    assert "at the end" in verify(shortened)[0]


def test_an_altered_setup_is_found(file):
    file["setup"]["seed"] = 12
    assert "setup was altered" in judged(file).faults[0]
    file["setup"]["level"]["text"] += "\n"
    assert "setup was altered" in judged(file).faults[0]


def test_altered_standings_are_worked_out_again(file):
    file["standings"][3]["points"] += 1
    file["standings"][0]["place"] = 2
    again = judged(file)
    assert not again.faults
    assert len(again.differing) == 2
    assert not again.sound
    del file["standings"][0]
    assert any("is not in the file's standings" in words for words in judged(file).differing)


EARLIER = TESTS / "support" / "heats" / "first_format.heat.json"
"""Written by the program while its files had format 1: five seats, one right, three below 0, one
that pressed nothing."""


def test_a_file_of_the_first_format_is_sound_and_has_the_places_of_today():
    text = EARLIER.read_text(encoding="utf-8")
    data = json.loads(text)
    assert (data["format"], heat_file(SETUP, (), program="tests")["format"]) == (1, 2)
    assert min(row["points"] for row in data["standings"]) < 0
    again = judge(text, "heat.json")
    assert again.sound, again.differing
    places = {row["seat"]: row["place"] for row in data["standings"]}
    now = {row.seat.number: row.place for row in again.standings.rows}
    assert (places[1], places[2]) == (2, 4)  # who pressed nothing, and who read on
    assert (now[1], now[2]) == (None, 2)
    assert min(row.points for row in again.standings.rows) == 0


@pytest.mark.parametrize("change", [{"points": 0.0}, {"place": 2}, {"outcome": "did not play"}])
def test_altered_standings_of_the_first_format_are_found(change):
    data = json.loads(EARLIER.read_text(encoding="utf-8"))
    (last,) = (row for row in data["standings"] if row["seat"] == 4)
    last |= change
    assert len(judged(data).differing) == 1


def test_any_single_byte_of_an_event_that_is_altered_is_detected(file):
    text = json.dumps(file)
    begin, end = text.index('"entries"') + 14, text.index('"standings"') - 4
    for at in range(begin, end, max(1, (end - begin) // 300)):
        altered = text[:at] + ("7" if text[at] != "7" else "8") + text[at + 1 :]
        try:
            data = json.loads(altered)
            assert verify(data) or data == file, altered[at - 20 : at + 20]
        except ValueError:  # no JSON any more, or no file of a heat
            continue


def test_a_chain_that_was_worked_out_again_is_found_by_the_value_that_was_noted(file, events):
    noted = printed(file["chain"])
    assert len(noted) == 19
    for value in (noted, noted.upper(), file["chain"], file["chain"][:8]):
        assert judged(file, value).sound
    better = [
        SeatPress(e.t, e.seat, e.key, 1) if isinstance(e, SeatPress) and e.seat == 1 else e
        for e in events
    ]
    forged = heat_file(SETUP, better, program="tests")
    assert judged(forged).sound  # as is said: in itself it is sound
    assert "written again" in judged(forged, noted).faults[0]
    assert judged(file, "abc").faults
    assert judged(file, "").faults


def test_a_program_that_writes_whole_numbers_without_a_point_alters_nothing(file):
    def shorter(value: object) -> object:
        if isinstance(value, float) and value == int(value):
            return int(value)
        if isinstance(value, dict):
            return {name: shorter(item) for name, item in reversed(value.items())}
        return [shorter(item) for item in value] if isinstance(value, list) else value

    assert judged(shorter(file)).sound


def test_a_redo_is_judged_again_too(events):
    more = [*events[:-1], Redo(30.0, 2), End(40.0)]
    again = judged(heat_file(SETUP, more, program="tests"))
    assert again.sound
    assert again.standings.of(2).redone == 1


# The command


@pytest.fixture
def path(tmp_path, file):
    found = tmp_path / "heat.json"
    found.write_text(json.dumps(file), encoding="utf-8")
    return found


def test_the_command_judges_a_heat_again(told, path, file):
    found = told("judge", "--heat", path, "--noted", printed(file["chain"]))
    assert (found["sound"], found["seed"], found["kind"]) == (True, 11, "timed:20")
    assert found["standings"][0]["name"].startswith("Reader ")
    assert [row["points"] for row in found["standings"]] == [r["points"] for r in file["standings"]]


def test_the_command_says_it_in_a_table(capsys, path):
    assert main(["judge", "--heat", str(path)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "Reader 8" in out
    assert "seed 11, timed:20" in out
    assert "The chain holds" in out


def test_the_command_says_that_names_were_left_out(capsys, path, events):
    path.write_text(json.dumps(heat_file(SETUP, events, program="tests")), encoding="utf-8")
    assert main(["judge", "--heat", str(path)]) == 0
    assert "Names were left out" in capsys.readouterr().out


# The command that writes one


@pytest.fixture
def kept(tmp_path, events):
    """A store with an ended heat and one under way; the ended one's id."""
    where = tmp_path / "store.db"
    with Store.open(where) as store:
        for name, ended in (("aaaa1111-2222", True), ("bbbb1111-2222", False)):
            setup = SETUP.to_json() | {"manners": {"title": "3b"}}
            store.school.begin_heat(name, setup, datetime(2026, 3, 4, 9, 30, tzinfo=UTC))
            lines = [json.dumps(event_to_json(event)) for event in events]
            entries = (HeatEntry(n, text, "0" * 64) for n, text in enumerate(lines))
            store.school.append_heat_entries(name, entries)
            if ended:
                store.school.finish_heat(name, {})
    return where


@pytest.mark.parametrize("names", [False, True])
def test_an_ended_heat_is_written_with_names_only_when_asked(capsys, tmp_path, file, kept, names):
    out = tmp_path / "out.json"
    argv = ["heat", "export", "last", str(out), "--store", str(kept)]
    assert main([*argv, "--names"] if names else argv) == 0
    assert ("names were left out" in capsys.readouterr().out) is not names
    written = json.loads(out.read_text(encoding="utf-8"))
    again = judged(written)
    assert again.sound and again.chain == file["chain"]
    assert again.nameless is not names
    assert ("Reader 8" in json.dumps(written)) is names


def test_heats_are_listed_by_what_the_export_takes(capsys, tmp_path, kept):
    assert main(["heat", "list", "--store", str(kept)]) == 0
    line = capsys.readouterr().out.splitlines()[-1]
    assert "4 Mar 2026" in line and "3b" in line and "bbbb" not in line
    out = tmp_path / "out.json"
    assert main(["heat", "export", line.split()[0], str(out), "--store", str(kept)]) == 0
    assert out.exists()


@pytest.mark.parametrize(
    ("heat", "place", "words"),
    [
        ("bbbb", "out.json", "bbbb: no heat that has ended of this id; see 'stavewise heat list'"),
        ("last", "heat.json", "it is there already; name another, or add --force"),
        ("last", "nowhere/out.json", "name a place that can be written"),
    ],
)
def test_what_cannot_be_exported_is_told(refused, tmp_path, path, kept, heat, place, words):
    assert words in " ".join(refused("heat", "export", heat, tmp_path / place, "--store", kept))


def test_the_command_fails_where_a_file_was_altered(capsys, path, file):
    file["entries"][press(file, 10)]["event"]["key"] += 1
    path.write_text(json.dumps(file), encoding="utf-8")
    assert main(["judge", "--heat", str(path), "--json"]) == 1
    out, err = capsys.readouterr()
    assert json.loads(out)["sound"] is False
    assert f"entry {press(file, 10) + 1} (press" in err


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"format": 3}, "format is 3"),
        ({"setup": 3}, "setup: found 3"),
        ({"entries": [{"hash": ""}]}, "entries[0].event: it is missing"),
        ({"standings": None}, "standings: found nothing"),
        ({"chain": None}, "chain"),
    ],
)
def test_a_file_that_is_none_of_a_heat_is_refused(refused, path, file, change, words):
    path.write_text(json.dumps(file | change), encoding="utf-8")
    lines = refused("judge", "--heat", path)
    assert len(lines) == 1
    assert str(path) in lines[0]
    assert words in lines[0]


def test_a_level_that_cannot_be_dealt_is_named(refused, path, file):
    file["setup"]["level"]["text"] = "format = 1"
    path.write_text(json.dumps(file), encoding="utf-8")
    assert "its level cannot be dealt" in refused("judge", "--heat", path)[0]


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b"\xff\xfe{}", b'{"format": 1}', b"NaN"])
def test_what_is_no_json_of_a_heat_is_refused(refused, tmp_path, content):
    path = tmp_path / "none.json"
    path.write_bytes(content)
    assert str(path) in refused("judge", "--heat", path)[0]


def test_a_file_that_is_not_there_and_arguments_that_do_not_go_with_it(refused, path):
    assert "cannot be read" in refused("judge", "--heat", path.with_name("no.json"))[0]
    assert "--heat takes all" in refused("judge", "--heat", path, "--seed", 3)[0]
    assert "--noted goes with --heat" in refused("judge", "--noted", "abc")[0]
