# SPDX-License-Identifier: MIT
"""A reader's profile grows slot by slot, whatever the rounds were, and reads back the same."""

from __future__ import annotations

import json
from random import Random

import pytest
from builders import answers, bar_of, key, prompts_of, shipped

from game.levels import Prompt, deal
from game.notation import Clef
from game.reader import Misread, Profile, ReadingItem, Source
from game.rounds import Flip, Press, Round, SlotResult, Stop, Verdict, play

NOW = 1.7e9
A4 = ReadingItem(Clef.TREBLE, 3)


def result_of(prompt: Prompt, *presses: Press, slot: int = 0) -> SlotResult:
    """The result of a slot of a prompt that was shown at 0."""
    return play(Round((prompt,), 8.0), [Flip(0.0), *presses, Stop(60.0)]).results[slot]


def test_a_right_answer_is_known_and_timed():
    prompt = bar_of("A4")
    profile, explanation = Profile().after(prompt, result_of(prompt, Press(1.2, 69)), NOW)
    assert explanation is None
    assert list(profile.knowledge.signs) == [A4]
    assert [t.t for t in profile.timings[Clef.TREBLE]] == [1.2]


def test_a_wrong_answer_is_known_and_explained():
    prompt = bar_of("A4")
    result = result_of(prompt, Press(1.2, key("A5")), Press(2.4, key("A4")))
    profile, explanation = Profile().after(prompt, result, NOW)
    assert explanation.kind is Misread.OCTAVE
    assert profile.knowledge.certainty(A4, NOW) < Profile().knowledge.certainty(A4, NOW)
    assert profile.habits.counts[Misread.OCTAVE] > 0.9
    assert profile.timings == {}


def test_a_slot_left_unanswered_teaches_nothing():
    prompt = bar_of("A4")
    result = result_of(prompt)
    assert result.verdict is Verdict.UNANSWERED
    assert Profile().after(prompt, result, NOW) == (Profile(), None)


def test_music_in_time_says_what_was_read_but_not_how_fast():
    prompt = bar_of("A4")
    result = result_of(prompt, Press(5.0, 69))
    profile, _ = Profile().after(prompt, result, NOW, in_time=True)
    assert profile.knowledge.signs[A4].right == 1
    assert profile.knowledge.usual_s == Profile().knowledge.usual_s
    assert profile.timings == {}


def test_only_what_shows_counting_is_timed_for_it():
    prompt = bar_of("A4", "C5")
    played = play(Round((prompt,), 8.0), answers(prompt))
    profile = Profile()
    for result in played.results:  # the second note may have been read ahead
        profile, _ = profile.after(prompt, result, NOW)
    assert [timing.position for timing in profile.timings[Clef.TREBLE]] == [3]
    sharp, chord = bar_of("G#4"), bar_of("A4 C5")
    for other in (sharp, chord):
        presses = [Press(1.0, k) for k in other.slots[0].keys]
        assert Profile().after(other, result_of(other, *presses), NOW).profile.timings == {}


def test_a_reader_with_few_presses_has_no_slope_yet():
    profile = Profile()
    for prompt in prompts_of("A4", "B4", "C5"):
        presses = [Press(1.0, k) for k in prompt.slots[0].keys]
        profile, _ = profile.after(prompt, result_of(prompt, *presses), NOW)
    assert profile.counting(Clef.TREBLE) is None is profile.counting(Clef.BASS)


def practised(rounds: int) -> Profile:
    """A profile after rounds on the whole ladder with one press in five wrong."""
    profile, rng = Profile(), Random(2)
    for number in range(rounds):
        for rung in shipped().rungs:
            before = None
            for prompt in deal(rung.level, number, 4):
                events: list[Flip | Press | Stop] = [Flip(0.0)]
                at = 0.0
                for slot in prompt.slots:
                    at += 0.5 + rng.random()
                    if rng.random() < 0.2:
                        events.append(Press(at, 21 + int(88 * rng.random())))
                    events += [Press(at + 0.5, k) for k in sorted(slot.keys)]
                    at += 0.5
                played = play(Round((prompt,), 8.0), [*events, Stop(at + 1)])
                for result in played.results:
                    profile, _ = profile.after(prompt, result, NOW + number, before)
                before = prompt
    return profile


def test_the_whole_ladder_can_be_learnt_from_and_kept():
    profile = practised(1)
    assert {sign.source for sign in profile.knowledge.signs} == set(Source)
    assert profile.counting(Clef.TREBLE) is not None
    kept = Profile.from_json(json.loads(json.dumps(profile.to_json())))
    assert kept.knowledge == profile.knowledge
    assert kept.timings == profile.timings
    assert kept.habits.counts == pytest.approx(profile.habits.counts, abs=1e-5)


@pytest.mark.parametrize(
    "damage",
    [
        {"version": 2},
        {"knowledge": None},
        {"habits": {"bored": 1.0}},
        {"timings": {"treble": [[1]]}},
        {"timings": {"tabor": []}},
        {"timings": 3},
    ],
)
def test_a_damaged_profile_is_refused(damage):
    with pytest.raises(ValueError):
        Profile.from_json(Profile().to_json() | damage)
