# SPDX-License-Identifier: MIT
"""A round as a file: written, read by somebody else, scored again, and refused in plain words."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime

import command_line
import pytest
from robot_rounds import keep, robot_record, robot_terms

from game.cli import main
from game.levels import parse_level
from game.rounds import CHORD_WINDOW_S, Flip, Press
from game.session.records import (
    RecordFault,
    check,
    figures_of,
    guests,
    keep_guest,
    parse_record,
    record_text,
)
from game.session.records.guests import MOST
from game.store import Store

pytestmark = pytest.mark.usefixtures("alone")

LEVEL = "landmarks-upper"


@pytest.fixture
def shared():
    return robot_record(robot_terms(LEVEL, prompts=4), name="Zoë ハニ", pause_at=2)


def edited(shared, **changes) -> str:
    """The text of a record with some of its values changed; a name ``a.b`` goes into a table."""
    value = json.loads(record_text(shared))
    for name, new in changes.items():
        *tables, last = name.split("__")
        inside = value
        for table in tables:
            inside = inside[int(table) if table.isdigit() else table]
        if new is ...:
            del inside[last]
        else:
            inside[last] = new
    return json.dumps(value)


def fault(text: str) -> RecordFault:
    with pytest.raises(RecordFault) as raised:
        check(parse_record(text, "bad.json"), "bad.json")
    assert str(raised.value).startswith("bad.json: ")
    assert "\n" not in str(raised.value)
    return raised.value


@pytest.mark.parametrize("level_id", ["landmarks-upper", "chords-keys", "phrases-together"])
@pytest.mark.parametrize("kind", [{}, {"seconds": 12, "prompts": 48}, {"known": True}])
def test_a_record_comes_back_as_it_was(level_id, kind):
    shared = robot_record(robot_terms(level_id, **kind), name="Zoë ハニ", pause_at=1)
    read = parse_record(record_text(shared), "r.json")
    assert read == shared
    assert record_text(read) == record_text(shared)
    assert check(read, "r.json").agrees


def test_a_round_in_time_at_a_tempo_of_ones_own_agrees():
    shared = robot_record(robot_terms("time-six", prompts=2, tempo=72.0))
    assert check(parse_record(record_text(shared), "r"), "r").agrees


def test_the_name_is_not_in_it_unless_asked_for(tmp_path, capsys):
    with Store.open() as store:
        reader = store.add_reader("Ottilie")
        number = keep(store, reader.id, robot_record(robot_terms(LEVEL)))
    for more, told in (((), None), (("--name",), "Ottilie")):
        path = tmp_path / f"{told}.json"
        assert main(["record", "export", str(number), str(path), *more]) == 0
        text = path.read_text(encoding="utf-8")
        assert json.loads(text)["reader"] == told
        assert ("Ottilie" in text) == (told is not None)


def test_fields_of_later_games_are_left_out(shared):
    assert parse_record(edited(shared, mood="calm", result__stars=5), "r") == shared


# Figures that were edited


def test_figures_that_do_not_follow_from_the_presses_are_told_and_put_right(shared):
    checked = check(parse_record(edited(shared, result__score=99.5), "r"), "r")
    assert not checked.agrees
    assert checked.differing == (("score", 99.5, shared.result.score),)
    assert checked.shared == shared


def test_a_press_that_was_taken_away_tells_on_the_figures(shared):
    value = json.loads(record_text(shared))
    wrong = next(n for n, e in enumerate(value["events"]) if e["event"] == "press")
    value["events"][wrong]["t"] = value["events"][wrong - 1]["t"] + 1e-6  # faster than it was
    names = [name for name, *_ in check(parse_record(json.dumps(value), "r"), "r").differing]
    assert "score" in names


def test_the_import_says_both_values_and_uses_those_worked_out(shared, tmp_path, capsys):
    path = tmp_path / "boast.json"
    path.write_text(edited(shared, result__score=99.5), encoding="utf-8")
    assert main(["record", "import", str(path)]) == 1
    out, err = capsys.readouterr()
    assert f"score {shared.result.score:.1f}" in out
    assert f"score 99.5, it is {round(shared.result.score, 3):g}" in err and str(path) in err
    with Store.open() as store:
        (guest,) = guests(store, LEVEL)
    assert guest == shared


def test_a_record_brings_no_window_of_its_own(shared):
    """A chord whose keys came three seconds apart, in a file that says that is together."""
    terms = robot_terms("chords-keys", prompts=1, window_s=5.0)
    first, *rest = sorted(terms.begin().expected)
    late = [Press(4.0 + 0.01 * n, key) for n, key in enumerate([*rest, first])]
    events = (Flip(0.5), Press(1.0, first), *late)
    boast = figures_of(terms, terms.replay(events))
    assert boast.right == 1
    text = record_text(replace(shared, terms=terms, events=events, result=boast))
    checked = check(parse_record(text, "r"), "r")
    assert not checked.agrees
    assert checked.shared.result.right == 0
    assert checked.shared.terms.window_s == CHORD_WINDOW_S


def test_a_key_that_was_handed_over_after_a_later_flip_or_pause_is_read(shared):
    flip = next(event for event in shared.events[2:] if isinstance(event, Flip))
    at = shared.events.index(flip) + 1
    late = Press(flip.t - 0.02, 20)
    mixed = replace(shared, events=(*shared.events[:at], late, *shared.events[at:]))
    read = parse_record(record_text(mixed), "r")
    assert read.events[at] == late
    assert check(read, "r").agrees


# Bad input


@pytest.mark.parametrize(
    ("changes", "place", "words"),
    [
        ({"format": 2}, "format", "this Stavewise reads 1. Install"),
        ({"format": True}, "format", "found true"),
        ({"stavewise": "level"}, "the file", "not a round of Stavewise"),
        ({"level": ...}, "level.text", "is missing"),
        ({"level__text": ...}, "level.text", "is missing"),
        ({"level__text": ""}, "level.text", "is missing"),
        ({"level__text": "format = 1\nid = =\n"}, "level.text", "line 2"),
        ({"level__id": "another"}, "level.id", "but the level's text says 'landmarks-upper'"),
        ({"terms__seed": -1}, "terms", "terms: the seed of a round: at least 0, not -1. Export"),
        ({"terms__seed": "7"}, "terms.seed", 'found "7"'),
        ({"terms__seed": ...}, "terms.seed", "missing"),
        ({"terms__prompts": 10**9}, "terms.prompts", "no more than 2000"),
        ({"terms__prompts": 20_000}, "terms.prompts", "found 20000; such a round has no more"),
        ({"terms__prompts": 7201, "terms__seconds": 1800}, "terms.prompts", "no more than 7200"),
        ({"terms__seconds": 1801}, "terms.seconds", "no round is longer than 1800"),
        ({"terms__prompts": True}, "terms.prompts", "found true"),
        ({"terms__window_s": float("nan")}, "terms.window_s", "finite"),
        ({"terms__window_s": -1.0}, "terms.window_s", "at least 0"),
        ({"terms__compass_low": 90, "terms__compass_high": 60}, "terms.compass_low", "0 to 127"),
        ({"terms__compass_low": 60, "terms__compass_high": 60}, "level.text", "does not deal"),
        ({"terms__day": "2026-11-25"}, "terms.seed", "not that of the round of 2026-11-25"),
        ({"terms__day": "today"}, "terms", "written like 2026-11-25, not today"),
        ({"terms__misses": 0}, "terms", "at least 1"),
        ({"terms__seconds": 10**400}, "terms.seconds", "larger than any round has"),
        ({"terms__seed": 2**63}, "terms.seed", "larger than any round has"),
        ({"events__1__t": 1e300}, "events[1].t", "less than or equal to 1000000000"),
        ({"terms__luck": 3}, "terms.luck", "does not know it"),
        ({"started": "yesterday"}, "started", "a time with its zone"),
        ({"started": "2026-03-01T12:00:00"}, "started", "a time with its zone"),
        ({"started": "0001-01-01T00:00:00+14:00"}, "started", "a time with its zone"),
        ({"reader": 5}, "reader", "string"),
        ({"reader": "x" * 81}, "reader", "80"),
        ({"result__score": "high"}, "result.score", 'found "high"'),
        ({"result__score": ...}, "result.score", "missing"),
        ({"result__score": float("inf")}, "result.score", "finite"),
        ({"events": ...}, "events", "missing"),
        ({"events": []}, "events", "does not end"),
        ({"events__0__t": float("nan")}, "events[0].t", "finite"),
        ({"events__1__t": float("inf")}, "events[1].t", "finite"),
        ({"events__0__t": -0.5}, "events[0].t", "greater than or equal to 0"),
        ({"events__1__t": 0.25}, "events[1].t", "found 0.25 after 0.5"),
        ({"events__1__t": "soon"}, "events[1].t", 'found "soon"'),
        ({"events__1__key": 128}, "events[1].key", "found 128"),
        ({"events__1__key": -1}, "events[1].key", "found -1"),
        ({"events__1__key": 60.123456}, "events[1].key", "found 60.123; allowed: a whole number"),
        ({"events__1__key": "60"}, "events[1].key", 'found "60"; allowed: a whole number. '),
        ({"events__1__key": ...}, "events[1].key", "without its key"),
        ({"events__1__velocity": 0}, "events[1].velocity", "found 0"),
        ({"events__0__event": "wave"}, "events[0].event", 'found "wave"'),
        ({"events__0": "flip"}, "events[0]", 'found "flip"'),
    ],
)
def test_what_is_wrong_is_said_with_its_place(shared, changes, place, words):
    found = fault(edited_events(shared, changes))
    assert found.place == place
    assert words in str(found)


def edited_events(shared, changes) -> str:
    """As :func:`edited`; ``events__0`` stands for the whole first event."""
    whole = changes.get("events__0")
    if whole is None:
        return edited(shared, **changes)
    value = json.loads(record_text(shared))
    value["events"][0] = whole
    return json.dumps(value)


def test_a_level_that_deals_too_little_is_named(shared):
    text = shared.terms.level_text
    level = parse_level(text, "x")
    lines = [line for line in text.splitlines() if not line.startswith(("treble", "bass"))]
    cut = "\n".join(lines).replace("[show]", '[show]\ntreble = "C4"')
    found = fault(edited(shared, level__text=cut))
    assert level.id == LEVEL
    assert found.place == "level.text"


def test_a_file_that_breaks_off_is_called_so_and_where(shared):
    text = record_text(shared).rstrip("\n")
    found = [(at, fault(text[:at])) for at in range(len(text))]
    cut = [(at, each) for at, each in found if each.mend == "Copy the file again, whole"]
    assert len(cut) > 0.95 * len(found)  # the rest break off inside a number or a word
    for at, each in cut:
        line = int(each.place.split(",")[0].removeprefix("line "))
        assert text[:at].rstrip().count("\n") <= line - 1 <= text[:at].count("\n")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("hello", "line 1, column 1: this is not JSON"),
        ('{\n  "format": 1,,\n}', "line 2, column 15"),
        ("[]", "not a round of Stavewise"),
        ("[" * 100_000, "no record has"),
        ('{"format": ' + "9" * 5000 + "}", "no record has"),
    ],
)
def test_what_is_no_record_at_all(text, words):
    assert words in str(fault(text))


def test_files_that_cannot_be_read(tmp_path, capsys):
    huge, latin = tmp_path / "huge.json", tmp_path / "latin.json"
    huge.write_bytes(b" " * 2_000_001)
    latin.write_bytes('{"reader": "Zoë"}'.encode("latin-1"))
    for path, words in (
        (huge, "larger than 2 MB"),
        (latin, "not text in UTF-8"),
        (tmp_path / "none.json", "no such file"),
        (tmp_path, "is a directory"),
    ):
        (line,) = command_line.refused(capsys, "record", "import", path)
        assert line.startswith(f"{path}: the file: ") and words in line


def test_too_many_events_are_refused(shared):
    many = [{"t": 1.0, "event": "tick"}] * 20_001
    assert fault(edited(shared, events=many)).place == "events"


# Guests


def test_guests_come_back_newest_first_once_each_and_no_more_than_are_kept(tmp_path):
    rounds = [robot_record(robot_terms(LEVEL, seed), name=f"G{seed}") for seed in range(MOST + 2)]
    with Store.open() as store:
        for shared in [*rounds, rounds[-2]]:
            keep_guest(store, check(shared, "r"))
    with Store.open() as store:
        kept = guests(store, LEVEL)
        assert guests(store, "middle-c-right") == ()
    assert len(kept) == MOST
    assert kept[:2] == (rounds[-2], rounds[-1])
    assert rounds[0] not in kept and rounds[1] not in kept


def test_a_damaged_guest_is_left_out(shared):
    with Store.open() as store:
        keep_guest(store, check(shared, "r"))
        key = f"guests {LEVEL}"
        store.set_setting(key, [{"format": 9}, *store.get_setting(key), "?"])
        assert guests(store, LEVEL) == (shared,)


def test_started_in_another_zone_is_the_same_moment(shared):
    text = edited(shared, started="2026-03-01T21:00:00+09:00")
    assert parse_record(text, "r").started == datetime(2026, 3, 1, 12, tzinfo=UTC)


# The export


def test_what_is_not_finished_or_not_there_is_not_exported(tmp_path, capsys):
    with Store.open() as store:
        reader = store.add_reader("A")
        number = store.begin(reader.id, robot_terms(LEVEL), datetime.now(UTC))
    path = tmp_path / "r.json"
    (line,) = command_line.refused(capsys, "record", "export", number, path)
    assert "not finished" in line
    (line,) = command_line.refused(capsys, "record", "export", 99, path)
    assert "99" in line
    assert not path.exists()


def test_a_file_is_not_written_over_unless_asked(shared, tmp_path, capsys):
    with Store.open() as store:
        number = keep(store, store.add_reader("A").id, replace(shared, name=""))
    path = tmp_path / "r.json"
    path.write_text("mine")
    (line,) = command_line.refused(capsys, "record", "export", number, path)
    assert "--force" in line and path.read_text() == "mine"
    assert main(["record", "export", str(number), str(path), "--force"]) == 0
    assert parse_record(path.read_text(encoding="utf-8"), "r") == replace(shared, name="")
    capsys.readouterr()
    (line,) = command_line.refused(capsys, "record", "export", number, tmp_path / "no" / "r.json")
    assert "name a place that can be written" in line
