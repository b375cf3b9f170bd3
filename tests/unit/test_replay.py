# SPDX-License-Identifier: MIT
"""Going through a round again: what is in view, which keys are down, and where to go from there."""

from __future__ import annotations

import pytest
from builders import bar_of, press, prompts_of
from robot_rounds import robot_record, robot_terms

from game.rounds import Flip, Outcome, Pause, Press, Resume, Round, Stop, Tick, Verdict
from game.rounds.replay import HELD_S, Replay

# C4 right after 1 s; E4 a step off after 4 s, found at 5 s; then a pause of 7 s in the last one,
# which is right 0.5 s + 0.5 s after its flip.
PROMPTS = prompts_of("C4", "E4", "G4")
EVENTS = (
    Flip(10.0),
    press(11.0, "C4"),
    Flip(11.2),
    press(15.2, "D4"),
    press(16.2, "E4"),
    Flip(16.8),
    Pause(17.3),
    press(20.0, "A4"),
    Resume(24.3),
    press(24.8, "G4"),
)
REPLAY = Replay.of(Round(PROMPTS, 6.0), EVENTS)


@pytest.mark.parametrize(
    ("t", "prompt", "verdicts", "waited"),
    [
        (0.0, 0, [], 0.0),
        (0.75, 0, [], 0.75),
        (1.0, 0, ["right"], None),
        (1.1, 0, ["right"], None),  # an answered prompt stays in view until the next flip
        (1.2, 1, [], 0.0),
        (5.15, 1, [], 3.95),
        (5.2, 1, ["wrong"], 4.0),
        (6.0, 1, ["wrong"], 4.8),
        (6.2, 1, ["wrong", "right"], None),
        (6.8, 2, [], 0.0),
        (7.2, 2, [], 0.4),
        (7.3, 2, [], 0.5),
        (7.5, 2, [], 0.7),  # the pause takes no time
        (7.8, 2, ["right"], None),
        (99.0, 2, ["right"], None),
    ],
)
def test_what_is_in_view_by_hand(t, prompt, verdicts, waited):
    view = REPLAY.view(t + 1e-9)
    assert view.prompt == prompt
    assert [moment.judged.verdict.value for moment in view.answers] == verdicts
    assert view.waited == (None if waited is None else pytest.approx(waited, abs=1e-6))


def test_before_the_first_flip_nothing_is_in_view():
    view = REPLAY.view(-1.0)
    assert (view.answers, view.keys, view.waited) == ((), frozenset(), None)


def test_keys_are_down_for_a_moment_and_never_in_a_pause():
    assert REPLAY.view(1.0).keys == {60}
    assert REPLAY.view(1.0 + HELD_S).keys == frozenset()
    assert REPLAY.view(5.3).keys == {62}
    assert all(69 not in REPLAY.view(t / 10).keys for t in range(100))


def test_its_length_its_prompts_and_its_mistakes():
    assert REPLAY.length == pytest.approx(7.8)
    assert REPLAY.starts == pytest.approx((0.0, 1.2, 6.8))
    assert REPLAY.mistakes == pytest.approx((5.2,))


def test_a_hesitation_is_twice_the_median_and_at_least_a_second():
    # Right after 1 s and 1 s: the median is 1 s, so from 2 s on; E4's first press took 4 s.
    assert REPLAY.slow_s == pytest.approx(2.0)
    ((start, end),) = REPLAY.hesitations
    assert (start, end) == pytest.approx((1.2, 5.2))
    quick = Replay.of(Round(prompts_of("C4", "D4"), 6.0), [Flip(0), press(0.1, "C4")])
    assert quick.slow_s == 1.0
    wrong = Replay.of(Round(prompts_of("C4", "D4"), 6.0), [Flip(0), press(0.1, "D4")])
    assert wrong.slow_s == 3.0


def test_back_goes_to_the_beginning_and_from_there_to_the_prompt_before():
    assert REPLAY.prompt_start(3.0, -1) == pytest.approx(1.2)
    assert REPLAY.prompt_start(1.3, -1) == 0.0
    assert REPLAY.prompt_start(0.0, -1) == 0.0
    assert REPLAY.prompt_start(0.0, 1) == pytest.approx(1.2)
    assert REPLAY.prompt_start(7.0, 1) == pytest.approx(7.8)


def test_the_next_mistake_and_the_one_before():
    at = REPLAY.mistakes[0]
    assert REPLAY.mistake(0.0) == at
    assert REPLAY.mistake(at) is None
    assert REPLAY.mistake(7.0, -1) == at
    assert REPLAY.mistake(at, -1) is None


def test_what_was_left_and_chords_not_struck_together_are_mistakes_where_they_are_judged():
    start = Round(prompts_of("C4 E4", "G4"), 6.0)
    events = [Flip(0), press(1.0, "C4"), press(3.0, "E4"), press(3.1, "C4"), Flip(3.5), Stop(9.0)]
    replay = Replay.of(start, events)
    assert [r.verdict for r in replay.ended.results] == [Verdict.WRONG, Verdict.UNANSWERED]
    assert replay.mistakes == (3.1, 9.0)


def test_a_round_with_no_events_can_be_gone_through():
    replay = Replay.of(Round(PROMPTS, 6.0), [])
    assert (replay.length, replay.mistakes, replay.starts) == (0.0, (), ())
    assert replay.view(5.0).prompt == 0
    assert replay.prompt_start(0.0, 1) == 0.0 and replay.mistake(0.0) is None


def test_a_bar_keeps_its_answers_in_view_until_it_is_done_with():
    start = Round((bar_of("C4", "D4", "E4"),), 6.0)
    replay = Replay.of(start, [Flip(0), press(1, "C4"), press(2, "F4"), press(3, "D4")])
    assert [moment.slot for moment in replay.view(3.0).answers] == [0, 1, 1]


def test_phrases_in_time_are_judged_at_their_end_and_begin_again_after_a_pause():
    shared = robot_record(robot_terms("time-six", prompts=3), pause_at=1)
    replay = Replay.of(shared.terms.begin(), shared.events)
    ended = shared.terms.replay(shared.events)
    first = ended.prompts[0]
    over = ended.pulse.length_s(first)
    assert replay.view(over - 0.01).phrase is None
    assert replay.view(over + 0.01).phrase == ended.phrases[0]
    assert replay.view(replay.starts[1]).phrase is None
    assert replay.hesitations == ()
    wrong = [any(n.outcome is not Outcome.RIGHT for n in p.notes) for p in ended.phrases]
    assert len(replay.mistakes) <= 3 and len(replay.mistakes) >= sum(wrong)
    assert replay.view(replay.starts[1] + 0.2).waited == pytest.approx(0.1, abs=1e-6)  # again


@pytest.mark.parametrize("level_id", ["middle-c-right", "chords-keys", "signs-cancelled"])
@pytest.mark.parametrize("kind", [{}, {"seconds": 15, "prompts": 60}, {"misses": 3}])
def test_a_whole_round_comes_out_as_it_was(level_id, kind):
    shared = robot_record(robot_terms(level_id, **kind), pause_at=2)
    replay = Replay.of(shared.terms.begin(), shared.events)
    assert replay.ended == shared.terms.replay(shared.events)
    times = [moment.t for moment in replay.moments]
    assert times == sorted(times) and times[0] == 0.0
    seconds = replay.ended.score.seconds
    assert replay.length == pytest.approx(seconds, abs=1e-6)
    assert len(replay.mistakes) == sum(not r.right for r in replay.ended.results)
    for result in replay.ended.results:
        if result.t is not None and result.t >= replay.slow_s:
            assert any(b - a == pytest.approx(result.t) for a, b in replay.hesitations)


def test_the_end_of_a_timed_round_is_a_moment():
    start = Round(PROMPTS, 6.0, seconds=8.0)
    replay = Replay.of(start, [Flip(1.0), press(2.0, "C4"), Flip(2.2), Tick(9.5), Press(9.9, 60)])
    assert replay.ended.complete
    assert len(replay.moments) == 4
    assert replay.view(20.0).waited is None
