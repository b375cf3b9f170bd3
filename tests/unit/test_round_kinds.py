# SPDX-License-Identifier: MIT
"""Sprint, endless, for accuracy, of the day: what each kind of round counts, and when it ends."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from hashlib import sha256

import pytest
from builders import LEVELS, answers, level, level_text, press, prompts_of, shipped
from places import ROOT

from game.levels import FULL_COMPASS, Compass
from game.rounds import Flip, Press, Round, Stop, Terms, Verdict, day_seed, passes, play, step
from game.store.values import terms_from_json, terms_to_json

SHOW = 'treble = "C4 to G5"'
MORE = "[round]\nprompts = 6"
LEVEL, TEXT = level(SHOW, more=MORE), level_text(SHOW, more=MORE)
LIMIT_S = 4.0


def endless(*slots: str) -> Round:
    return Round(prompts_of(*slots), LIMIT_S, misses=3)


def read(start: Round, answered: str, each: float = 1.0) -> Round:
    """Answers prompt by prompt: ``+`` right, ``-`` another key first, then the right one."""
    now, t = start, 0.0
    for sign in answered:
        if now.ended is not None:
            break
        now = step(now, Flip(t)).round
        t += each
        (right,) = now.expected
        if sign == "-":
            now = step(now, Press(t, right + 1)).round
        now = step(now, Press(t, right)).round
    return now


class TestEndless:
    NOTES = ("C4", "D4", "E4", "F4", "G4", "A4", "B4", "C5")

    def test_it_ends_at_the_third_wrong_first_press_and_not_before(self):
        two = read(endless(*self.NOTES), "-+-+")
        assert (two.ended, two.missed) == (None, 2)
        done = read(endless(*self.NOTES), "-+-+-+++")
        assert (done.ended, done.complete, done.missed) == (5.0, True, 3)
        assert [result.right for result in done.results] == [False, True, False, True, False]

    def test_the_press_that_ends_it_is_judged_and_its_note_counted_though_not_found(self):
        now = read(endless(*self.NOTES), "--")
        now = step(now, Flip(2)).round
        done, judged, finished = step(now, press(2.5, "C#4"))
        assert judged is not None and judged.verdict is Verdict.WRONG
        assert (finished.verdict, finished.completed) == (Verdict.WRONG, False)
        assert done.ended == 2.5

    def test_further_wrong_presses_on_a_note_are_no_further_misses(self):
        now = play(endless("C4", "D4"), [Flip(0), *(press(1, "F4") for _ in range(9))])
        assert (now.missed, now.ended) == (1, None)

    def test_its_points_add_up_so_that_going_further_is_worth_more(self):
        # By hand: each right answer at 1 s of 4 s is 75, each wrong one -75; a hundredth counts.
        assert read(endless(*self.NOTES), "+-+--").score.mean_points == pytest.approx(-0.75)
        assert read(endless(*self.NOTES), "++++--+-").score.mean_points == pytest.approx(1.5)

    def test_a_reader_who_stops_has_not_come_to_the_end(self):
        now = read(endless(*self.NOTES), "--")
        done = play(now, [Flip(2), Stop(3)])
        assert (done.complete, done.missed) == (False, 2)  # left unanswered is no wrong press

    def test_half_a_chord_is_no_miss_while_it_may_still_come_right(self):
        start = Round(prompts_of("C4 E4", "D4"), LIMIT_S, misses=1)
        now = play(start, [Flip(0), press(1, "C4")])
        assert now.ended is None
        assert play(now, [press(1.1, "E4")]).results[0].right
        late = play(now, [press(1.5, "C4")])
        assert (late.ended, late.complete) == (1.5, True)

    def test_one_who_never_misses_comes_to_the_last_prompt(self):
        done = read(endless("C4", "D4"), "++")
        assert (done.complete, done.missed) == (True, 0)

    def test_in_time_it_ends_with_the_phrase_of_the_third_miss(self):
        show = 'texture = "phrase"\ntreble = "C4 to G5"\nbars = 2\ncells = [[1]]'
        timed = level(show, more="[time]\ntempo = 60")
        text = level_text(show, more="[time]\ntempo = 60")
        start = Terms.endless(timed, text, 1, FULL_COMPASS).begin()
        after = step(start, Flip(0)).round
        done = step(after, Flip(after.phrase_end + 0.1)).round
        assert (done.complete, done.prompt) == (True, 1)
        assert done.missed == len(done.results) >= 3


class TestForAccuracy:
    def test_time_does_not_count(self):
        terms = Terms.accuracy(LEVEL, TEXT, 3, None, FULL_COMPASS)
        slow = read(terms.begin(), "+-++++", each=500.0)
        assert [result.points for result in slow.results] == [100, -100, 100, 100, 100, 100]
        assert slow.score.score == read(terms.begin(), "+-++++", each=0.3).score.score
        assert slow.complete

    def test_a_note_left_unanswered_is_worth_nothing_either_way(self):
        done = play(Terms.accuracy(LEVEL, TEXT, 3, 2, FULL_COMPASS).begin(), [Flip(0), Stop(90)])
        assert (done.results[0].points, done.complete) == (0, False)


class TestOfTheDay:
    def test_its_seed_is_the_digest_that_the_words_promise(self):
        digest = sha256(b"2026-11-25\n" + TEXT.strip().encode()).hexdigest()
        assert day_seed("2026-11-25", TEXT) == int(digest, 16) % 1_000_000

    def test_it_is_the_same_in_another_process_under_another_hash_seed(self):
        rung = shipped().rungs[0]
        here = Terms.of_day(rung.level, rung.text, "2026-11-25", FULL_COMPASS)
        script = (
            "from pathlib import Path; from game.levels import read_ladder, FULL_COMPASS\n"
            "from game.rounds import Terms\n"
            f"rung = read_ladder(Path({str(LEVELS)!r})).rungs[0]\n"
            "made = Terms.of_day(rung.level, rung.text, '2026-11-25', FULL_COMPASS)\n"
            "print(made.seed, [sorted(p.slots[0].keys) for p in made.begin().prompts])"
        )
        for hash_seed in ("1", "2"):
            out = subprocess.run(
                [sys.executable, "-c", script],
                cwd=ROOT,
                env=os.environ | {"PYTHONHASHSEED": hash_seed},
                capture_output=True,
                text=True,
                check=True,
            )
            keys = [sorted(prompt.slots[0].keys) for prompt in here.begin().prompts]
            assert out.stdout.strip() == f"{here.seed} {keys}"

    def test_another_day_or_another_level_is_another_round(self):
        seeds = {day_seed(f"2026-11-{day:02}", TEXT) for day in range(1, 31)}
        seeds.add(day_seed("2026-11-25", TEXT + 'title = "Other"'))
        assert len(seeds) > 28  # of a million, two may meet by chance

    def test_the_ends_of_lines_in_the_file_make_no_other_round(self):
        windows = TEXT.replace("\n", "\r\n") + "\r\n\r\n"
        assert day_seed("2026-11-25", windows) == day_seed("2026-11-25", TEXT)

    def test_a_larger_keyboard_than_the_level_needs_makes_no_other_round(self):
        for compass in (Compass(36, 96), Compass(60, 83)):
            made = Terms.of_day(LEVEL, TEXT, "2026-11-25", compass)
            whole = Terms.of_day(LEVEL, TEXT, "2026-11-25", FULL_COMPASS)
            assert made.begin().prompts == whole.begin().prompts

    def test_other_notes_after_it_are_a_plain_round(self):
        terms = replace(Terms.of_day(LEVEL, TEXT, "2026-11-25", FULL_COMPASS), known=True)
        fresh = terms.afresh(7, FULL_COMPASS)
        assert (fresh.seed, fresh.known, fresh.kind) == (7, False, "counted:6")

    @pytest.mark.parametrize("day", ["25.11.2026", "20261125", "2026-13-01", "2026-11-25T10:00"])
    def test_a_day_that_is_not_written_as_one_is_refused(self, day):
        with pytest.raises(ValueError, match="2026-11-25"):
            Terms.of_day(LEVEL, TEXT, day, FULL_COMPASS)


KINDS = {
    "counted:6": Terms.counted(LEVEL, TEXT, 1, None, FULL_COMPASS),
    "timed:60": Terms.timed(LEVEL, TEXT, 1, 60, FULL_COMPASS),
    "endless:3": Terms.endless(LEVEL, TEXT, 1, FULL_COMPASS),
    "accuracy:6": Terms.accuracy(LEVEL, TEXT, 1, None, FULL_COMPASS),
    "day:2026-11-25": Terms.of_day(LEVEL, TEXT, "2026-11-25", FULL_COMPASS),
}


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_has_its_name_and_is_kept_whole(kind):
    terms = KINDS[kind]
    assert terms.kind == kind
    assert terms_from_json(terms_to_json(terms)) == terms


def test_a_record_of_before_there_were_kinds_still_reads():
    kept = terms_to_json(KINDS["counted:6"])
    for name in ("misses", "untimed", "day"):
        del kept[name]
    assert terms_from_json(kept) == KINDS["counted:6"]


@pytest.mark.parametrize(
    "two",
    [
        {"seconds": 60, "misses": 3},
        {"seconds": 60, "untimed": True},
        {"misses": 3, "day": "2026-11-25"},
        {"untimed": True, "day": "2026-11-25"},
    ],
)
def test_a_round_cannot_be_of_two_kinds(two):
    with pytest.raises(ValueError, match="none of these"):
        replace(KINDS["counted:6"], **two)


@pytest.mark.parametrize(
    ("kind", "passing"),
    [("counted:6", True), ("endless:3", False), ("accuracy:6", False), ("day:2026-11-25", True)],
)
def test_endless_rounds_and_rounds_for_accuracy_pass_no_level(kind, passing):
    terms = KINDS[kind]
    start = terms.begin()
    done = terms.replay(answers(*start.prompts, each=0.8))
    assert done.complete
    assert done.score.accuracy == 1
    assert passes(LEVEL, done) is passing


def test_when_each_slot_was_done_with_is_on_the_rounds_clock_without_its_pauses():
    from game.rounds import Pause, Resume

    events = [Flip(10), press(11, "C4"), Flip(11.5), Pause(12), Resume(112), press(113, "D4")]
    done = play(Round(prompts_of("C4", "D4"), LIMIT_S), events)
    assert [result.done_s for result in done.results] == [1.0, 3.0]
