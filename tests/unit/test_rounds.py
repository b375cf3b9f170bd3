# SPDX-License-Identifier: MIT
"""A round as a reader plays it: first answers, chords, time, pauses, the end."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builders import answers, bar_of, key, press, prompts_of
from hypothesis import given
from hypothesis import strategies as st

from game.rounds import (
    CHORD_WINDOW_S,
    Event,
    Flip,
    Pause,
    Press,
    Resume,
    Round,
    SlotResult,
    Stop,
    Tick,
    Verdict,
    play,
    step,
)

RIGHT, WRONG = Verdict.RIGHT, Verdict.WRONG
WRONG_OCTAVE, UNANSWERED = Verdict.WRONG_OCTAVE, Verdict.UNANSWERED
LIMIT_S = 4.0


def counted(*slots: str) -> Round:
    """A counted round of one-slot prompts."""
    return Round(prompts_of(*slots), LIMIT_S)


def timed(seconds: float, *slots: str) -> Round:
    return Round(prompts_of(*slots), LIMIT_S, seconds)


def only(done: Round) -> SlotResult:
    (result,) = done.results
    return result


class TestFirstAnswers:
    def test_right_at_once(self):
        done = play(counted("C4"), [Flip(10), press(11, "C4")])
        result = only(done)
        assert (result.verdict, result.t, result.points) == (RIGHT, 1, 75)
        assert (result.expected, result.first_press, result.completed) == ((60,), 60, True)
        assert done.complete

    def test_any_spelling_of_the_key_is_the_key(self):
        assert only(play(counted("C#4"), [Flip(0), press(1, "Db4")])).right

    @pytest.mark.parametrize(
        ("pressed", "verdict"),
        [("D4", WRONG), ("C5", WRONG_OCTAVE), ("C2", WRONG_OCTAVE), ("C#4", WRONG), ("B3", WRONG)],
    )
    def test_what_is_not_right(self, pressed, verdict):
        done, judged, finished = step(play(counted("C4"), [Flip(0)]), press(1, pressed))
        assert judged is not None
        assert judged.verdict is verdict
        assert finished is None
        assert done.expected == {60}

    def test_a_correction_goes_on_and_does_not_mend_the_points(self):
        done = play(counted("C4", "D4"), [Flip(0), press(1, "E4"), press(2, "C5"), press(3, "C4")])
        result = only(done)
        assert (result.verdict, result.t, result.points) == (WRONG, 1, -75)
        assert [p.verdict for p in result.presses] == [WRONG, WRONG_OCTAVE, RIGHT]
        assert (result.completed, result.first_press) == (True, key("E4"))
        assert done.prompt == 1

    def test_the_wrong_octave_first_costs_like_a_wrong_key(self):
        result = only(play(counted("C4"), [Flip(0), press(1, "C5"), press(2, "C4")]))
        assert (result.verdict, result.points) == (WRONG_OCTAVE, -75)

    def test_an_answer_after_the_limit_earns_and_costs_nothing(self):
        late = [Flip(0), press(5, "C4"), Flip(5), press(10, "E4"), press(11, "D4")]
        assert [r.points for r in play(counted("C4", "D4"), late).results] == [0, 0]

    def test_the_clock_of_a_prompt_starts_at_its_flip(self):
        done = play(counted("C4", "D4"), [Flip(0), press(1, "C4"), Flip(1.5), press(3.5, "D4")])
        assert [r.t for r in done.results] == [1, 2]

    def test_the_next_slot_of_a_bar_is_readable_as_soon_as_this_one_is_found(self):
        now = play(
            Round((bar_of("C4", "D4", "E4"),), LIMIT_S),
            [Flip(0), press(1, "C4"), press(1.5, "F4"), press(3, "D4"), press(3.25, "E4")],
        )
        assert [(r.prompt, r.slot, r.verdict, r.t) for r in now.results] == [
            (0, 0, RIGHT, 1),
            (0, 1, WRONG, 0.5),
            (0, 2, RIGHT, 0.25),
        ]
        assert now.complete


class TestPressesOutsideAPrompt:
    def test_before_the_first_flip(self):
        assert play(counted("C4"), [press(0, "C4")]) == counted("C4")

    def test_between_two_prompts(self):
        now = play(counted("C4", "D4"), [Flip(0), press(1, "C4")])
        assert step(now, press(1.1, "E4")) == (now, None, None)

    def test_stamped_before_the_flip_and_delivered_after_it(self):
        now = play(counted("C4"), [Flip(1)])
        assert step(now, press(0.999, "E4")) == (now, None, None)
        assert only(play(now, [press(1, "C4")])).t == 0

    def test_after_the_end(self):
        done = play(counted("C4"), [Flip(0), press(1, "C4")])
        assert play(done, [press(2, "E4"), Flip(2), Stop(3), Tick(9), Pause(9)]) == done
        assert (done.current, done.expected) == (None, frozenset())

    def test_a_second_flip_of_a_prompt_does_not_start_its_clock_again(self):
        assert only(play(counted("C4"), [Flip(0), Flip(1), press(2, "C4")])).t == 2


class TestChords:
    TRIAD = "C4 E4 G4"

    @pytest.mark.parametrize("order", ["C4 E4 G4", "G4 E4 C4", "E4 C4 G4"])
    def test_the_order_of_the_keys_does_not_matter(self, order):
        keys = order.split()
        events = [press(1 + 0.05 * n, name) for n, name in enumerate(keys)]
        result = only(play(counted(self.TRIAD), [Flip(0), *events]))
        assert (result.verdict, result.t, result.points) == (RIGHT, 1, 75)
        assert result.expected == (60, 64, 67)

    @pytest.mark.parametrize("start", [0.1, 0.3, 0.6, 1.1, 3.7])
    def test_keys_exactly_the_window_apart_are_together(self, start):
        done = play(
            counted("C4 E4"), [Flip(0), press(start, "C4"), press(start + CHORD_WINDOW_S, "E4")]
        )
        assert only(done).verdict is RIGHT

    def test_keys_further_apart_are_not_and_the_chord_is_still_to_be_found(self):
        now = play(counted("C4 E4"), [Flip(0), press(1, "C4"), press(1.21, "E4")])
        assert now.results == ()
        done = play(now, [press(1.4, "C4")])
        result = only(done)
        assert (result.verdict, result.t, result.points) == (WRONG, 1, -75)
        assert result.completed

    def test_the_window_of_three_keys_is_counted_from_the_first(self):
        events = [press(1, "C4"), press(1.15, "E4"), press(1.3, "G4")]
        now = play(counted(self.TRIAD), [Flip(0), *events])
        assert now.results == ()
        assert only(play(now, [press(1.32, "C4")])).verdict is WRONG

    @pytest.mark.parametrize(("stray", "verdict"), [("F4", WRONG), ("C5", WRONG_OCTAVE)])
    def test_a_wrong_key_in_between(self, stray, verdict):
        events = [press(1, "C4"), press(1.05, stray), press(1.1, "E4")]
        result = only(play(counted("C4 E4"), [Flip(0), *events]))
        assert (result.verdict, result.completed) == (verdict, True)

    def test_a_wrong_key_first(self):
        events = [press(1, "F4"), press(1.05, "C4"), press(1.1, "E4")]
        assert only(play(counted("C4 E4"), [Flip(0), *events])).verdict is WRONG

    def test_a_repeated_key_is_no_fault(self):
        events = [press(1, "C4"), press(1.05, "C4"), press(1.1, "E4")]
        assert only(play(counted("C4 E4"), [Flip(0), *events])).verdict is RIGHT

    def test_one_key_twice_is_not_two_keys(self):
        now = play(counted("C4 E4"), [Flip(0), press(1, "C4"), press(1.05, "C4")])
        assert now.results == ()

    def test_a_window_of_its_own(self):
        wide = replace(counted("C4 E4"), window_s=1.0)
        assert only(play(wide, [Flip(0), press(1, "C4"), press(2, "E4")])).right

    def test_a_chord_half_pressed_at_the_stop_was_not_right(self):
        result = only(play(counted("C4 E4"), [Flip(0), press(1, "C4"), Stop(1.1)]))
        assert (result.verdict, result.t, result.completed) == (WRONG, 1, False)


class TestTimedRounds:
    def test_a_press_just_before_the_end_counts_and_one_at_the_end_does_not(self):
        now = play(timed(10, "C4", "D4"), [Flip(5)])
        assert only(play(now, [press(14.999, "C4")])).right
        done = play(now, [press(15, "C4")])
        assert only(done).verdict is UNANSWERED
        assert (done.ended, done.complete) == (15, True)

    def test_time_up_with_nothing_pressed_leaves_the_slot_out(self):
        done = play(timed(10, "C4", "D4"), [Flip(0), press(8, "C4"), Flip(8), Tick(10)])
        assert len(done.results) == 1
        assert (done.ended, done.complete, done.score.seconds) == (10, True, 10)

    @pytest.mark.parametrize(
        ("flipped", "counts"), [(1, True), (10 - LIMIT_S, True), (10.25 - LIMIT_S, False)]
    )
    def test_time_up_on_a_slot_left_for_the_limit_or_longer_counts_it(self, flipped, counts):
        done = play(timed(10, "C4", "D4"), [Flip(0), press(1, "C4"), Flip(flipped), Tick(10)])
        assert [result.verdict for result in done.results] == [RIGHT, UNANSWERED][: 1 + counts]
        assert (done.score.accuracy, done.complete) == (0.5 if counts else 1.0, True)

    def test_time_up_after_a_wrong_key_counts_it(self):
        done, judged, finished = step(play(timed(10, "C4"), [Flip(0), press(2, "D4")]), Tick(12))
        assert judged is None
        assert finished == only(done)
        assert (finished.verdict, finished.points, finished.completed) == (WRONG, -50, False)
        assert done.ended == 10

    def test_time_up_between_two_prompts(self):
        done = play(timed(10, "C4", "D4"), [Flip(0), press(9, "C4"), Flip(10.5), press(11, "D4")])
        assert len(done.results) == 1
        assert (done.ended, done.complete) == (10, True)

    def test_time_up_between_two_slots_of_a_bar(self):
        now = Round((bar_of("C4", "D4"),), LIMIT_S, 10)
        done = play(now, [Flip(0), press(9, "C4"), Tick(10)])
        assert (len(done.results), done.complete) == (1, True)

    def test_time_up_within_the_window_of_a_chord_leaves_it_out(self):
        done = play(timed(10, "C4 E4"), [Flip(0), press(9.9, "C4"), Tick(10)])
        assert (done.results, done.complete) == ((), True)

    def test_time_up_long_after_half_a_chord_counts_it_as_wrong(self):
        done = play(timed(10, "C4 E4"), [Flip(0), press(2, "C4"), Tick(10)])
        assert (only(done).verdict, only(done).points) == (WRONG, -50)

    @pytest.mark.parametrize("late", [Stop(10), Stop(30), Pause(30), Flip(30), Tick(30)])
    def test_whatever_comes_after_the_end_finds_the_round_ended_in_time(self, late):
        done = play(timed(10, "C4", "D4"), [Flip(0), press(8, "C4"), Flip(8), late])
        assert (done.ended, done.complete, len(done.results)) == (10, True, 1)

    @given(st.floats(0, 1e6), st.integers(10, 1800))
    def test_a_round_whose_time_is_up_is_complete_whenever_it_began(self, start, seconds):
        done = play(timed(seconds, "C4"), [Flip(start), Tick(start + seconds + 1)])
        assert done.complete
        assert done.score.seconds == seconds

    def test_a_tick_before_the_end_changes_nothing(self):
        now = play(timed(10, "C4"), [Flip(0)])
        assert step(now, Tick(9.999)).round is now

    def test_time_does_not_run_before_the_first_flip(self):
        now = timed(10, "C4")
        assert step(now, Tick(1000)).round is now
        assert now.elapsed(1000) == 0

    def test_a_stop_before_the_end_is_not_complete(self):
        done = play(timed(10, "C4", "D4"), [Flip(0), press(1, "C4"), Stop(9)])
        assert (done.ended, done.complete) == (9, False)

    def test_all_prompts_found_before_the_end_is_complete(self):
        done = play(timed(10, "C4"), [Flip(0), press(1, "C4")])
        assert (done.ended, done.complete) == (1, True)


class TestCountedRounds:
    def test_it_ends_with_its_last_prompt_however_long_it_took(self):
        events = answers(*prompts_of("C4", "D4", "E4"), each=500)
        done = play(counted("C4", "D4", "E4"), events)
        assert (done.ended, done.complete, done.score.right) == (1500, True, 3)

    def test_it_does_not_end_before(self):
        now = play(counted("C4", "D4"), [Flip(0), press(1, "C4"), Flip(1), press(2, "E4")])
        assert (now.ended, now.complete) == (None, False)
        assert now.current == now.prompts[1]

    def test_a_stop_counts_the_slot_that_nobody_answered(self):
        done = play(counted("C4", "D4"), [Flip(0), press(2, "C4"), Flip(2), Stop(8)])
        last = done.results[-1]
        assert (last.verdict, last.t, last.points) == (UNANSWERED, None, 0)
        assert (last.first_press, last.completed, last.expected) == (None, False, (62,))
        assert done.score.accuracy == 0.5
        assert done.score.mean_points == 25
        assert not done.complete

    def test_a_stop_counts_the_wrong_answer_that_was_never_mended(self):
        result = only(play(counted("C4"), [Flip(0), press(1, "D4"), Stop(2)]))
        assert (result.verdict, result.points, result.completed) == (WRONG, -75, False)

    def test_a_stop_between_two_prompts_counts_nothing_unseen(self):
        done = play(counted("C4", "D4"), [Flip(0), press(1, "C4"), Stop(2)])
        assert (len(done.results), done.complete) == (1, False)

    def test_a_stop_before_the_first_flip_is_an_empty_round(self):
        done = play(counted("C4"), [Stop(3)])
        assert (done.results, done.complete, done.score.tempo_per_min) == ((), False, None)


class TestPauses:
    def test_a_pause_is_left_out_of_every_time(self):
        done = play(
            counted("C4", "D4"),
            [Flip(0), Pause(1), Resume(101), press(102, "C4"), Flip(102), press(103, "D4")],
        )
        assert [r.t for r in done.results] == [2, 1]
        assert done.score.seconds == 3
        assert done.score.tempo_per_min == pytest.approx(40)

    def test_presses_during_a_pause_are_not_judged(self):
        now = play(counted("C4"), [Flip(0), Pause(1)])
        assert step(now, press(2, "E4")) == (now, None, None)
        assert only(play(now, [press(2, "E4"), Resume(5), press(6, "C4")])).verdict is RIGHT

    def test_a_pause_between_two_prompts(self):
        events = [Flip(0), press(1, "C4"), Pause(2), Resume(50), Flip(51), press(52, "D4")]
        done = play(counted("C4", "D4"), events)
        assert [r.t for r in done.results] == [1, 1]
        assert done.score.seconds == 4

    def test_a_timed_round_does_not_run_out_during_a_pause(self):
        now = play(timed(10, "C4", "D4"), [Flip(0), Pause(9), Tick(100)])
        assert now.ended is None
        assert now.elapsed(100) == 9
        done = play(now, [Resume(200), press(200.5, "C4"), Tick(201)])
        assert (done.ended, done.complete, only(done).t) == (201, True, 9.5)

    def test_a_pause_within_a_pause_and_a_resumption_without_one_change_nothing(self):
        now = play(counted("C4"), [Flip(0), Pause(1)])
        assert step(now, Pause(3)).round == now
        running = play(counted("C4"), [Flip(0)])
        assert step(running, Resume(3)).round == running

    def test_a_stop_during_a_pause_leaves_the_pause_out(self):
        done = play(counted("C4"), [Flip(0), Pause(2), Stop(60)])
        assert only(done).verdict is UNANSWERED
        assert done.score.seconds == 2

    def test_a_pause_before_the_first_flip(self):
        done = play(counted("C4"), [Pause(0), Resume(9), Flip(10), press(11, "C4")])
        assert (only(done).t, done.score.seconds) == (1, 1)

    def test_a_flip_during_a_pause_counts_from_its_end(self):
        done = play(counted("C4"), [Pause(0), Flip(5), Resume(9), press(10, "C4")])
        assert (only(done).t, done.score.seconds) == (1, 1)


class TestElapsed:
    def test_it_runs_from_the_first_flip_and_stands_at_the_end(self):
        now = play(counted("C4"), [Flip(5)])
        assert (now.elapsed(4), now.elapsed(5), now.elapsed(7.5)) == (0, 0, 2.5)
        done = play(now, [press(8, "C4")])
        assert done.elapsed(100) == 3

    def test_it_stands_at_the_length_of_a_timed_round(self):
        now = play(timed(10, "C4"), [Flip(0.1)])
        assert now.elapsed(99) == 10

    def test_figures_in_mid_round(self):
        now = play(counted("C4", "D4"), [Flip(0), press(1, "C4"), Flip(2)])
        assert (now.score.slots, now.score.accuracy, now.score.seconds) == (1, 1, 2)
        assert now.score.tempo_per_min == 30


KEYS = st.sampled_from([60, 62, 64, 72, 61])
EVENTS = st.lists(
    st.tuples(
        st.integers(0, 1536).map(lambda n: n / 1024),  # sums of these are exact
        st.one_of(
            st.builds(lambda k: lambda t: Press(t, k), KEYS),
            st.sampled_from([Flip, Flip, Pause, Resume, Resume, Tick]),
        ),
    ),
    max_size=40,
)


def in_order(gaps: list[tuple[float, object]]) -> list[Event]:
    now, events = 0.0, []
    for gap, make in gaps:
        now += gap
        events.append(make(now))
    return events


class TestAnyCourse:
    """Whatever happens in whatever order, these hold."""

    ROUND = Round((bar_of("C4", "D4"), *prompts_of("C4 E4", "D4", "E4")), LIMIT_S, 20)

    @given(EVENTS)
    def test_the_same_events_give_the_same_round_in_one_go_or_step_by_step(self, gaps):
        events = in_order(gaps)
        once = play(self.ROUND, events)
        assert once == play(self.ROUND, events)
        halves = play(play(self.ROUND, events[: len(events) // 2]), events[len(events) // 2 :])
        assert halves == once

    @given(EVENTS)
    def test_slots_are_done_in_order_once_each_and_within_bounds(self, gaps):
        done = play(self.ROUND, in_order(gaps))
        where = [(result.prompt, result.slot) for result in done.results]
        every = [(p, s) for p, prompt in enumerate(done.prompts) for s in range(len(prompt.slots))]
        assert where == every[: len(where)]
        for result in done.results:
            assert -100 <= result.points <= 100
            assert all(one.t >= 0 for one in result.presses)
            times = [one.t for one in result.presses]
            assert times == sorted(times)

    @given(EVENTS, st.integers(0, 1000))
    def test_a_round_begun_later_is_the_same_round(self, gaps, later):
        events = in_order(gaps)
        moved = [replace(event, t=event.t + later) for event in events]
        one, other = play(self.ROUND, events), play(self.ROUND, moved)
        assert (one.results, one.score, one.complete) == (
            other.results,
            other.score,
            other.complete,
        )


def test_a_chord_key_that_goes_down_twice_costs_the_next_slot_nothing():
    # The second key of a chord is mended within the window, and the hand strikes both again.
    bar = bar_of("C4 E4", "G4")
    struck = [(1.0, "C4"), (1.05, "F4"), (1.15, "E4"), (1.2, "C4"), (1.3, "E4"), (2.0, "G4")]
    ended = play(Round((bar,), 4.0), [Flip(0.0), *(press(t, name) for t, name in struck)])
    assert [result.verdict for result in ended.results] == [Verdict.WRONG, Verdict.RIGHT]


def test_after_the_window_a_key_of_the_chord_before_is_an_answer_like_any_other():
    bar = bar_of("C4 E4", "G4")
    struck = [(1.0, "C4"), (1.0, "E4"), (1.5, "C4"), (2.0, "G4")]
    ended = play(Round((bar,), 4.0), [Flip(0.0), *(press(t, name) for t, name in struck)])
    assert ended.results[1].verdict is Verdict.WRONG


def test_a_chord_that_repeats_a_key_takes_it_at_once():
    bar = bar_of("C4 E4", "E4")
    struck = [(1.0, "C4"), (1.0, "E4"), (1.1, "E4")]
    ended = play(Round((bar,), 4.0), [Flip(0.0), *(press(t, name) for t, name in struck)])
    assert ended.results[1].verdict is Verdict.RIGHT
