# SPDX-License-Identifier: MIT
"""The pace that runs along: ahead is ahead in points; exact on the same notes, by difficulty on
others."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import inf
from random import Random

import pytest
from builders import bar_of, level, level_text, press, prompts_of
from hypothesis import given, settings
from hypothesis import strategies as st

from game.levels import FULL_COMPASS
from game.levels.difficulty import difficulty
from game.rounds import Flip, Pause, Press, Resume, Round, Stop, Terms, Tick, lead, pace_of, play
from game.rounds import steady_pace as steady

LIMIT_S = 4.0
NOTES = ("C4", "E4", "G4", "C5")


def read(*times: float, notes: tuple[str, ...] = NOTES, settle: float = 0.0) -> Round:
    """A round in which each note was found at that second of it."""
    now, t = Round(prompts_of(*notes), LIMIT_S), 0.0
    for note, time in zip(notes, times, strict=False):
        now = play(now, [Flip(t), press(time, note)])
        t = time + settle
    return now


def begun(*notes: str) -> Round:
    return Round(prompts_of(*notes), LIMIT_S)


# The best round found its four notes at 2, 3, 5 and 9 s. The reader now finds theirs at 1, 4 and
# 6 s and then sits on the fourth. With a limit of 4 s the best earned 50, 75, 50 and 0 points, the
# reader earns 75, 25 and 50; the score is their sum / 4. Worked by hand, moment by moment:
#
#   at   points so far          seconds
#   0.0  0                       0.0    nothing done yet by either
#   1.0  (75 - 50) / 4          +1.0    2.0 - 1.0
#   2.5  the same               +0.5    the second is due at 3.0: 0.5 to go, below 1.0
#   3.5  the same               -0.5    the second was passed 0.5 s ago
#   4.0  (100 - 125) / 4        -1.0    3.0 - 4.0
#   5.5  the same               -1.0    passed 0.5 s ago, but 1.0 s were lost before
#   6.0  (150 - 175) / 4        -1.0    5.0 - 6.0
#   9.0  the same               -1.0    0 s ago; still 1.0 s lost
#   12.0 the same               -3.0    passed 3.0 s ago
BEST, NOW = (2.0, 3.0, 5.0, 9.0), (1.0, 4.0, 6.0)
TABLE = [
    (0.0, 0, 0.0),
    (1.0, 6.25, 1.0),
    (2.5, 6.25, 0.5),
    (3.5, 6.25, -0.5),
    (4.0, -6.25, -1.0),
    (5.5, -6.25, -1.0),
    (6.0, -6.25, -1.0),
    (9.0, -6.25, -1.0),
    (12.0, -6.25, -3.0),
]


@pytest.mark.parametrize(("at", "points", "seconds"), TABLE)
def test_ahead_and_behind_as_worked_out_by_hand(at, points, seconds):
    pace = pace_of(read(*BEST), begun(*NOTES))
    state = read(*(time for time in NOW if time <= at))
    assert lead(pace, state, at) == pytest.approx((points, seconds))


# Players of laws that the program knows nothing of: reading times that are Weibull, bursts and
# hold-ups, readers who tire or warm up, errors that come in runs.


def player(seed: int, start: Round) -> Round:
    """A whole round of somebody."""
    chance = Random(seed)
    scale, shape = 0.3 + 3 * chance.random(), 0.7 + 2 * chance.random()
    trend, errors, run = chance.uniform(-0.03, 0.05), chance.random() ** 2, 0.0
    now, t = start, 0.0
    while now.ended is None:
        now = play(now, [Flip(t)])
        run = max(errors, chance.random() * (run > 0.5)) if chance.random() < 0.8 else 0.9
        t += chance.weibullvariate(scale, shape) * max(0.3, 1 + trend * len(now.results))
        t += 5.0 * (chance.random() < 0.03)
        if chance.random() < run:
            now = play(now, [Press(t, 21)])
            t += 0.2 + chance.random()
        if now.ended is None:
            now = play(now, [Press(t, key) for key in sorted(now.expected)])
        t += 0.2
    assert now.complete
    return now


def kinds(seed: int) -> dict[str, Terms]:
    show = 'treble = "C4 to G5"\nbass = "F2 to C4"'
    more = "[round]\nprompts = 12\nseconds = 20"
    parsed, text = level(show, more=more), level_text(show, more=more, limit_s=4.0)
    return {
        "counted": Terms.counted(parsed, text, seed, None, FULL_COMPASS),
        "timed": Terms.timed(parsed, text, seed, None, FULL_COMPASS),
        "endless": Terms.endless(parsed, text, seed, FULL_COMPASS),
        "no clock": Terms.accuracy(parsed, text, seed, None, FULL_COMPASS),
        "day": Terms.of_day(parsed, text, f"2026-11-{1 + seed:02}", FULL_COMPASS),
    }


@pytest.mark.parametrize("kind", kinds(0))
@settings(max_examples=150, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 10**6), st.sampled_from([0, 7]))
def test_whoever_is_ahead_at_the_last_slot_has_a_new_best_and_the_other_way_round(
    kind, before, after, deal
):
    best = player(before, kinds(0)[kind].begin())
    start = kinds(deal)[kind].begin()
    pace, now = pace_of(best, start), player(after, start)
    if pace is None:  # the round that set the best found nothing
        return
    ahead = lead(pace, now, now.elapsed(now.ended)).points
    assert (ahead > 0) == (now.score.mean_points > best.score.mean_points)
    assert ahead == pytest.approx(now.score.mean_points - best.score.mean_points)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 10**6))
def test_on_the_way_no_slot_moves_the_lead_by_more_than_it_is_worth(before, after):
    start = kinds(0)["counted"].begin()
    best, now, leads = player(before, start), player(after, start), [0.0]
    pace = pace_of(best, start)
    for count in range(1, len(now.results) + 1):
        part = replace(now, results=now.results[:count], ended=None)
        leads.append(lead(pace, part, now.results[count - 1].done_s).points)
    steps = [abs(b - a) for a, b in pairwise(leads)]
    assert max(steps) <= 200 / len(now.results) + 1e-9
    assert leads[-1] == pytest.approx(now.score.mean_points - best.score.mean_points)


def test_in_a_timed_round_the_first_slots_do_not_count_for_the_whole():
    # 60 s: the best answered each note in 2 s (50 points); the reader the first one in 1 s (75).
    start = Round(prompts_of(*NOTES * 10), LIMIT_S, 60.0)
    pace = pace_of(play(read_on(start, 2.0), [Tick(60.0)]), start)
    state = read_on(start, 1.0, 1)
    assert lead(pace, state, 1.0).points == pytest.approx(75 / 60)  # the best has none so far
    assert lead(pace, state, 3.0).points == pytest.approx((75 - 50) * 3 / 60)
    assert lead(pace, state, 30.0).points == pytest.approx((75 - 50) / 2)


def read_on(start: Round, each: float, slots: int = 40) -> Round:
    now = start
    for number in range(slots):
        if now.ended is None:
            now = play(now, [Flip(number * each), Press(number * each + each, min(now.expected))])
    return now


def test_an_endless_best_stands_with_its_whole_sum_once_either_round_is_over():
    start = Round(prompts_of(*NOTES * 3), LIMIT_S, misses=1)
    best = play(read_on(start, 2.0, 5), [Flip(10.0), Press(11.0, 21)])  # 5 times 50, and -75
    assert best.score.mean_points == pytest.approx(1.75)
    pace = pace_of(best, start)
    state = read_on(start, 1.0, 3)
    assert lead(pace, state, 3.0).points == pytest.approx(0.75)  # 75 for 50, three times
    over = play(state, [Flip(3.0), Press(3.0, 21)])  # at once: -100
    assert lead(pace, over, 3.0).points == pytest.approx(1.25 - 1.75)
    further = read_on(start, 1.0, 8)
    assert lead(pace, further, 8.0).points == pytest.approx(8 * 0.75 - 1.75)


def test_a_record_without_a_clock_is_measured_by_the_limit_of_the_round_that_begins():
    without = read(*BEST)
    without = replace(
        without,
        limit_s=inf,
        results=tuple(replace(result, points=100.0) for result in without.results),
    )
    assert pace_of(without, begun(*NOTES)).points == (50, 75, 50, 0)


def test_on_the_same_notes_it_is_the_round_that_was_read_to_the_second():
    assert pace_of(read(*BEST, settle=0.2), begun(*NOTES)).done_s == BEST


def test_on_other_notes_it_is_as_fast_by_difficulty():
    other = ("F4", "D6", "A4", "B3")
    costs = [difficulty(prompt) for prompt in begun(*NOTES).prompts]
    new = [difficulty(prompt) for prompt in begun(*other).prompts]
    assert len(set(new)) > 1
    pace = pace_of(read(*BEST), begun(*other))
    steps = [b - a for a, b in zip((0.0, *pace.done_s), pace.done_s, strict=False)]
    assert steps == pytest.approx([9.0 * cost / sum(costs) for cost in new])


def test_the_same_notes_in_another_order_take_as_long_in_all_and_the_harder_ones_longer():
    old, new = ("C4", "D4", "C4", "D4"), ("D4", "C4", "D4", "C4")
    assert difficulty(bar_of("C4")) != difficulty(bar_of("D4"))
    pace = pace_of(read(1.0, 4.0, 5.0, 8.0, notes=old), begun(*new))
    assert pace.done_s[1] == pytest.approx(4.0)
    assert pace.done_s[3] == pytest.approx(8.0)
    assert pace.done_s[0] > 2.0  # D4 lies further from a landmark than middle C


def test_a_round_broken_off_goes_on_at_its_own_rate():
    state = play(read(2.0, 4.0), [Flip(4.0), press(5.0, "C4"), Stop(30.0)])
    costs = [difficulty(prompt) for prompt in begun(*NOTES).prompts]
    pace = pace_of(state, begun(*NOTES))
    assert pace.done_s[:2] == (2.0, 4.0)
    rate = 4.0 / sum(costs[:2])
    assert pace.done_s[2:] == pytest.approx(
        (4.0 + rate * costs[2], 4.0 + rate * (costs[2] + costs[3]))
    )


def test_pauses_are_nobodys_pace():
    now = Round(prompts_of("C4", "E4"), LIMIT_S)
    events = [Flip(5), press(6, "C4"), Flip(6), Pause(6.5), Resume(90), press(91, "E4")]
    assert pace_of(play(now, events), begun("C4", "E4")).done_s == (1.0, 2.5)


def test_a_wrong_key_costs_the_time_until_the_right_one():
    state = play(begun("C4", "E4"), [Flip(0), press(1, "D4"), press(4, "C4")])
    assert pace_of(state, begun("C4", "E4")).done_s[0] == 4.0


def test_in_a_bar_every_slot_counts_and_one_that_only_continues_a_tie_does_not():
    bar = bar_of("C4", "E4", "G4")
    held = bar.slots[1]._replace(notes=tuple(n._replace(tied=True) for n in bar.slots[1].notes))
    tied = replace(bar, slots=(bar.slots[0], held, bar.slots[2]))
    for prompt, slots in ((bar, 3), (tied, 2)):
        assert len(steady(60, Round((prompt,), LIMIT_S)).done_s) == slots
    events = [Flip(0), press(1, "C4"), press(3, "G4")]
    assert pace_of(play(Round((tied,), LIMIT_S), events), Round((tied,), LIMIT_S)).done_s == (1, 3)


def test_a_counted_round_is_a_pace_for_a_timed_one_of_the_same_deal():
    text = level_text('treble = "C4 to G5"', more="[round]\nprompts = 6")
    parsed = level('treble = "C4 to G5"', more="[round]\nprompts = 6")
    start = Terms.counted(parsed, text, 3, None, FULL_COMPASS).begin()
    now = start
    for number, prompt in enumerate(start.prompts):
        (key,) = prompt.slots[0].keys
        now = play(now, [Flip(2.0 * number), Press(2.0 * number + 2.0, key)])
    timed = Terms.timed(parsed, text, 3, 60, FULL_COMPASS).begin()
    pace = pace_of(now, timed)
    assert pace.done_s[:6] == (2, 4, 6, 8, 10, 12)
    assert len(pace.done_s) == len(timed.prompts)
    assert pace.by(12.0) == 6


def test_a_target_tempo_is_so_many_slots_a_minute():
    pace = steady(40, begun(*NOTES))
    assert pace.done_s == pytest.approx((1.5, 3.0, 4.5, 6.0))
    assert pace.points == pytest.approx([62.5] * 4)  # each right, after 1.5 of the 4 s
    assert lead(pace, read(1.0, 2.0), 2.0) == pytest.approx((2 * (75 - 62.5) / 4, 1.0))


def test_phrases_in_time_have_no_pace():
    show = 'texture = "phrase"\ntreble = "C4 to G5"\nbars = 2\ncells = [[1]]'
    more = "[time]\ntempo = 60"
    timed = Terms.counted(level(show, more=more), level_text(show, more=more), 1, 2, FULL_COMPASS)
    untimed = Terms.counted(level(show), level_text(show), 1, 2, FULL_COMPASS).begin()
    assert pace_of(read(*BEST), timed.begin()) is None
    assert steady(60, timed.begin()) is None
    assert pace_of(read(*BEST), untimed) is not None  # with bars, but waiting for each note


@pytest.mark.parametrize(
    "events", [[], [Flip(0), Stop(9)], [Flip(0), press(1, "D4"), Stop(2)]], ids=len
)
def test_a_round_in_which_nothing_was_found_is_no_pace(events):
    assert pace_of(play(begun("C4", "E4"), events), begun("C4", "E4")) is None
