# SPDX-License-Identifier: MIT
"""Chords that are misread as a whole: what was played, and why, as the result page says it."""

from __future__ import annotations

import pytest
from builders import bar_of, key

from game.app.app import App, AppOptions
from game.levels import Prompt
from game.reader import Habits, Misread, chord_misread, readings
from game.rounds import Flip, Press, Round, play
from game.screens.play.why import missed_of
from game.ui.stage import Stage

TRIAD, SIGNED = bar_of("C4 E4 G4"), bar_of("D4 F#4 A4", signature=1)
BASS = bar_of("G2 B2 D3", lower=True)


@pytest.fixture(scope="module")
def stage(tmp_path_factory):
    app = App(AppOptions(store=str(tmp_path_factory.mktemp("store") / "store.db")))
    app.stage.rounds.greet(app.stage.store.add_reader("A"))
    yield app.stage
    app.stage.store.close()
    app.stage.sounds.player.close()


def missed(stage: Stage, prompt: Prompt, *presses: tuple[float, str]):
    """What the page says of presses at these times, with which the chord is found at last."""
    right = [Press(9.0, one) for one in sorted(prompt.slots[0].keys)]
    struck = [Press(t, key(name)) for t, name in presses]
    ended = play(Round((prompt,), 8.0), [Flip(0.0), *struck, *right])
    assert ended.complete
    return missed_of(stage, ended, ended.results[0])


def together(text: str) -> list[tuple[float, str]]:
    return [(1.0 + 0.03 * n, name) for n, name in enumerate(text.split())]


@pytest.mark.parametrize(
    ("prompt", "struck", "reason"),
    [
        (TRIAD, "D4 F4 A4", "whole chord: a step off"),
        (TRIAD, "B3 D4 F4", "whole chord: a step off"),
        (TRIAD, "E4 G4 B4", "whole chord: a third off"),  # two of its keys are right ones
        (TRIAD, "C5 E5 G5", "whole chord: wrong octave"),
        (BASS, "E4 G4 B4", "whole chord: other clef"),
        (BASS, "A2 C3 E3", "whole chord: a step off"),
        (SIGNED, "D4 F4 A4", "signature forgotten"),
        (TRIAD, "D4 E4 G4", "a step off"),
        (TRIAD, "D4 F4 G4", "a step off"),  # two notes of three, alike
    ],
)
def test_what_was_played_stands_there_whole_with_one_reason_for_all(stage, prompt, struck, reason):
    found = missed(stage, prompt, *together(struck))
    assert [pitch.spelling for pitch in found.played] == struck.split()
    assert found.reason == reason
    wrong = set(map(key, struck.split())) - prompt.slots[0].keys
    assert {one.played.key for one in found.wrong} == wrong
    if len(wrong) > 1:
        assert len({one.note.id for one in found.wrong}) == len(wrong)


def test_keys_that_nothing_explains_are_named_with_no_reason(stage):
    found = missed(stage, TRIAD, *together("E2 G#5 B6"))
    assert [pitch.key for pitch in found.played] == sorted(map(key, ("E2", "G#5", "B6")))
    assert found.reason == ""


def test_keys_that_come_later_are_no_part_of_the_answer(stage):
    found = missed(stage, TRIAD, (1.0, "D4"), (1.05, "F4"), (1.1, "A4"), (2.0, "B4"))
    assert [pitch.spelling for pitch in found.played] == ["D4", "F4", "A4"]
    found = missed(stage, TRIAD, (1.0, "C4"), (1.1, "F4"), (3.0, "A4"))
    assert [pitch.spelling for pitch in found.played] == ["C4", "F4"]


def test_a_chord_played_apart_was_not_misread(stage):
    found = missed(stage, TRIAD, (1.0, "C4"), (1.6, "E4"), (2.2, "G4"), (3.0, "A4"))
    assert found.wrong == ()


@pytest.mark.parametrize("prompt", [TRIAD, SIGNED, BASS, bar_of("F#4 A4 C5 E5", signature=-2)])
def test_every_way_in_which_all_notes_are_misread_alike_is_found(prompt):
    """By the readings of its notes alone; a step up is one of them for every chord."""
    notes = prompt.slots[0].notes
    alike: dict[tuple[Misread, int], list[int]] = {}
    for note in notes:
        for one in readings(prompt, note):
            if one.kind in (Misread.STEP, Misread.OCTAVE):
                alike.setdefault((one.kind, one.pitch.step - note.pitch.step), []).append(
                    one.pitch.key
                )
    whole = {way: keys for way, keys in alike.items() if len(keys) == len(notes)}
    assert (Misread.STEP, 1) in whole
    for (kind, _steps), keys in whole.items():
        found = chord_misread(prompt, notes, keys, Habits())
        assert found is not None
        assert found.kind is kind
        assert sorted(pitch.key for pitch in found.read.values()) == sorted(keys)
    assert chord_misread(prompt, notes, [20, 30, 41], Habits()) is None
