# SPDX-License-Identifier: MIT
"""The forms of a heat: other notes for each seat, and equally hard for all."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise

import pytest
from builders import level_text, shipped
from fair_forms import Unfairness, forms_of, unfairness
from heat_builders import setup_of

from game.heats import Binding, Forms, HeatSetup, Seat, form_of
from game.heats.forms import FASTEST_PER_S, MOST, TOTAL, Form
from game.levels import deal, parse_level

LEVELS = {
    "notes": 'treble = "A3 to C6"\nbass = "C2 to E4"',
    "few notes": 'treble = "C4 to G4"',
    "signs": 'treble = "C4 to G5"\nsigns = ["#", "b", "n"]\nsignatures = [-1, 0, 2]',
    "hands together": 'texture = "hands together"\ntreble = "C4 to G5"\nbass = "C3 to B3"',
    "chords": 'texture = "chord"\ntreble = "C4 to A5"\nshapes = [[3, 5], [3, 6], [4, 6]]',
    "bars": 'treble = "C4 to G5"\nbass = "C3 to B3"\nslots = 4',
    "ties": 'treble = "C4 to G5"\nslots = 3\nbars = 2\nsigns = ["#", "b", "n"]\n'
    "returns = true\nties = true",
    "phrases": 'texture = "phrase"\ntreble = "C4 to C5"\nbass = "C3 to C4"\nbars = 2\n'
    "cells = [[1], [2], [0.5, 0.5]]",
    "signatures": 'texture = "signature"\nsignatures = [-4, -3, -2, -1, 0, 1, 2, 3, 4]',
    "written": 'texture = "written"\n'
    + "\n".join(
        f'[[show.written]]\nslots = ["{a}4", "{b}4"]'
        for a, b in ["CE", "DG", "EB", "FD", "GF", "AA", "BC"]
    )
    + "\n",
}


def fair(setup: HeatSetup, forms: list[Form]) -> Unfairness:
    """The differences of a heat, whose seats are as equal as is stated."""
    found = unfairness(setup, forms)
    assert found.slots == 0
    assert found.total <= 2 * TOTAL
    assert found.alike == 0
    return found


@pytest.mark.parametrize("show", LEVELS.values(), ids=LEVELS)
def test_forms_are_equally_hard_in_all_and_none_is_anothers(show):
    text = level_text(show)
    for seed in range(25):
        setup = setup_of(3, text=text, prompts=12, seed=seed)
        fair(setup, forms_of(setup))


def test_forms_of_notes_are_equally_hard_at_every_moment_over_thousands_of_seeds():
    text = level_text(LEVELS["notes"])
    for seed in range(1000):  # 2000 seeds of forms
        setup = setup_of(2, text=text, prompts=10, seed=seed)
        assert fair(setup, forms_of(setup)).ahead <= 2 * MOST


@pytest.mark.parametrize("name", LEVELS)
@pytest.mark.parametrize("prompts", [1, 2, 3])
def test_the_shortest_forms_are_fair_even_where_that_makes_some_alike(name, prompts):
    setup = setup_of(4, text=level_text(LEVELS[name]), prompts=prompts)
    found = unfairness(setup, forms_of(setup))
    assert found.slots == 0
    assert found.total <= 2 * TOTAL


@pytest.mark.parametrize("name", LEVELS)
@pytest.mark.parametrize("seats", [1, 2, 40])
def test_any_number_of_seats_may_read_any_kind_of_level(name, seats):
    setup = setup_of(seats, text=level_text(LEVELS[name]), prompts=9, seed=seats)
    forms = forms_of(setup)
    found = fair(setup, forms)
    assert found.ahead <= 2 * MOST
    assert all(len(form) == 9 for form in forms)


def test_forms_of_every_shipped_level_are_fair():
    for rung in shipped().rungs:
        setup = setup_of(3, text=rung.text, prompts=rung.level.round.prompts, seed=5)
        assert fair(setup, forms_of(setup)).ahead <= 2 * MOST, rung.level.id


def test_a_form_has_no_prompt_twice_running_and_every_note_its_own_name():
    for name, show in LEVELS.items():
        for form in forms_of(setup_of(4, text=level_text(show), prompts=30)):
            assert not any(one.looks_like(other) for one, other in pairwise(form)), name
            ids = [note.id for prompt in form for note in prompt.notes]
            assert len(set(ids)) == len(ids), name


def test_a_timed_heat_has_more_prompts_than_anybody_can_read():
    for name in ("notes", "bars", "phrases"):
        setup = setup_of(2, text=level_text(LEVELS[name]), seconds=30)
        for form in forms_of(setup):
            slots = sum(bool(slot.keys) for prompt in form for slot in prompt.slots)
            assert slots >= 0.9 * FASTEST_PER_S * 30


def test_the_same_for_all_is_the_deal_of_the_heats_own_seed():
    setup = setup_of(5, forms=Forms.SAME, prompts=20, seed=3)
    dealt = deal(parse_level(setup.level_text, "it"), 3, 20)
    assert set(forms_of(setup)) == {dealt}


def test_a_seat_reads_the_same_whoever_else_is_there():
    text = level_text(LEVELS["notes"])
    few = forms_of(setup_of(2, text=text, prompts=20))
    many = forms_of(setup_of(9, text=text, prompts=20))
    assert many[:2] == few
    alone = setup_of([Seat(2, "Mia", "m", Binding("any keyboard"))], text=text, prompts=20)
    assert forms_of(alone) == [few[1]]


def test_another_seed_seat_or_try_is_another_form():
    text = level_text(LEVELS["notes"])
    setup = setup_of(2, text=text, prompts=20)
    one, two = setup.seats
    forms = {
        form_of(setup, one),
        form_of(setup, two),
        form_of(setup, one, 1),
        form_of(setup, one, 2),
        form_of(replace(setup, seed=8), one),
    }
    assert len(forms) == 5


def test_prompts_in_a_fixed_order_stay_in_it():
    setup = setup_of(3, text=level_text(LEVELS["written"].replace("[[", "in_order = true\n[[", 1)))
    forms = forms_of(setup)
    assert forms[0] == forms[1] == forms[2]


def test_where_a_level_has_too_few_prompts_forms_may_be_alike_but_are_dealt():
    two = level_text('treble = ["C4", "G4"]')
    assert len(forms_of(setup_of(5, text=two, prompts=6))) == 5


DEALT = """
import sys
from game.heats import HeatSetup, Forms, Manner, Seat, form_of
text = sys.stdin.read()
setup = HeatSetup("a", "b", text, 11, 25, None, Manner.TOGETHER, Forms.OWN, (Seat(1), Seat(7)))
for seat in setup.seats:
    form = form_of(setup, seat, 2)
    print([(n.id, n.pitch.spelling, n.staff) for p in form for n in p.notes])
"""


def test_the_same_seed_deals_the_same_heat_in_any_process():
    text = level_text(LEVELS["signs"])

    def dealt(hash_seed: str) -> str:
        environment = {**os.environ, "PYTHONHASHSEED": hash_seed}
        run = [sys.executable, "-c", DEALT]
        return subprocess.run(
            run, input=text, capture_output=True, text=True, check=True, env=environment
        ).stdout

    one = dealt("1")
    assert len(one.splitlines()) == 2
    assert dealt("2") == one
    setup = replace(setup_of([Seat(1), Seat(7)], text=text, prompts=25), seed=11)
    here = [form_of(setup, seat, 2) for seat in setup.seats]
    names = [[(n.id, n.pitch.spelling, n.staff) for p in form for n in p.notes] for form in here]
    assert [str(line) for line in names] == one.splitlines()
