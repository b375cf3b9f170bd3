# SPDX-License-Identifier: MIT
"""A profile remembers how its reader came to read so: slopes by the day, examples of misreads."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from random import Random

import pytest
from builders import bar_of, key, shipped
from hypothesis import given, settings
from hypothesis import strategies as st
from simulated_readers import TimedReader, mistakes_of, round_of

from game.engraving import prompt_mei
from game.levels import Prompt
from game.notation import Clef
from game.reader import DAY_S, Counting, Misread, Profile, TimedAnswer, counting_over, explain
from game.reader.example import example_of
from game.reader.history import MOST, Slopes, filed
from game.rounds import Flip, Press, Round, Stop, play

DAY = 20_000.0 * DAY_S
PLACES = range(-2, 9)
SLOPE = Counting(120.0, 80.0, 150.0, (2,), 118.0, 60)


def note_at(position: int) -> Prompt:
    step = Clef.TREBLE.step_at(position)
    octave, letter = divmod(step, 7)
    return bar_of(f"{'CDEFGAB'[letter]}{octave}")


def history_of(profile: Profile, clef: Clef) -> Slopes:
    return profile.slope_history(clef, profile.counting(clef))


def after_timings(profile: Profile, timings: list[TimedAnswer], at: float) -> Profile:
    profile = profile.begun(at)
    for timing in timings:
        prompt = note_at(timing.position)
        presses = [Press(timing.t, k) for k in prompt.slots[0].keys]
        played = play(Round((prompt,), 30.0), [Flip(0.0), *presses, Stop(60.0)])
        profile = profile.after(prompt, played.results[0], at).profile
    return profile


def after_miss(
    profile: Profile, prompt: Prompt, pressed: int, at: float, before: Prompt | None = None
) -> Profile:
    """After a round in which the last slot of a prompt is missed by this key."""
    events: list[Flip | Press | Stop] = [Flip(0.0)]
    for number, slot in enumerate(prompt.slots):
        if number == len(prompt.slots) - 1:
            events.append(Press(3 * number + 1.0, pressed))
        events += [Press(3 * number + 2.5, k) for k in sorted(slot.keys)]
    played = play(Round((prompt,), 30.0), [*events, Stop(60.0)])
    for result in played.results:
        profile = profile.after(prompt, result, at, before).profile
    return profile


def test_the_history_is_what_the_same_answers_give_day_by_day():
    rng = Random(4)
    days = [
        (DAY + n * DAY_S, TimedReader(300 - 60 * n).timings(round_of(PLACES, rng), rng))
        for n in range(5)
    ]
    profile = Profile()
    for at, timings in days:
        profile = after_timings(profile, timings[:10], at)  # two rounds a day
        profile = after_timings(profile, timings[10:], at + 600)
    assert history_of(profile, Clef.TREBLE) == counting_over(
        [(at + 600, timings) for at, timings in days]
    )
    assert len(history_of(profile, Clef.TREBLE)) >= 4
    assert history_of(profile, Clef.BASS) == ()


def test_the_history_comes_back_from_a_file():
    rng = Random(4)
    profile = Profile()
    for n in range(3):
        timings = TimedReader(250).timings(round_of(PLACES, rng), rng)
        profile = after_timings(profile, timings, DAY + n * DAY_S)
    profile = after_miss(profile, bar_of("A4"), key("A5"), DAY)
    kept = Profile.from_json(json.loads(json.dumps(profile.to_json())))
    assert history_of(kept, Clef.TREBLE) == history_of(profile, Clef.TREBLE)
    assert kept.examples == profile.examples


def test_a_profile_of_an_older_game_is_still_read():
    rng = Random(4)
    profile = after_timings(Profile(), TimedReader(250).timings(round_of(PLACES, rng), rng), DAY)
    old = {
        name: value
        for name, value in profile.to_json().items()
        if name in ("version", "knowledge", "habits", "timings")
    }
    kept = Profile.from_json(old)
    assert kept.knowledge == profile.knowledge
    assert kept.examples == {}
    # Its answers have no date but that of the latest sign under the clef.
    assert [at for at, _ in history_of(kept, Clef.TREBLE)] == [DAY]


@pytest.mark.parametrize(
    "damage",
    [
        {"slopes": {"treble": [[1]]}},
        {"slopes": {"tabor": []}},
        {"slopes": 3},
        {"timed_at": {"treble": "noon"}},
        {"examples": {"bored": {}}},
        {"examples": {"wrong octave": {}}},
        {"examples": {"wrong octave": None}},
    ],
)
def test_a_damaged_history_is_refused(damage):
    with pytest.raises(ValueError):
        Profile.from_json(Profile().to_json() | damage)


@given(st.lists(st.floats(0, 4000 * DAY_S), min_size=1, max_size=60), st.integers(0, 3 * MOST))
@settings(max_examples=40, deadline=None)
def test_the_history_stays_small_sorted_and_behind_the_clock_however_it_is_set(times, more):
    """Each round's day is filed when the next round begins, whatever the clock says by then."""
    history: Slopes = ()
    ends = [*times, *(times[-1] + n * DAY_S for n in range(1, more + 2))]
    for last, now in pairwise(ends):
        history = filed(history, last, SLOPE, now)
        dates = [at for at, _ in history]
        assert dates == sorted(dates)
        assert len({at // DAY_S for at in dates}) == len(dates) <= MOST
        assert dates[-1] == min(last, now)


def test_a_long_history_keeps_its_beginning():
    history: Slopes = ()
    for n in range(5 * MOST):
        history = filed(history, n * DAY_S, SLOPE, n * DAY_S)
    assert history[0][0] == 0
    assert [at for at, _ in history[-5:]] == [(5 * MOST - n) * DAY_S for n in (5, 4, 3, 2, 1)]


# Examples


def shown(prompt: Prompt) -> list[tuple[int, str, str | None]]:
    return [
        (slot.bar, note.pitch.spelling, note.sign) for slot in prompt.slots for note in slot.notes
    ]


def test_the_latest_misread_of_a_kind_is_its_example():
    profile = after_miss(Profile(), bar_of("A4"), key("A5"), DAY)
    profile = after_miss(profile, bar_of("E4 G4", "B4"), key("B3"), DAY + 60)
    assert set(profile.examples) == {Misread.OCTAVE}
    example = profile.examples[Misread.OCTAVE]
    assert (example.shown.spelling, example.played, example.at) == ("B4", key("B3"), DAY + 60)
    assert shown(example.prompt) == [(0, "B4", None)]


def test_a_sign_that_held_is_shown_with_the_note_that_forgot_it():
    prompt = bar_of("F#4", "A4", "C5", "F#4")
    profile = after_miss(Profile(), prompt, key("F4"), DAY)
    example = profile.examples[Misread.SIGN]
    assert shown(example.prompt) == [(0, "F#4", "#"), (0, "F#4", None)]
    assert example.note is example.prompt.notes[-1]
    assert example.read.spelling == "F4"


def test_a_sign_that_was_carried_is_shown_in_the_bar_before():
    before, prompt = bar_of("F#4", "A4"), bar_of("F4", name="q")
    profile = after_miss(Profile(), prompt, key("F#4"), DAY, before)
    assert shown(profile.examples[Misread.CARRIED].prompt) == [(0, "F#4", "#"), (1, "F4", None)]


def test_a_sign_printed_in_what_is_left_out_is_printed_at_the_note_itself():
    prompt = bar_of("F#4", "A4 F#4")
    profile = after_miss(Profile(), prompt, key("A5"), DAY)
    [example] = profile.examples.values()
    assert example.shown.spelling == "A4"
    assert shown(example.prompt) == [(0, "A4", None), (0, "F#4", "#")]


def test_every_kind_of_misread_leaves_an_example_that_can_be_engraved():
    levels = [rung.level for rung in shipped().rungs if rung.level.show.texture == "one note"]
    for kind in Misread:
        if kind is Misread.UNKNOWN:
            continue
        made = 0
        for mistake in mistakes_of(kind, levels[-12:] + levels[:4], seed=1, rounds=1):
            why = explain(mistake.prompt, mistake.slot, mistake.press, before=mistake.before)
            example = example_of(
                mistake.prompt, mistake.slot, mistake.press.key, why, DAY, mistake.before
            )
            assert example.shown == why.shown
            assert example.note in example.prompt.slots[-1].notes
            assert len(example.prompt.slots) <= 2
            for note, bar in example.prompt.walk():  # what is printed says what sounds
                assert bar.read(note.staff, note.pitch.step, note.sign) == note.pitch
            assert prompt_mei(example.prompt)
            again = type(example).from_json(json.loads(json.dumps(example.to_json())))
            assert again == example
            made += 1
        assert made, kind


def test_what_is_asked_for_and_not_printed_makes_no_example():
    prompt = bar_of("F#4")
    hidden = replace(prompt, slots=(prompt.slots[0]._replace(asks="altered"),))
    profile = after_miss(Profile(), hidden, key("G4"), DAY)
    assert profile.examples == {}
