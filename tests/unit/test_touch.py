# SPDX-License-Identifier: MIT
"""Presses that are no answer: bouncing keys, keys too many after a chord, flat hands.

The rules are checked against a second reading of the README's words, which looks at whole lists of
presses and knows nothing of the code's rounds.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from builders import bar_of, key, level_text, press, prompts_of
from heat_builders import setup_of
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from game.heats import HeatSetup, SeatFlip, SeatPress, Start, begin
from game.heats import step as heat_step
from game.rounds import Flip, Pause, Press, Resume, Round, Stop, Terms, Tick, Verdict, play, step
from game.rounds.played import events_of
from game.store.values import terms_from_json, terms_to_json

BOUNCE_S, WINDOW_S, HAND = 0.08, 0.2, 5
RIGHT, WRONG, UNANSWERED = Verdict.RIGHT, Verdict.WRONG, Verdict.UNANSWERED


def one_by_one(*slots: str, **how) -> Round:
    return Round(prompts_of(*slots), 4.0, **how)


def in_a_bar(*slots: str) -> Round:
    return Round((bar_of(*slots),), 4.0)


def played(start: Round, *presses: Press) -> Round:
    return play(start, events_of(start, presses))


def verdicts(done: Round) -> list[str]:
    return [result.verdict.value for result in done.results]


def of_presses(done: Round) -> list[list[str]]:
    return [[one.verdict.value for one in result.presses] for result in done.results]


class TestBounces:
    @pytest.mark.parametrize("make", [one_by_one, in_a_bar])
    def test_a_key_that_bounces_is_one_answer(self, make):
        done = played(make("C4", "D4"), press(1, "C4"), press(1.03, "C4"), press(2, "D4"))
        assert verdicts(done) == ["right", "right"]
        assert of_presses(done)[1] == ["bounce", "right"]
        assert [result.t for result in done.results] == [1, 1]
        assert done.results[1].first_press == key("D4")

    @pytest.mark.parametrize("make", [one_by_one, in_a_bar])
    def test_it_does_not_answer_the_same_note_again(self, make):
        now = played(make("C4", "C4"), press(1, "C4"), press(1.05, "C4"))
        assert verdicts(now) == ["right", "unanswered"]

    @pytest.mark.parametrize("make", [one_by_one, in_a_bar])
    @pytest.mark.parametrize(("gap", "right"), [(0.08, False), (0.0801, True), (0.1, True)])
    def test_a_note_struck_again_after_more_than_80_ms_is(self, make, gap, right):
        done = played(make("C4", "C4"), press(1, "C4"), press(1 + gap, "C4"))
        assert done.results[1].right is right

    @pytest.mark.parametrize("make", [one_by_one, in_a_bar])
    def test_a_key_of_a_chord_just_completed_does_not_answer_the_next(self, make):
        presses = [press(1, "C4"), press(1.02, "E4"), press(1.07, "C4"), press(1.09, "E4")]
        done = played(make("C4 E4", "E4"), *presses, press(2, "E4"))
        assert verdicts(done) == ["right", "right"]
        assert done.results[1].t == pytest.approx(2 - 1.02)

    def test_a_key_that_chatters_for_long_is_one_key(self):
        chatter = [press(1 + 0.03 * n, "C4") for n in range(20)]
        now = played(one_by_one("C4", "C4", "C4"), *chatter)
        assert verdicts(now) == ["right", "unanswered"]

    def test_a_wrong_key_that_bounces_is_one_miss_of_an_endless_round(self):
        endless = one_by_one("C4", "C4", misses=2)
        now = played(endless, press(1, "D4"), press(1.05, "D4"), press(2, "C4"), press(2.05, "C4"))
        assert (now.missed, now.complete) == (1, False)

    def test_the_bounce_of_a_key_that_was_down_before_the_flip_is_no_answer(self):
        start = one_by_one("C4", "D4")
        events = [Flip(0), press(1, "C4"), press(1.18, "E4"), Flip(1.2), press(1.24, "E4")]
        assert play(start, events).first is None
        assert play(start, [*events, press(2, "D4")]).results[1].right

    def test_nor_that_of_a_key_that_ended_a_pause(self):
        events = [Flip(0), Pause(1), press(9, "E4"), Resume(9.01), press(9.05, "E4")]
        assert play(one_by_one("C4"), events).first is None

    def test_in_a_phrase_it_is_no_key_too_many(self):
        show = 'texture = "phrase"\ntreble = "C4 to G5"\nbars = 2\ncells = [[1], [2]]'
        text = level_text(show, more="[time]\ntempo = 60\n")
        terms = Terms("tested", text, 1, 1, rules=2)
        start = terms.begin()
        pulse, prompt = start.pulse, start.prompts[0]
        lead = pulse.lead_s(prompt)
        keys = [
            Press(lead + slot.beat * pulse.quarter_s, note.key)
            for slot in prompt.slots
            for note in slot.notes
        ]
        bouncing = sorted(
            [*keys, *(replace(one, t=one.t + 0.04) for one in keys)], key=lambda one: one.t
        )
        clean, bounced = played(start, *keys), played(start, *bouncing)
        assert bounced.score == clean.score
        assert bounced.phrases[0].extras == ()
        first_games = replace(terms, rules=1).begin()
        assert len(played(first_games, *bouncing).phrases[0].extras) == len(keys)


class TestChordsPlayedApart:
    @pytest.mark.parametrize(
        ("presses", "late"),
        [
            ([(0, "C4"), (0.1, "E4"), (0.2, "G4")], [0, 0, 0]),
            ([(0, "C4"), (0.1, "E4"), (0.31, "G4")], [0, 0, 0.31]),
            ([(0, "C4"), (0.4, "E4"), (0.42, "G4")], [0, 0.4, 0.42]),
            # The same key again begins the chord anew, however long after.
            ([(0, "C4"), (0.4, "E4"), (2, "C4"), (2.1, "E4"), (2.15, "G4")], [0, 0.4, 0, 0, 0]),
            ([(0, "C4"), (0.4, "E4"), (2, "C4"), (2.3, "G4")], [0, 0.4, 0, 0.3]),
            # But what makes the first answer wrong is told, whichever key it is.
            ([(0, "C4"), (0.3, "C4"), (0.35, "E4"), (0.4, "G4")], [0, 0.3, 0, 0]),
            ([(0, "D4"), (0.5, "C4"), (1, "E4")], [0, 0, 0.5]),
        ],
    )
    def test_the_key_that_came_too_late_says_by_how_much(self, presses, late):
        now, found = play(one_by_one("C4 E4 G4", "D4"), [Flip(0)]), []
        for t, name in presses:
            now, judged, _finished = step(now, press(1 + t, name))
            found.append(judged.late_s)
        assert found == pytest.approx(late)

    @given(st.lists(st.tuples(st.floats(0.01, 0.5), st.sampled_from(["C4", "E4", "G4"]))))
    def test_no_first_answer_is_wrong_and_nothing_said(self, struck):
        now, t, said = play(one_by_one("C4 E4 G4", "C4"), [Flip(0)]), 1.0, False
        for gap, name in struck:
            t += gap
            now, judged, finished = step(now, press(t, name))
            said |= judged is not None and judged.late_s > WINDOW_S
            wrong = now.first is WRONG if finished is None else not finished.right
            assert said is wrong
            if finished is not None:
                break


class TestKeysTooMany:
    def test_one_among_the_keys_of_a_chord_makes_the_answer_wrong(self):
        done = played(one_by_one("C4 E4"), press(1, "C4"), press(1.05, "F4"), press(1.1, "E4"))
        assert verdicts(done) == ["wrong"]

    @pytest.mark.parametrize("make", [one_by_one, in_a_bar])
    def test_one_after_them_counts_for_nothing(self, make):
        presses = [press(1, "C4"), press(1.05, "E4"), press(1.2, "F4"), press(3, "G4")]
        done = played(make("C4 E4", "G4"), *presses)
        assert verdicts(done) == ["right", "right"]
        assert of_presses(done)[1] == ["extra", "right"]

    def test_later_it_is_an_answer_to_the_next(self):
        presses = [press(1, "C4"), press(1.05, "E4"), press(1.26, "F4"), press(3, "G4")]
        assert verdicts(played(in_a_bar("C4 E4", "G4"), *presses)) == ["right", "wrong"]

    def test_what_the_next_slot_asks_for_is_its_answer_however_soon(self):
        presses = [press(1, "C4"), press(1.05, "E4"), press(1.15, "G4")]
        assert verdicts(played(in_a_bar("C4 E4", "G4"), *presses)) == ["right", "right"]

    def test_after_a_single_note_there_is_none(self):
        presses = [press(1, "C4"), press(1.1, "F4"), press(3, "G4")]
        assert verdicts(played(in_a_bar("C4", "G4"), *presses)) == ["right", "wrong"]


def hand(t: float, *names: str, apart: float = 0.01) -> list[Press]:
    return [press(t + apart * n, name) for n, name in enumerate(names)]


class TestFlatHands:
    FIVE = ("F4", "G4", "A4", "B4", "C5")

    @pytest.mark.parametrize("make", [one_by_one, in_a_bar])
    @pytest.mark.parametrize("at", range(5))
    def test_five_keys_at_once_are_no_answer_whichever_is_right(self, make, at):
        names = [*self.FIVE[:at], "C4", *self.FIVE[at + 1 :]]
        now = played(make("C4", "D4"), *hand(1, *names), press(3, "C4"), press(4, "D4"))
        assert verdicts(now) == ["right", "right"]
        assert [result.t for result in now.results] == [3, 1]
        assert of_presses(now)[0] == ["flat hand"] * 5 + ["right"]

    def test_all_of_a_larger_hand_goes(self):
        names = ("C4", "D4", *self.FIVE, "D5")
        now = played(one_by_one("C4", "D4"), *hand(1, *names), press(3, "C4"), press(4, "D4"))
        assert verdicts(now) == ["right", "right"]

    def test_four_are_an_answer(self):
        now = played(one_by_one("C4"), *hand(1, *self.FIVE[:4]), press(3, "C4"))
        assert verdicts(now) == ["wrong"]

    def test_five_one_after_the_other_are_answers(self):
        now = played(one_by_one("C4"), *hand(1, *self.FIVE, apart=0.0501), press(3, "C4"))
        assert verdicts(now) == ["wrong"]

    @pytest.mark.parametrize(
        ("chord", "also", "verdict"),
        [
            ("C4 E4 G4 B4 D5", "", RIGHT),
            ("C4 E4 G4 B4", "F4", WRONG),
            ("C4 E4 G4 B4 D5", "F4", WRONG),
            ("C4 E4 G4 B4", "F4 A4", UNANSWERED),
            ("C4 E4 G4 B4 D5", "F4 A4", UNANSWERED),
            ("C4 E4 G4", "F4 A4", UNANSWERED),
        ],
    )
    def test_a_large_chord_with_one_slip_is_an_answer(self, chord, also, verdict):
        start = Round(prompts_of(chord), 4.0)
        done = play(start, [Flip(0), *hand(1, *also.split(), *chord.split()), Stop(9)])
        assert [result.verdict for result in done.results] == [verdict]

    def test_a_large_chord_misread_in_all_its_keys_is_an_answer(self):
        done = played(one_by_one("C4 E4 G4 B4 D5"), *hand(1, "F4", "D4", "A4", "C5", "E5"))
        assert verdicts(done) == ["wrong"]

    def test_chords_read_one_close_after_the_other_are_answers(self):
        presses = [*hand(1, "C4", "E4", "G4"), *hand(1.15, "D4", "F4", "A4")]
        assert verdicts(played(in_a_bar("C4 E4 G4", "D4 F4 A4"), *presses)) == ["right", "right"]

    def test_it_takes_back_the_end_that_its_first_key_brought_about(self):
        endless = one_by_one("C4", misses=1)
        now = played(endless, *hand(1, *self.FIVE), press(3, "C4"))
        assert verdicts(now) == ["right"]
        last = played(one_by_one("C4"), *hand(1, "C4", *self.FIVE), press(3, "C4"))
        assert (verdicts(last), last.results[0].t) == (["right"], 3)

    def test_but_not_the_end_of_the_time_or_a_stop(self):
        timed = Round(prompts_of("C4"), 4.0, seconds=10)
        early, late = hand(9.97, *self.FIVE)[:2], hand(9.97, *self.FIVE)[2:]
        done = play(timed, [Flip(0), *early, Tick(10), *late])
        assert (done.ended, verdicts(done)) == (10, ["wrong"])
        left = play(one_by_one("C4"), [Flip(0), *early, Stop(9.985), *late])
        assert (left.ended, verdicts(left)) == (9.985, ["wrong"])

    def test_hands_on_both_sides_of_a_pause_are_two(self):
        first, second = hand(1, *self.FIVE)[:3], hand(1.1, *self.FIVE)[3:]
        now = play(one_by_one("C4"), [Flip(0), *first, Pause(1.05), Resume(1.06), *second])
        assert now.first is WRONG

    def test_a_round_is_as_it_was_but_for_the_presses_that_it_keeps(self):
        before = play(in_a_bar("C4", "D4 F4", "E4"), [Flip(0), press(1, "C4"), press(2, "D4")])
        after = play(before, hand(2.25, "C4", "A4", "B4", "C5", "D5", "E5"))
        assert after.flat_hand
        assert [one.verdict.value for one in after.presses][1:] == ["flat hand"] * 6
        assert replace(after, presses=before.presses) == before

    def test_a_hand_whose_first_keys_went_down_before_the_flip(self):
        start = one_by_one("C4", "D4")
        first, second = hand(1.17, *self.FIVE)[:3], hand(1.21, *self.FIVE)[3:]
        now = play(start, [Flip(0), press(1, "C4"), *first, Flip(1.2), *second])
        assert now.flat_hand
        assert (now.since, now.first, verdicts(now)) == (None, None, ["right"])
        assert play(now, [Flip(3), press(4, "D4")]).results[1].t == 1


class TestOldRecords:
    def test_they_are_judged_as_they_were(self):
        kept = terms_to_json(Terms("tested", level_text(), 3, 4, rules=2))
        assert terms_from_json(kept).rules == 2
        old = terms_from_json({name: value for name, value in kept.items() if name != "rules"})
        start = old.begin()
        (first,), (second,) = (prompt.slots[0].keys for prompt in start.prompts[:2])
        assert first != second
        done = played(start, Press(1, first), Press(1.03, first), Press(2, second))
        assert verdicts(done)[:2] == ["right", "wrong"]

    def test_rules_of_a_later_game_are_refused(self):
        with pytest.raises(ValueError, match="rules"):
            Terms("tested", level_text(), 3, 4, rules=3)

    def test_a_heat_of_an_older_game_keeps_its_rules_and_its_seal(self):
        new = setup_of(1).to_json()
        old = {name: value for name, value in new.items() if name != "rules"}
        assert new["rules"] == 2
        assert HeatSetup.from_json(old).to_json() == old

    @pytest.mark.parametrize(("rules", "found"), [(2, ["right"] * 2), (1, ["right", "wrong"])])
    def test_a_heat_judges_by_its_own(self, rules, found):
        heat = begin(replace(setup_of(1, prompts=3), rules=rules))
        first, second, _third = (next(iter(p.slots[0].keys)) for p in heat.chairs[0].form)
        assert first != second
        bounce = SeatPress(2.03, 1, first)
        events = [Start(0.0), SeatFlip(1.0, 1), SeatPress(2.0, 1, first), SeatFlip(2.01, 1), bounce]
        for event in [*events, SeatPress(4.0, 1, second)]:
            heat = heat_step(heat, event).heat
        assert verdicts(heat.chairs[0].round) == found


# The second reading


def answered(start: Round, presses: list[Press]) -> list[tuple[str, float | None]]:
    """(verdict, t) of each slot of one-slot prompts that a file plays, by the README's words."""
    slots = [prompt.slots[0].keys for prompt in start.prompts]
    real: list[Press] = []
    last: dict[int, float] = {}
    for one in presses:
        if one.t - last.get(one.key, -9) > BOUNCE_S + 1e-9:
            real.append(one)
        last[one.key] = one.t
    found, at, since, whole, number = [], 0, 0.0, None, 0
    while number < len(slots) and at < len(real):
        asked, began, first, went = slots[number], None, None, {}
        over = None
        for index in range(at, len(real)):
            one = real[index]
            if whole is not None and one.t - whole <= WINDOW_S + 1e-9 and one.key not in asked:
                continue
            began = one.t if began is None else began
            if one.key not in asked:
                first = first or "wrong"
                continue
            if first is None and one.t - began > WINDOW_S + 1e-9:
                first = "wrong"
            went[one.key] = one.t
            if all(one.t - went.get(each, -9) <= WINDOW_S + 1e-9 for each in asked):
                first, over = first or "right", index
                break
        if over is None:
            break
        found.append((first, began - since))
        whole = real[over].t if len(asked) > 1 else None
        since, at, number = real[over].t, over + 1, number + 1
    return found


@st.composite
def _performances(draw):
    """Slots of one to three keys, and keys of a small piano, mostly close together; no more than
    four at once, since hands are another matter."""
    slots = draw(
        st.lists(st.sampled_from(["C4", "D4", "E4", "C4 E4", "D4 F4", "C4 E4 G4"]), min_size=2)
    )
    t, presses = 1.0, []
    for gap, which in draw(
        st.lists(
            st.tuples(
                st.sampled_from([0.02, 0.05, 0.079, 0.081, 0.15, 0.21, 0.6]),
                st.sampled_from([60, 62, 64, 65]),
            ),
            max_size=40,
        )
    ):
        t = round(t + gap, 6)
        presses.append(Press(t, which))
    return slots, presses


@settings(max_examples=60, deadline=None)
@given(_performances())
def test_any_file_is_judged_as_the_readme_says(performance):
    slots, presses = performance
    start = one_by_one(*slots)
    done = played(start, *presses)
    expected = answered(start, presses)
    assert [(r.verdict.value, pytest.approx(r.t)) for r in done.results if r.completed] == expected


@settings(max_examples=40, deadline=None)
@given(_performances(), st.data())
def test_a_flat_hand_anywhere_changes_no_answer(performance, data):
    """Whatever was played, a hand that comes down well after one press and before the next. Two of
    its keys are never asked for, so it cannot be chords read very fast."""
    slots, presses = performance
    gaps = [a.t + 0.22 for a, b in pairwise(presses) if b.t - a.t > 0.47]
    start = one_by_one(*slots)
    assume(gaps)
    at = data.draw(st.sampled_from(gaps))
    keys = data.draw(st.permutations([60, 62, 64, 65, 67, 69, 71, 72]))[
        : data.draw(st.integers(5, 8))
    ]
    assume(len({67, 69, 71, 72}.intersection(keys)) >= 2)
    down = [Press(at + 0.005 * n, one) for n, one in enumerate(keys)]
    moved = sorted([*presses, *down], key=lambda one: one.t)
    clean, with_hand = played(start, *presses), played(start, *moved)
    assert [(r.verdict, r.t) for r in clean.results if r.completed] == [
        (r.verdict, r.t) for r in with_hand.results if r.completed
    ]
