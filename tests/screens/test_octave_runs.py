# SPDX-License-Identifier: MIT
"""A keyboard that is shifted by octaves teaches nothing about its reader."""

from __future__ import annotations

import json

import pytest
from builders import bar_of, key

from game.levels import Prompt
from game.reader import DAY_S, Misread, Profile
from game.rounds import ON_SCREEN, Flip, OctaveRun, Press, Round, Stop, play
from game.screens.play.placing import Placing
from game.session.profiles import profile_of

pytestmark = pytest.mark.reader("Tester")


NOW = 20_000.0 * DAY_S
NOTES = ("A4", "B4", "C5", "D5", "E5")


def after(
    profile: Profile, slot: str, shift: int | None, *, keyboard: str = "", at: float = NOW
) -> Profile:
    """After one slot that was missed by so many semitones, then found; None: never answered."""
    prompt = bar_of(slot)
    presses = []
    if shift is not None:
        down = sorted(prompt.slots[0].keys)
        presses = [Press(1.0 + n / 100, k + shift, 64, keyboard) for n, k in enumerate(down)]
        presses += [Press(3.0 + n / 100, k, 64, keyboard) for n, k in enumerate(down)]
    return after_events(profile, prompt, presses, at)


def after_events(
    profile: Profile, prompt: Prompt, presses: list[Press], at: float = NOW
) -> Profile:
    ended = play(Round((prompt,), 8.0), [Flip(0.0), *presses, Stop(60.0)])
    return profile.after(prompt, ended.results[0], at).profile


def after_all(profile: Profile, *shifts: int | None, keyboard: str = "") -> Profile:
    for number, shift in enumerate(shifts):
        profile = after(profile, NOTES[number % len(NOTES)], shift, keyboard=keyboard)
    return profile


def known(profile: Profile) -> tuple[object, ...]:
    """What it says of the reader."""
    return (
        profile.knowledge,
        profile.habits,
        profile.timings,
        profile.timed_at,
        profile.slopes,
        profile.examples,
    )


READER = after_all(Profile(), 0, 0, 1, 0, -12, 0)


@pytest.mark.parametrize("octaves", [-2, -1, 1, 3])
@pytest.mark.parametrize("length", [3, 4, 12])
def test_a_run_of_answers_as_many_octaves_off_teaches_nothing(octaves, length):
    assert known(after_all(READER, *[12 * octaves] * length)) == known(READER)


@pytest.mark.parametrize("shifts", [(12,), (-12, -12), (12, -12, 12, -12), (12, 12, 24, 12, 12)])
def test_octaves_off_by_other_ways_are_misreads(shifts):
    profile = after_all(Profile(), *shifts)
    assert profile.habits.counts[Misread.OCTAVE] > 0.9 * len(shifts)
    assert sum(sign.wrong for sign in profile.knowledge.signs.values()) > 0.9 * len(shifts)


def test_a_wrong_octave_is_a_misread_at_once_and_stays_one_after_a_right_answer():
    once = after(READER, "G4", 12)
    assert once.habits.counts[Misread.OCTAVE] > READER.habits.counts[Misread.OCTAVE]
    later = after_all(once, 0, 12, 12)
    assert later.habits.counts[Misread.OCTAVE] > once.habits.counts[Misread.OCTAVE]


def test_what_comes_after_the_run_is_learnt():
    shifted = after_all(READER, -12, -12, -12, -12)
    for slot, shift in (("G4", 0), ("G4", 12), ("F4", 2)):
        told = known(after(shifted, slot, shift))
        assert told == known(after(READER, slot, shift)) != known(READER)


def test_a_wrong_letter_among_them_breaks_the_run_and_is_learnt():
    profile = after_all(READER, -12, -12, 1, -12, -12)
    wrong = sum(sign.wrong for sign in profile.knowledge.signs.values())
    assert wrong > 4.5 + sum(sign.wrong for sign in READER.knowledge.signs.values()) - 0.6


def test_a_slot_that_is_not_answered_neither_makes_nor_breaks_a_run():
    assert known(after_all(READER, -12, None, -12, None, -12)) == known(READER)
    assert after_all(READER, None, None, None, None).octaves == OctaveRun()


def test_a_chord_that_is_octaves_off_is_one_of_the_run():
    profile = READER
    for slot in ("A4", "C4 E4 G4", "E4 G4"):
        profile = after(profile, slot, -12)
    assert known(profile) == known(READER)


def test_the_piano_on_the_screen_has_no_switch_that_could_be_wrong():
    profile = after_all(Profile(), 12, 12, 12, 12, keyboard=ON_SCREEN)
    assert profile.habits.counts[Misread.OCTAVE] > 3.5


def test_a_name_that_may_be_played_in_any_octave_is_right_and_no_run():
    prompt = bar_of("F#4", "A4")
    prompt = Prompt(prompt.signature, (prompt.slots[0]._replace(asks="altered"),))
    profile = READER
    for _ in range(4):
        profile = after_events(profile, prompt, [Press(1.0, key("F#6"))])
    assert profile.octaves == OctaveRun()


def test_the_score_of_a_round_stays_what_it_was():
    prompts = tuple(bar_of(note) for note in NOTES)
    events = [
        event
        for number, prompt in enumerate(prompts)
        for k in prompt.slots[0].keys
        for event in (Flip(3.0 * number), Press(3 * number + 1, k - 12), Press(3 * number + 2, k))
    ]
    shifted = play(Round(prompts, 8.0), events)
    assert shifted.score.accuracy == 0.0
    assert shifted.score.mean_points < 0


def test_a_run_goes_on_in_the_next_round_and_after_it_was_kept():
    profile = READER
    for n in range(5):
        profile = after(profile.begun(NOW), NOTES[n], -12)
        profile = Profile.from_json(json.loads(json.dumps(profile.to_json())))
    kept = Profile.from_json(json.loads(json.dumps(READER.to_json())))
    assert profile.knowledge == READER.knowledge
    assert profile.habits == kept.habits
    assert profile.examples == READER.examples


def test_the_slope_that_a_new_day_filed_during_a_run_is_kept():
    profile = Profile()
    for n in range(80):
        prompt = bar_of("EFGAB"[n % 5] + "4")
        (k,) = prompt.slots[0].keys
        profile = after_events(profile, prompt, [Press(1.0 + n % 5, k)])
    profile = after_all(profile.begun(NOW), -12, -12)
    profile = after(profile.begun(NOW + DAY_S), "A4", -12, at=NOW + DAY_S)
    assert profile.octaves.tells
    assert profile.slopes


@pytest.mark.parametrize("damage", [{"octaves": 3}, {"octaves": [1, 2, 3]}, {"unshifted": [1]}])
def test_a_damaged_run_is_refused(damage):
    with pytest.raises(ValueError):
        Profile.from_json(READER.to_json() | damage)


# At the game


def test_a_profile_kept_by_and_by_is_the_one_that_its_records_give(player):
    """A search for a level, each of whose prompts is a round, with keys octaves off, and a round
    that was left."""
    app = player.app
    app.stage.rounds.find_level()
    player.look()
    player.piano(60)
    for shift in (0, 0, -12, -12, -12, -12, 0, 12, 0, -12, -12):
        assert isinstance(player.screen, Placing)
        if shift:
            player.clock += 1.0
            player.piano(player.right_keys()[0] + shift)
            player.wait(1.0)
        else:
            player.answer()
    app.stage.go.open_ladder("middle-c-right")
    player.look()
    player.click_on("counted")
    player.piano(60)
    player.piano(player.right_keys()[0] - 12)
    player.answer()
    player.screen.pause()
    player.look()
    player.click_on("end")
    kept = app.stage.sitting.profile
    assert app.stage.sitting.reader is not None
    app.stage.store.set_setting("profile", None, app.stage.sitting.reader.id)
    again = profile_of(app.stage.store, app.stage.sitting.reader.id)
    assert again.octaves == kept.octaves
    assert again.habits.counts == pytest.approx(kept.habits.counts, abs=1e-3)
    assert {sign: round(of.wrong, 3) for sign, of in again.knowledge.signs.items()} == {
        sign: round(of.wrong, 3) for sign, of in kept.knowledge.signs.items()
    }
    assert again.knowledge.usual_s == pytest.approx(kept.knowledge.usual_s)
