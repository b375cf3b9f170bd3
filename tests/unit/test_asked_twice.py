# SPDX-License-Identifier: MIT
"""What is asked before it is done: a second choice says yes, unless it comes too soon or late."""

from __future__ import annotations

import pytest

from game.ui.asked_twice import HASTE_S, LAPSE_S, AskedTwice


class Clock:
    """Stateful: a clock in hand."""

    t = 10.0

    def __call__(self) -> float:
        return self.t


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def asked(clock):
    return AskedTwice(clock)


@pytest.mark.parametrize(
    ("after", "yes"),
    [
        (0.0, False),
        (HASTE_S - 0.01, False),
        (HASTE_S, True),
        (LAPSE_S - 0.01, True),
        (LAPSE_S, False),
    ],
)
def test_the_second_choice_says_yes_neither_at_once_nor_much_later(clock, asked, after, yes):
    assert not asked.sure("end")
    clock.t += after
    assert asked.sure("end") is yes
    assert asked.open == (None if yes else "end")


def test_many_quick_clicks_say_yes_to_nothing(clock, asked):
    answers = []
    for _click in range(10):
        answers.append(asked.sure("end"))
        clock.t += 0.2
    assert not any(answers)


def test_a_question_about_something_else_is_another_question(clock, asked):
    asked.sure(("redo", 1))
    clock.t += 1
    assert not asked.sure(("redo", 2))
    assert asked.open == ("redo", 2)


def test_a_question_lapses_by_itself_and_says_when(clock, asked):
    assert asked.open is None and asked.left is None
    asked.sure("end")
    clock.t += 2
    assert asked.left == pytest.approx(LAPSE_S - 2)
    clock.t += asked.left
    assert asked.open is None and asked.left is None


def test_no_is_an_answer_too(clock, asked):
    asked.sure("end")
    clock.t += 1
    asked.drop()
    assert not asked.sure("end")
