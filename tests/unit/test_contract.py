# SPDX-License-Identifier: MIT
"""The JSON of the commands: field by field as published, figures worked out by hand."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from command_line import LEVEL

from game.contract.judged import judge_json, record_json
from game.contract.keyboards import keyboards_json
from game.contract.printed import deal_json, levels_json
from game.levels import Level, Note, Prompt, Slot, difficulty, parse_level
from game.notation import Clef, KeySignature, Pitch
from game.rounds import Press, Pulse, Round, Terms, play
from game.rounds.played import events_of
from game.store import ResultSummary

TERMS = Terms("five-notes", LEVEL, 7, 3)


def level() -> Level:
    return parse_level(LEVEL, "five-notes.toml")


def one(spelling: str, sign: str | None = None, id: str = "n") -> Prompt:
    note = Note(id, Pitch.parse(spelling), 1, Clef.TREBLE, sign)
    return Prompt(KeySignature(0), (Slot((note,)),))


def judged(*presses: tuple[float, int]) -> dict[str, object]:
    """C4, D4, E4, each at most 4 seconds, played by (seconds, key)."""
    return dict(judge_json(level(), 7, ended(*presses)))


def ended(*presses: tuple[float, int]) -> Round:
    start = Round((one("C4"), one("D4"), one("E4")), 4.0)
    return play(start, events_of(start, [Press(t, key, 80) for t, key in presses]))


# C4 after 1 s: 100 (1 - 1/4) = 75. D4 after 0.5 s wrong: -100 (1 - 0.5/4) = -87.5, found at
# 2 s. E4 three seconds later: 100 (1 - 3/4) = 25.
GOOD = ((1.0, 60), (1.5, 74), (2.0, 62), (5.0, 64))


def test_the_figures_of_a_round_worked_out_by_hand():
    figures = {name: value for name, value in judged(*GOOD).items() if name != "slots"}
    assert figures == {
        "format": 1,
        "level": "five-notes",
        "seed": 7,
        "score": pytest.approx(12.5 / 3),
        "mean_points": pytest.approx(12.5 / 3),
        "accuracy": pytest.approx(2 / 3),
        "limit_s": 4.0,
        "median_s": 2.0,  # of 1 and 3
        "tempo_per_min": 24.0,  # 2 right in 5 seconds
        "tempo_word": "Adagio",
        "seconds": 5.0,
        "slots_right": 2,
        "complete": True,
        "timing": None,
        "pass": True,
    }


def test_each_slot_tells_its_presses_in_order():
    first, second, third = judged(*GOOD)["slots"]
    assert first == {
        "prompt": 0,
        "slot": 0,
        "expected": [60],
        "first_press": 60,
        "verdict": "right",
        "t": 1.0,
        "points": 75.0,
        "completed": True,
        "presses": [{"t": 1.0, "key": 60, "velocity": 80, "verdict": "right"}],
    }
    assert (second["verdict"], second["points"], second["t"]) == ("wrong octave", -87.5, 0.5)
    assert second["presses"] == [
        {"t": 0.5, "key": 74, "velocity": 80, "verdict": "wrong octave"},
        {"t": 1.0, "key": 62, "velocity": 80, "verdict": "right"},
    ]
    assert (third["prompt"], third["points"]) == (2, 25.0)


def test_a_slot_without_a_press_has_null_and_no_points():
    last = judged((1.0, 60))["slots"][-1]
    assert last == {
        "prompt": 1,
        "slot": 0,
        "expected": [62],
        "first_press": None,
        "verdict": "unanswered",
        "t": None,
        "points": 0.0,
        "completed": False,
        "presses": [],
    }


def test_a_round_with_nothing_right_has_null_where_there_is_no_figure():
    nothing = judged()
    assert (nothing["score"], nothing["accuracy"]) == (0.0, 0.0)
    assert nothing["median_s"] is nothing["tempo_per_min"] is nothing["tempo_word"] is None
    assert nothing["complete"] is nothing["pass"] is False


def test_a_score_below_nothing_is_shown_as_nothing_and_kept_as_mean():
    wrong = judged((1.0, 61))
    assert (wrong["score"], wrong["mean_points"]) == (0.0, -75.0)


def test_a_round_broken_off_does_not_pass_however_good():
    good = judged((0.5, 60), (1.0, 62))
    assert good["slots"][-1]["verdict"] == "unanswered"
    assert good["pass"] is False


def test_a_deal_tells_spelling_key_staff_clef_and_printed_sign():
    prompt = Prompt(
        KeySignature(-2),
        (
            Slot((Note("a", Pitch.parse("Cb4"), 1, Clef.TREBLE, "b"),)),
            Slot(
                (
                    Note("b", Pitch.parse("Bb2"), 2, Clef.BASS),
                    Note("c", Pitch.parse("F##4"), 1, Clef.TREBLE, "##"),
                )
            ),
        ),
    )
    dealt = deal_json("five-notes", 7, [prompt], ["<mei/>"])
    assert dealt == {
        "format": 1,
        "level": "five-notes",
        "seed": 7,
        "prompts": [
            {
                "mei": "<mei/>",
                "signature": -2,
                "metre": None,
                "name": "",
                "difficulty": difficulty(prompt),
                "slots": [
                    {
                        "notes": [
                            {
                                "id": "a",
                                "spelling": "Cb4",
                                "key": 59,  # sounds as B3
                                "staff": 1,
                                "clef": "treble",
                                "sign": "b",
                                "tied": False,
                                "length": None,
                            }
                        ],
                        "bar": 0,
                        "beat": None,
                        "asks": "",
                    },
                    {
                        "notes": [
                            {
                                "id": "b",
                                "spelling": "Bb2",
                                "key": 46,
                                "staff": 2,
                                "clef": "bass",
                                "sign": None,
                                "tied": False,
                                "length": None,
                            },
                            {
                                "id": "c",
                                "spelling": "F##4",
                                "key": 67,  # sounds as G4
                                "staff": 1,
                                "clef": "treble",
                                "sign": "##",
                                "tied": False,
                                "length": None,
                            },
                        ],
                        "bar": 0,
                        "beat": None,
                        "asks": "",
                    },
                ],
            }
        ],
    }


def slots_of(prompt: Prompt) -> list[dict[str, object]]:
    (told,) = deal_json("any", 1, [prompt], ["<mei/>"])["prompts"]
    return told["slots"]


def test_a_deal_tells_bars_and_ties():
    held = [
        Slot((Note(f"n{bar}", Pitch.parse("F#4"), 1, Clef.TREBLE, sign, bar > 0),), bar)
        for bar, sign in enumerate(["#", None])
    ]
    first, second = slots_of(Prompt(KeySignature(0), tuple(held)))
    assert (first["bar"], second["bar"]) == (0, 1)
    assert [note["tied"] for slot in (first, second) for note in slot["notes"]] == [False, True]
    assert [note["sign"] for slot in (first, second) for note in slot["notes"]] == ["#", None]
    assert [slot["beat"] for slot in (first, second)] == [None, None]


def in_time(*lengths: float) -> Prompt:
    """A C4 of each length, one after the other, in 3/4."""
    slots, at = [], 0.0
    for number, length in enumerate(lengths):
        note = Note(f"n{number}", Pitch.parse("C4"), 1, Clef.TREBLE, length=length)
        slots.append(Slot((note,), int(at // 3), at))
        at += length
    return Prompt(KeySignature(0), tuple(slots), (3, 4))


def test_a_deal_tells_metre_beats_and_lengths():
    prompt = in_time(1.5, 0.5, 1, 3)
    (told,) = deal_json("any", 1, [prompt], ["<mei/>"])["prompts"]
    assert told["metre"] == [3, 4]
    # Beats count from the beginning of the prompt, not of the bar.
    assert [slot["beat"] for slot in told["slots"]] == [0, 1.5, 2, 3]
    assert [slot["bar"] for slot in told["slots"]] == [0, 0, 0, 1]
    assert [slot["notes"][0]["length"] for slot in told["slots"]] == [1.5, 0.5, 1, 3]


def test_a_deal_tells_what_is_asked_for_and_what_a_bar_is_called():
    asked = one("G4").slots[0]._replace(asks="major tonic")
    prompt = Prompt(KeySignature(1), (asked,), name="bar 7")
    (told,) = deal_json("any", 1, [prompt], ["<mei/>"])["prompts"]
    assert (told["name"], told["slots"][0]["asks"]) == ("bar 7", "major tonic")


def test_phrases_read_in_time_tell_how_time_was_kept():
    # A quarter is a second: after three counted ones, 0.1 s late, 0.3 s early, and one missed.
    prompt = in_time(1, 1, 1)
    start = Round((prompt,), 0.5, pulse=Pulse(60.0))
    presses = [Press(3.1, 60, 80), Press(3.7, 60, 80)]
    told = judge_json(level(), 7, play(start, events_of(start, presses)))
    assert told["timing"] == {
        "accuracy": pytest.approx(2 / 3),
        "offset_s": pytest.approx(-0.1),  # the median of 0.1 and -0.3
        "spread_s": None,  # two notes say nothing of it
        "drift": None,
        "delay_s": 0.0,
    }
    assert [slot["verdict"] for slot in told["slots"]] == ["right", "right", "unanswered"]
    assert [slot["presses"][0]["t"] for slot in told["slots"][:2]] == pytest.approx([0.1, -0.3])
    assert [slot["t"] for slot in told["slots"][:2]] == pytest.approx([0.1, 0.3])
    assert [slot["points"] for slot in told["slots"]] == pytest.approx([80.0, 40.0, 0.0])
    assert told["seconds"] == pytest.approx(7.0)  # the count-in, the bar, and a beat more
    assert json.loads(json.dumps(told, allow_nan=False)) == told


def test_levels_and_keyboards():
    assert levels_json([level()]) == {
        "format": 1,
        "levels": [{"id": "five-notes", "title": "Five notes", "limit_s": 4.0}],
    }
    assert keyboards_json("rtmidi", ("A", "B")) == {
        "format": 1,
        "backend": "rtmidi",
        "keyboards": ["A", "B"],
    }


def kept() -> ResultSummary:
    """What was kept of the round GOOD."""
    return ResultSummary(12.5 / 3, 12.5 / 3, 2 / 3, 2.0, 24.0, 3, 2, passed=True, complete=True)


def test_a_record_agrees_with_its_own_figures():
    told = record_json(TERMS, ended(*GOOD), 12, kept())
    assert (told["record"], told["agrees"], told["differing"]) == (12, True, {})
    assert told["kept"]["median_s"] == 2.0
    assert {**told, **judged(*GOOD)} == told


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("score", 50.0),
        ("mean_points", 4.17),
        ("accuracy", 1.0),
        ("median_s", None),
        ("tempo_per_min", 24.001),
        ("slots", 4),
        ("right", 3),
        ("passed", False),
        ("complete", False),
    ],
)
def test_any_other_figure_is_named(name, value):
    told = record_json(TERMS, ended(*GOOD), 12, replace(kept(), **{name: value}))
    assert (told["agrees"], told["differing"]) == (False, {name: getattr(kept(), name)})


def test_a_deal_that_the_reader_knew_passes_nothing():
    told = record_json(replace(TERMS, known=True), ended(*GOOD), 12, None)
    assert (judged(*GOOD)["pass"], told["pass"]) == (True, False)


def test_a_round_shorter_than_the_levels_own_passes_nothing():
    longer = parse_level(LEVEL.replace("prompts = 3", "prompts = 4"), "longer.toml")
    assert judge_json(longer, 7, ended(*GOOD))["pass"] is False


def test_an_unfinished_record_has_nothing_to_agree_with():
    told = record_json(TERMS, ended((1.0, 60)), 12, None)
    assert told["kept"] is told["agrees"] is None


def test_everything_is_json():
    told = record_json(TERMS, ended(*GOOD), 12, kept())
    assert json.loads(json.dumps(told, allow_nan=False)) == told
