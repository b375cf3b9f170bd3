# SPDX-License-Identifier: MIT
"""What a reader is said to know: little data says little, neighbours help, old answers fade."""

from __future__ import annotations

import json
from math import exp, log
from random import Random

import pytest
from builders import bar_of, key
from scipy.stats import beta
from simulated_readers import lognormal

from game.levels import Prompt
from game.notation import Clef
from game.reader import (
    DAY_S,
    INTERVAL,
    Answer,
    Habits,
    Knowledge,
    ReadingItem,
    Source,
    answers_of,
    explain_result,
    signs_of,
)
from game.reader.knowledge import beta_interval
from game.rounds import Flip, Press, Round, play

NOW = 1.7e9
A4 = ReadingItem(Clef.TREBLE, 3)


def after(
    answers: str, sign: ReadingItem = A4, *, t: float | None = 1.0, at: float = NOW
) -> Knowledge:
    """The knowledge after right (r) and wrong (w) answers, a minute apart."""
    knowledge = Knowledge()
    for number, answer in enumerate(answers):
        knowledge = knowledge.after(Answer(sign, answer == "r", t, at + 60 * number))
    return knowledge


def width(knowledge: Knowledge, sign: ReadingItem = A4, at: float = NOW) -> float:
    """How unsure the certainty is."""
    certainty = knowledge.estimate(sign, at).certainty
    return certainty.high - certainty.low


@pytest.mark.parametrize(
    ("prompt", "sources"),
    [
        (bar_of("A4"), [Source.NONE]),
        (bar_of("F#4", "F#5", signature=1), [Source.SIGNATURE] * 2),
        (bar_of("G#4", "G#4", "G#5"), [Source.PRINTED, Source.HELD, Source.PRINTED]),
        (bar_of("F4", "F4", signature=1), [Source.PRINTED, Source.HELD]),
    ],
)
def test_a_sign_is_a_place_and_where_its_alteration_comes_from(prompt, sources):
    assert [sign.source for sign in signs_of(prompt).values()] == sources


def test_a_sign_has_a_name_that_reads_back():
    sign = ReadingItem(Clef.BASS, -3, Source.HELD)
    assert ReadingItem.parse(sign.name) == sign
    with pytest.raises(ValueError, match="not a sign such as"):
        ReadingItem.parse("tabor 3 none")


def test_a_newcomer_is_known_hardly_at_all():
    found = Knowledge().estimate(A4, NOW)
    assert found.certainty.low < 0.5 < 0.95 < found.certainty.high
    assert found.time_s.high > 6 * found.time_s.low
    assert (found.answers, found.recall, found.due) == (0, None, None)


@pytest.mark.parametrize("answers", ["rrr", "www", "rw"])
def test_three_answers_leave_much_open(answers):
    assert 0.25 < width(after(answers)) < width(Knowledge())


def test_more_answers_leave_less_open():
    few, many = after("rrrw"), after("rrrw" * 6)
    assert width(many) < width(few)
    speeds = [k.estimate(A4, NOW).time_s for k in (few, many)]
    assert speeds[1].high / speeds[1].low < speeds[0].high / speeds[0].low


def test_only_wrong_answers_make_a_sign_uncertain_and_still_have_a_time():
    found = after("w" * 20).estimate(A4, NOW)
    assert found.certainty.high < 0.4
    assert found.time_s.low < found.time_s.mean < found.time_s.high


def test_neighbours_lend_their_certainty_the_nearer_the_more():
    knowledge = after("w" * 10)
    far = ReadingItem(Clef.TREBLE, 8)
    near, next_but_two = ReadingItem(Clef.TREBLE, 4), ReadingItem(Clef.TREBLE, 6)
    found = [knowledge.certainty(sign, NOW) for sign in (A4, near, next_but_two, far)]
    assert found == sorted(found) and len(set(found)) == 4
    same_place = ReadingItem(Clef.TREBLE, 3, Source.SIGNATURE)
    assert near_between(knowledge, same_place)
    assert knowledge.certainty(ReadingItem(Clef.BASS, 3), NOW) == knowledge.certainty(far, NOW)


def near_between(knowledge: Knowledge, sign: ReadingItem) -> bool:
    """Whether it has learnt something from A4, and less than A4 itself has."""
    far = ReadingItem(Clef.TREBLE, 8)
    return (
        knowledge.certainty(A4, NOW)
        < knowledge.certainty(sign, NOW)
        < knowledge.certainty(far, NOW)
    )


def test_neighbours_lend_their_speed():
    quick = after("r" * 20, t=0.5)
    slow = after("r" * 20, t=4.0)
    beside = ReadingItem(Clef.TREBLE, 4)
    assert quick.estimate(beside, NOW).time_s.mean < 0.8
    assert slow.estimate(beside, NOW).time_s.mean > 2.5


def test_newer_answers_weigh_more_than_older_ones():
    improved, worsened = after("w" * 12 + "r" * 12), after("r" * 12 + "w" * 12)
    assert improved.certainty(A4, NOW) > 0.6 > 0.5 > worsened.certainty(A4, NOW)


def test_after_months_little_is_left_of_what_was_known():
    knowledge = after("r" * 20)
    later = NOW + 180 * DAY_S
    assert width(knowledge, at=later) > 1.5 * width(knowledge)
    assert knowledge.estimate(A4, later).answers < 0.5


def test_recall_falls_with_the_days_and_the_due_date_is_kept():
    found = after("r").estimate(A4, NOW)
    assert found.due is not None and found.due > NOW
    days = [after("r").estimate(A4, NOW + d * DAY_S).recall for d in (0, 1, 5, 50)]
    assert days == sorted(days, reverse=True) and days[0] == pytest.approx(1)


def test_right_answers_on_many_days_put_the_next_one_further_off():
    knowledge, gaps, at = Knowledge(), [], NOW
    for _ in range(5):
        knowledge = knowledge.after(Answer(A4, True, 1.0, at))
        due = knowledge.estimate(A4, at).due
        gaps.append(due - at)
        at = due
    assert gaps == sorted(gaps) and gaps[-1] > 4 * gaps[0]


def test_a_mistake_brings_the_next_one_near():
    knowledge = after("r")
    wrong = knowledge.after(Answer(A4, False, None, NOW + 60))
    assert wrong.estimate(A4, NOW).due < knowledge.estimate(A4, NOW).due


def test_drilling_one_sitting_long_does_not_pass_for_remembering():
    once, often = after("r"), after("r" * 40)
    assert often.estimate(A4, NOW).due == once.estimate(A4, NOW).due


def test_slow_answers_come_back_sooner_than_quick_ones():
    usual = after("r" * 20, ReadingItem(Clef.BASS, 4), t=1.0, at=NOW - DAY_S)
    dues = [usual.after(Answer(A4, True, t, NOW)).estimate(A4, NOW).due for t in (4.0, 1.0, 0.3)]
    assert dues == sorted(dues) and len(set(dues)) == 3


def test_a_clock_set_back_counts_as_no_time_passed():
    # A session was dated a century ahead; then the clock was put right.
    ahead = after("r" * 8, at=NOW + 36500 * DAY_S)
    back = ahead.after(Answer(A4, True, 1.0, NOW))
    steady = after("r" * 9)
    assert back.certainty(A4, NOW) == pytest.approx(steady.certainty(A4, NOW), abs=0.01)
    found = back.estimate(A4, NOW)
    assert found.recall == pytest.approx(1)
    assert NOW < found.due < NOW + 400 * DAY_S
    # From there on time passes again.
    assert back.estimate(A4, NOW + 90 * DAY_S).answers < 0.3 * found.answers


def test_kept_knowledge_reads_back_the_same_and_stays_small():
    knowledge, rng = Knowledge(), Random(1)
    for number in range(3000):
        sign = ReadingItem(
            Clef.TREBLE, int(20 * rng.random()) - 6, list(Source)[int(4 * rng.random())]
        )
        right = rng.random() < 0.8
        knowledge = knowledge.after(Answer(sign, right, 0.5 + rng.random(), NOW + 50 * number))
        if number == 1500:
            half = len(json.dumps(knowledge.to_json()))
    text = json.dumps(knowledge.to_json())
    assert Knowledge.from_json(json.loads(text)) == knowledge
    assert len(text) < 1.1 * half


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        ({"version": 99}, "version 99"),
        ({"totals": [1.0]}, "'totals' should have 6 numbers"),
        ({"signs": {"treble 3 none": [1, 2]}}, "'treble 3 none' should have 10 numbers"),
        ({"signs": {"treble 3 none": ["x"] * 10}}, "should have 10 numbers"),
        ({"signs": {"tenor 3 none": [1.0] * 10}}, "not a sign such as"),
    ],
)
def test_damaged_knowledge_is_refused_with_its_place(damage, said):
    with pytest.raises(ValueError, match=said):
        Knowledge.from_json(after("r").to_json() | damage)


def test_times_that_are_no_times_are_refused():
    for t, at in ((-1.0, NOW), (float("nan"), NOW), (1.0, float("nan"))):
        with pytest.raises(ValueError, match="times are seconds"):
            Knowledge().after(Answer(A4, True, t, at))


@pytest.mark.parametrize(("a", "b"), [(0.4, 3.6), (3.2, 0.8), (12.0, 3.0), (25.0, 0.5), (2, 2)])
def test_the_interval_is_the_middle_of_the_beta_distribution(a, b):
    """Checked against scipy.stats.beta."""
    assert beta_interval(a, b) == pytest.approx(beta.interval(INTERVAL, a, b), abs=0.005)


# What slots say


def played(prompt: Prompt, *presses: Press) -> Round:
    """A round of one prompt after a flip at 0 and these presses."""
    return play(Round((prompt,), 8.0), [Flip(0.0), *presses])


def said(prompt: Prompt, *presses: Press) -> list[tuple[str, bool, float | None]]:
    """(spelling, right, time) that the first slot says."""
    result = played(prompt, *presses).results[0]
    answers = answers_of(prompt, result, NOW, explain_result(prompt, result, Habits()))
    spelling = {sign: note_id for note_id, sign in signs_of(prompt).items()}
    pitches = {note.id: note.pitch.spelling for note in prompt.notes}
    return [(pitches[spelling[a.sign]], a.right, a.t) for a in answers]


def test_a_single_note_says_whether_and_how_fast_it_was_read():
    assert said(bar_of("A4"), Press(1.5, key("A4"))) == [("A4", True, 1.5)]
    wrong = said(bar_of("A4"), Press(1.5, key("B4")), Press(2.5, key("A4")))
    assert wrong == [("A4", False, None)]


def test_a_chord_says_which_notes_were_read_but_not_how_fast():
    chord = bar_of("C4 E4 G4")
    right = said(chord, *(Press(1.0, key(name)) for name in ("C4", "E4", "G4")))
    assert right == [("C4", True, None), ("E4", True, None), ("G4", True, None)]
    wrong = said(chord, *(Press(1.0, key(name)) for name in ("C4", "F4", "C4", "E4", "G4")))
    assert wrong == [("C4", True, None), ("E4", False, None)]


def test_keys_that_were_right_but_not_together_say_nothing():
    late = [Press(1.0, key("C4")), Press(2.0, key("C4")), Press(2.0, key("E4"))]
    assert said(bar_of("C4 E4"), *late) == []


# Honest intervals, on simulated readers whose truth is known


def simulated(seed: int, answers: int) -> tuple[Knowledge, dict[ReadingItem, tuple[float, float]]]:
    """A reader whose certainty and speed vary smoothly over a staff: (knowledge, truth)."""
    rng = Random(seed)
    centre, level = 2 + 4 * rng.random(), 1 + 2 * rng.random()
    truth = {}
    for position in range(-4, 13):
        logit = level - abs(position - centre) * 0.35 + rng.random() - 0.5
        time = 0.8 * exp(0.06 * abs(position - centre) + 0.2 * (rng.random() - 0.5))
        truth[ReadingItem(Clef.TREBLE, position)] = (1 / (1 + exp(-logit)), time)
    knowledge, signs = Knowledge(), list(truth)
    for number in range(answers):
        sign = signs[int(len(signs) * rng.random())]
        certainty, time = truth[sign]
        right, t = rng.random() < certainty, lognormal(rng, time, 0.3)
        knowledge = knowledge.after(Answer(sign, right, t, NOW + 5 * number))
    return knowledge, truth


@pytest.mark.parametrize("answers", [0, 40, 400])
def test_the_truth_lies_in_the_interval_about_as_often_as_it_says(answers):
    inside_certainty = inside_time = total = 0
    for seed in range(20):
        knowledge, truth = simulated(seed, answers)
        for sign, (certainty, time) in truth.items():
            found = knowledge.estimate(sign, NOW + 5 * answers)
            inside_certainty += found.certainty.low <= certainty <= found.certainty.high
            inside_time += found.time_s.low <= time <= found.time_s.high
            total += 1
    assert inside_certainty / total >= INTERVAL - 0.08
    assert inside_time / total >= INTERVAL - 0.08


def test_neighbours_bring_little_data_nearer_to_the_truth():
    pooled = alone = 0.0
    for seed in range(30):
        knowledge, truth = simulated(seed, 60)
        for sign, (certainty, time) in truth.items():
            found = knowledge.estimate(sign, NOW + 300)
            pooled += (found.certainty.mean - certainty) ** 2
            own = knowledge.signs.get(sign)
            right, wrong = (own.right, own.wrong) if own else (0.0, 0.0)
            alone += ((right + 1) / (right + wrong + 2) - certainty) ** 2
            assert abs(log(found.time_s.mean / time)) < 1
    assert pooled < 0.7 * alone


def test_the_figures_of_many_signs_are_those_of_each():
    rng = Random(5)
    knowledge = Knowledge()
    signs = [
        ReadingItem(clef, n, source) for clef in Clef for n in range(-6, 9) for source in Source
    ]
    for number in range(600):
        sign = signs[int(rng.random() ** 2 * len(signs))]
        right = rng.random() < 0.8
        at = NOW + 3000.0 * number
        knowledge = knowledge.after(Answer(sign, right, 0.5 + rng.random(), at))
    later = NOW + 2e6
    certainties, times = knowledge.figures(signs, later)
    assert certainties == pytest.approx([knowledge.certainty(sign, later) for sign in signs])
    assert times == pytest.approx([knowledge.time(sign, later).mean for sign in signs])
    assert [len(figures) for figures in knowledge.figures([], later)] == [0, 0]
