# SPDX-License-Identifier: MIT
"""A level file is read whole, or every fault in it is named at once."""

from __future__ import annotations

import tomllib
from pathlib import Path

import jsonschema
import pytest
from builders import LEVELS, key, level, level_text

from game.levels import Fault, LevelFaults, json_schema, level_files, parse_level, read_level
from game.notation import Clef, Pitch, ledger_lines

FILES = level_files(LEVELS)
SPAN = 'treble = "C4 to G4"\n'
SIGNED = SPAN + 'signs = ["#", "n"]\n'
PHRASE = 'treble = "C4 to G5"\ntexture = "phrase"\n'


def faults(text: str) -> dict[str, Fault]:
    """Key -> fault; every key has one."""
    with pytest.raises(LevelFaults) as refusal:
        parse_level(text, "mine.toml")
    found = refusal.value.faults
    assert all(fault.file == "mine.toml" for fault in found)
    assert len({fault.key for fault in found}) == len(found)
    return {fault.key: fault for fault in found}


def only_fault(text: str) -> Fault:
    (fault,) = faults(text).values()
    return fault


def test_a_sound_level_is_read_as_it_stands():
    text = level_text(
        'treble = ["G4", "C4", "G4"]\nbass = "F3 to A3"\nsignatures = [2, -3]\nsigns = ["n"]\n'
        "rare_spellings = true\nslots = 4",
        more="accuracy = 1\n[round]\nprompts = 5\nseconds = 30",
        limit_s=7.5,
    )
    read = parse_level(text, "mine.toml")
    assert read.show.upper == (Pitch.parse("C4").step, Pitch.parse("G4").step)
    assert read.show.lower == tuple(Pitch.parse(p).step for p in ("F3", "G3", "A3"))
    assert (read.show.signatures, read.show.signs) == ((2, -3), ("n",))
    assert (read.show.rare_spellings, read.show.slots, read.limit_s) == (True, 4, 7.5)
    assert (read.passing.accuracy, read.passing.median_s) == (1, 3)
    assert (read.round.prompts, read.round.seconds) == (5, 30)


def test_what_is_left_out_takes_the_stated_defaults():
    read = level('bass = "F3 to A3"')
    assert read.show.upper is None
    assert (read.show.signatures, read.show.signs, read.show.slots) == ((0,), (), 1)
    assert read.show.texture == "one note"
    assert (read.round.prompts, read.round.seconds, read.passing.accuracy) == (24, 60, 0.9)


def test_every_fault_of_a_file_is_named_at_once():
    found = faults(
        """
        format = 2
        id = "My Level"
        title = ""
        stage = 3
        limit_s = 2
        colour = "red"
        [show]
        treble = ["C#4", "H4", "C9"]
        bass = "C4 to C3"
        signatures = [0, 9]
        signs = ["x"]
        slots = 0
        slotss = 2
        shapes = [[3, 5]]
        [pass]
        accuracy = 90
        median_s = 3
        [round]
        prompts = 0
        """
    )
    assert found.keys() == {
        "format", "id", "title", "stage", "colour", "show.treble", "show.bass",
        "show.signatures, entry 2", "show.signs, entry 1",
        "show.slots", "show.slotss", "show.shapes",
        "pass.accuracy", "round.prompts",
    }  # fmt: skip


def test_faults_between_keys_and_an_empty_pool_do_not_wait_for_the_others():
    found = faults(level_text('treble = ["C4"]', more="[round]\nprompts = 0", limit_s=2, id='"No"'))
    assert found.keys() == {"id", "pass", "show", "round.prompts"}
    assert "median_s must not be above limit_s" in found["pass"].allowed
    assert "two different prompts" in found["show"].allowed


def test_each_wrong_place_of_a_list_is_named():
    fault = only_fault(level_text('treble = ["C#4", "H4", "E4", "C9"]'))
    for place in ("'C#4' has a sign", "'H4' is not a pitch", "'C9' is outside the piano"):
        assert place in fault.allowed
    assert "'E4'" not in fault.allowed


@pytest.mark.parametrize(
    ("show", "where", "mend"),
    [
        pytest.param('treble = "C4 to F#4"', "show.treble", "without signs", id="sign"),
        pytest.param('treble = "G0 to C4"', "show.treble", "A0 to C8", id="below the piano"),
        pytest.param('treble = "C4 to D8"', "show.treble", "A0 to C8", id="above the piano"),
        pytest.param('treble = "G4 to C4"', "show.treble", "'C4 to G4'", id="upside down"),
        pytest.param('treble = "C4-G4"', "show.treble", "'C4 to G4'", id="no span"),
        pytest.param("treble = []", "show.treble", "empty", id="no places"),
        pytest.param("treble = [60, 62]", "show.treble", "'C4'", id="numbers for places"),
        pytest.param("treble = 60", "show.treble", "'C4 to G4'", id="a number"),
        pytest.param('treble = ["C4"]', "show", "two", id="one prompt only"),
        pytest.param('treble = "A0 to C8"\nslots = 9', "show.slots", "8", id="too many slots"),
        pytest.param(SPAN + 'slots = "4"', "show.slots", "whole number", id="a number as text"),
        pytest.param(SPAN + "slots = true", "show.slots", "whole number", id="not a number"),
        pytest.param(SPAN + "signatures = []", "show.signatures", "at least 1", id="no signature"),
        pytest.param(SPAN + "signatures = [1, 1]", "show.signatures", "once", id="said twice"),
        pytest.param(
            SPAN + 'signs = ["x"]',
            "show.signs, entry 1",
            "'#', 'b', 'n', '##' or 'bb'",
            id="no sign",
        ),
        pytest.param(SPAN + 'texture = "arpeggio"', "show.texture", "'chord'", id="no texture"),
        pytest.param(SPAN + 'texture = "chord"', "show.shapes", "go together", id="no shapes"),
        pytest.param(SPAN + "shapes = [[3, 5]]", "show.shapes", "go together", id="no chord"),
        pytest.param(
            'treble = "C4 to G5"\ntexture = "chord"\nshapes = [[5, 3]]',
            "show.shapes, entry 1",
            "rise",
            id="shape falls",
        ),
        pytest.param(SPAN + 'texture = "hands together"', "show.lower", "both", id="one hand"),
        pytest.param("slots = 1", "show.lower", "'upper' or 'lower'", id="no staff"),
        pytest.param(SPAN + 'upper = "C4 to G4"', "show.treble", "not the older", id="two names"),
        pytest.param(
            SPAN + 'clefs = ["alto", "green"]',
            "show.clefs, entry 2",
            "treble, bass, alto",
            id="green clef",
        ),
        pytest.param(
            'texture = "written"\nclefs = ["alto", "bass"]\n'
            '[[show.written]]\nslots = ["C4"]\n[[show.written]]\nslots = ["D4"]',
            "show.clefs",
            "C4@alto",
            id="clefs of written notes",
        ),
        pytest.param(SPAN + "bars = 5", "show.bars", "4", id="too many bars"),
        pytest.param(SPAN + "returns = true", "show.returns", "'signs'", id="no sign to return"),
        pytest.param(
            SIGNED + 'texture = "hands together"\nbass = "C3 to G3"\nreturns = true',
            "show.returns",
            "'one note'",
            id="two hands returning",
        ),
        pytest.param(SIGNED + "bars = 2\nties = true", "show.ties", "'returns'", id="tie only"),
        pytest.param(SIGNED + "returns = true\nties = true", "show.ties", "2 'bars'", id="one bar"),
        pytest.param(PHRASE + 'metre = "5/4"', "show.metre", "'6/8'", id="no metre"),
        pytest.param(
            PHRASE + 'metre = "3/4"\ncells = [[2]]',
            "show.cells",
            "fill a bar of 3/4",
            id="cells that do not fill the bar",
        ),
        pytest.param(
            PHRASE + "cells = [[1], [1.25]]", "show.cells, entry 2", "0.25, 0.5, 0.75", id="no note"
        ),
        pytest.param(
            PHRASE + "cells = [[1, -1.5]]",
            "show.cells, entry 1",
            "0.25, 0.5, 1, 2",
            id="a dotted rest",
        ),
        pytest.param(
            PHRASE + "cells = [[1], []]", "show.cells, entry 2", "at least 1", id="empty cell"
        ),
        pytest.param(PHRASE + "cells = []", "show.cells", "at least 1", id="no cell"),
        pytest.param(
            PHRASE + 'modes = ["dorian"]', "show.modes, entry 1", "'minor'", id="another mode"
        ),
        pytest.param(PHRASE + "modes = []", "show.modes", "at least 1", id="no mode"),
        pytest.param(PHRASE + "hand = 4", "show.hand", "5", id="a small hand"),
        pytest.param(PHRASE + "hand = 16", "show.hand", "15", id="a giant's hand"),
        pytest.param(
            'treble = "C4 to G5"\ntexture = "phrases together"', "show.lower", "both", id="one line"
        ),
        pytest.param(
            'texture = "signature"\nsignatures = [1, 2]\nasks = ["tonic"]',
            "show.asks, entry 1",
            "'minor tonic'",
            id="no such question",
        ),
        pytest.param(
            'texture = "signature"\nsignatures = [1, 2]\nasks = ["altered", "altered"]',
            "show.asks",
            "once",
            id="asked twice",
        ),
        pytest.param('texture = "signature"', "show", "two", id="one signature"),
    ],
)
def test_faults_of_what_is_shown(show, where, mend):
    fault = only_fault(level_text(show))
    assert fault.key == where
    assert mend in f"{fault.found} {fault.allowed}"


@pytest.mark.parametrize(
    ("show", "more", "where", "mend"),
    [
        pytest.param(PHRASE, "[time]", "time.tempo", "Quarters per minute", id="no tempo"),
        pytest.param(PHRASE, "[time]\ntempo = 29", "time.tempo", "30", id="too slow"),
        pytest.param(PHRASE, "[time]\ntempo = 201", "time.tempo", "200", id="too fast"),
        pytest.param(PHRASE, "[time]\ntempo = 60\ncount_in = 3", "time.count_in", "2", id="long"),
        pytest.param(SPAN, "[time]\ntempo = 60", "time", "only phrases have a beat", id="no beat"),
    ],
)
def test_faults_of_time(show, more, where, mend):
    fault = only_fault(level_text(show, more=more))
    assert fault.key == where
    assert mend in fault.allowed


def test_a_level_of_phrases_in_time_is_read_as_it_stands():
    read = level(
        PHRASE + 'metre = "6/8"\nmodes = ["minor"]\nhand = 6\nbars = 3\ncells = [[1.5], [1, -0.5]]',
        more="[time]\ntempo = 72.5\ncount_in = 2",
    )
    show = read.show
    assert (show.metre, show.modes, show.hand, show.bars) == ("6/8", ("minor",), 6, 3)
    assert show.cells == ((1.5,), (1.0, -0.5))
    assert (read.time.tempo, read.time.count_in) == (72.5, 2)
    assert level(PHRASE).time is None


@pytest.mark.parametrize(
    ("top", "where"),
    [
        ({"limit_s": 0}, "limit_s"),
        ({"limit_s": 61}, "limit_s"),
        ({"limit_s": "nan"}, "limit_s"),
        ({"limit_s": '"6"'}, "limit_s"),
        ({"limit_s": "true"}, "limit_s"),
        ({"id": '"a--b"'}, "id"),
        ({"id": "7"}, "id"),
        ({"format": 2}, "format"),
        ({"title": '""'}, "title"),
        ({"about": f'"{"x" * 201}"'}, "about"),
    ],
)
def test_faults_of_the_top_of_the_file(top, where):
    fault = only_fault(level_text(**top))
    assert fault.key == where
    assert fault.found
    assert fault.allowed


def test_missing_keys_and_tables_are_named_with_what_belongs_there():
    found = faults("")
    assert found.keys() == {"format", "id", "title", "stage", "limit_s", "show", "pass"}
    assert {fault.found for fault in found.values()} == {"nothing"}
    assert "small letters" in found["id"].allowed
    assert "[show]" in found["show"].allowed


def test_a_table_of_the_wrong_kind():
    text = 'format = 1\nid = "a"\ntitle = "T"\nstage = "S"\nlimit_s = 6\nshow = 3\npass = "yes"'
    assert faults(text).keys() == {"show", "pass"}


@pytest.mark.parametrize(
    ("text", "where", "nearest"),
    [
        (level_text('trebel = "C4 to G4"\nbass = "C3 to G3"'), "show.trebel", "treble"),
        (level_text(limit='"6"'), "limit", "limit_s"),
        (level_text(more="acuracy = 0.9"), "pass.acuracy", "accuracy"),
        (level_text(more="[rounds]\nprompts = 3"), "rounds", "round"),
    ],
)
def test_an_unknown_key_is_answered_with_the_nearest(text, where, nearest):
    fault = only_fault(text)
    assert fault.key == where
    assert f"did you mean {nearest!r}" in fault.allowed


def test_the_name_of_the_field_in_the_program_is_no_key_of_the_file():
    assert "passing" in faults(level_text().replace("[pass]", "[passing]"))


def test_an_unknown_key_far_from_all_is_answered_with_all():
    fault = only_fault(level_text(zzz=1))
    assert "did you mean" not in fault.allowed
    assert "limit_s" in fault.allowed


@pytest.mark.parametrize(
    ("second", "place", "found", "mend"),
    [
        ('id = "a', "line 2, column 8", "'id = \"a'", "ends with the quotation mark"),
        ("format = 2", "line 2, column 11", "'format = 2'", "each name once"),
        ("[show]\n[show]", "line 3, column 6", "'[show]'", "each name once"),
        ("slots: 4", "line 2, column 6", "'slots: 4'", "slots = 4"),
        ("slots =", "line 2, column 8", "'slots ='", "a value"),
        ("x = 2020-99-99", "line 2, column 9", "'x = 2020-99-99'", "name = value"),
        ('x = ["C4"', "the end of the file", "no more", "ends with ]"),
        ("x = " + "[" * 9999, "the file", "too much", "within lists"),
        ("x = 1" + "0" * 9999, "the file", "too much", "few digits"),
    ],
)
def test_what_is_no_toml_is_told_to_people_who_never_heard_of_it(second, place, found, mend):
    fault = only_fault(f"format = 1\n{second}" + ("\n" if place.startswith("line") else ""))
    assert (fault.key, fault.found) == (place, found)
    assert mend in fault.allowed and "TOML" not in str(fault)


@pytest.mark.parametrize(
    ("show", "message"),
    [
        ("slots = 2.5", "show.slots: found 2.5; allowed: a whole number"),
        ("slots = false", "show.slots: found false; allowed: a whole number"),
        ("slots = 0", "show.slots: found 0; allowed: 1 or more"),
        ("bars = 1979-05-27", "show.bars: found 1979-05-27; allowed: a whole number"),
        ("returns = 1", "show.returns: found 1; allowed: true or false"),
        ("signatures = 3", "show.signatures: found 3; allowed: a list, in square brackets"),
        ("signatures = [0, 9]", "show.signatures, entry 2: found 9; allowed: 7 or less"),
        ("written = [3]", "show.written, entry 1: found 3; allowed: a table"),
        (
            'written = [{slots = ["C4"]}, {slots = ["C4", 3]}]',
            "show.written, entry 2, slots, entry 2: found 3; allowed: a slot is text such as "
            "'F#4 A4 / D3'",
        ),
    ],
)
def test_entries_count_from_1_and_words_are_those_of_people(show, message):
    assert f"mine.toml: {message}" in map(str, faults(level_text(SPAN + show)).values())


def test_the_message_names_file_place_finding_and_mend():
    with pytest.raises(LevelFaults) as refusal:
        parse_level(level_text("treble = 'C4 to G4'\nslots = 9", format=7), "mine.toml")
    assert str(refusal.value).splitlines() == [
        "mine.toml: format: found 7; allowed: 1",
        "mine.toml: show.slots: found 9; allowed: 8 or less",
    ]


def test_a_file_that_is_not_utf_8_is_named_with_the_line(tmp_path):
    path = tmp_path / "latin.toml"
    path.write_bytes(level_text(about='"caf').encode() + b'\xe9"')
    with pytest.raises(LevelFaults, match=r"latin\.toml: line 11: .*UTF-8"):
        read_level(path)


@pytest.mark.parametrize("name", ["none.toml", "folder.toml"])
def test_a_file_that_cannot_be_read_is_named(tmp_path, name):
    (tmp_path / "folder.toml").mkdir()
    with pytest.raises(LevelFaults, match=f"{name}: the file: "):
        read_level(tmp_path / name)


def test_a_byte_order_mark_in_front_is_no_fault(tmp_path):
    path = tmp_path / "marked.toml"
    path.write_text(level_text(), encoding="utf-8-sig")
    rung = read_level(path)
    assert rung.level.id == "tested"
    assert parse_level(rung.text, "again") == rung.level


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_shipped_levels_are_sound_by_the_loader_and_by_the_json_schema(path: Path):
    rung = read_level(path)
    assert parse_level(rung.text, path.name) == rung.level
    schema = jsonschema.Draft202012Validator(json_schema())
    schema.validate(tomllib.loads(rung.text))


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(json_schema())


@pytest.mark.parametrize(
    "text",
    [
        level_text(format=2),
        level_text(id='"No Spaces"'),
        level_text(colour='"red"'),
        level_text(limit_s=0),
        level_text("treble = []"),
        level_text("treble = [60]"),
        level_text('trebel = "C4 to G4"'),
        level_text('treble = "C4 to G4"\nslots = "4"'),
        level_text('treble = "C4 to G4"\nsigns = ["x"]'),
        level_text('treble = "C4 to G4"\nsignatures = [8]'),
        level_text('treble = "C4 to G4"\nsignatures = [1, 1]'),
        level_text(more="accuracy = 90"),
        level_text().replace("[pass]", "[passing]"),
        "",
    ],
)
def test_the_schema_refuses_what_the_loader_refuses(text):
    assert faults(text)
    schema = jsonschema.Draft202012Validator(json_schema())
    assert not schema.is_valid(tomllib.loads(text))


@pytest.mark.parametrize(
    ("accuracy", "median_s", "passes"),
    [
        (0.9, 3.0, True),
        (0.89, 3.0, False),
        (0.9, 3.01, False),
        (1.0, 0.5, True),
        (1.0, None, False),
    ],
)
def test_a_level_is_passed_by_accuracy_and_speed_together(accuracy, median_s, passes):
    assert level().passed(accuracy, median_s) is passes


def test_shipped_levels_need_four_ledger_lines_at_most_and_the_keys_of_a_piano():
    most = 0
    for path in FILES:
        show = read_level(path).level.show
        for clef, steps in ((Clef.TREBLE, show.upper), (Clef.BASS, show.lower)):
            for step in steps or ():
                pitch = Pitch.at_step(step)
                most = max(most, abs(ledger_lines(clef.position(pitch))))
                assert key("A0") <= pitch.key <= key("C8")
    assert most == 4
