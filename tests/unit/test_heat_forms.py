# SPDX-License-Identifier: MIT
"""The forms of a heat: other notes for each seat, and equally hard for all."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise

import pytest
from builders import level_text, shipped
from fair_forms import Unfairness, forms_of, unfairness
from heat_builders import after, halves, keys_of, setup_of

from game.heats import (
    Binding,
    Bound,
    Form,
    Forms,
    HeatSetup,
    Join,
    Redo,
    Seat,
    Start,
    begin,
    fairness,
    form_of,
    play,
)
from game.heats.chain import heat_file, judge
from game.heats.forms import EVEN, FASTEST_PER_S, gap
from game.heats.matching import MOST, TOTAL
from game.levels import Compass, deal, difficulty, parse_level

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
def test_forms_are_equally_hard_in_all_and_none_is_anothers(show, wide):
    text = level_text(show)
    for seed in range(25 if wide else 4):
        setup = setup_of(3, text=text, prompts=12, seed=seed)
        fair(setup, forms_of(setup))


def test_forms_of_notes_are_equally_hard_at_every_moment_over_many_seeds(wide):
    text = level_text(LEVELS["notes"])
    for seed in range(1000 if wide else 40):  # twice as many of forms
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


# A keyboard that is split

WIDE_CHORDS = LEVELS["chords"].replace("C4 to A5", "A3 to A5") + '\nbass = "E2 to C4"'
SPLIT = {
    "notes": (48, 60, 72),
    "signs": (65, 67, 72),
    "wide chords": (57, 60, 64),
    "bars": (60, 64),
    "ties": (65, 67),
}


def split_heat(name: str, at: int, **more: object) -> HeatSetup:
    show = WIDE_CHORDS if name == "wide chords" else LEVELS[name]
    return setup_of(halves(at), text=level_text(show), **{"prompts": 12, **more})


@pytest.mark.parametrize(("name", "at"), [(name, at) for name in SPLIT for at in SPLIT[name]])
def test_the_parts_of_a_keyboard_have_different_notes_and_are_equally_hard(name, at, wide):
    for seed in range(20 if wide else 3):
        setup = split_heat(name, at, seed=seed)
        below, above = forms = forms_of(setup)
        assert {key < at for prompt in below for slot in prompt.slots for key in slot.keys} == {
            True
        }
        assert {key < at for prompt in above for slot in prompt.slots for key in slot.keys} == {
            False
        }
        assert fair(setup, forms).ahead <= 2 * MOST
        assert gap(forms) <= EVEN


def test_parts_are_equally_hard_over_many_seeds_where_they_were_not_by_themselves(wide):
    for seed in range(500 if wide else 25):  # of two forms each
        assert gap(forms_of(split_heat("notes", 60, seed=seed))) <= EVEN
    before = [replace(split_heat("notes", 60, seed=seed), dealt=1) for seed in range(10)]
    assert sum(gap(forms_of(setup)) > EVEN for setup in before) >= 4


@pytest.mark.parametrize("prompts", [1, 2, 3, 200])
def test_parts_are_equally_hard_in_the_shortest_heat_and_in_a_long_one(prompts):
    setup = split_heat("notes", 60, prompts=prompts)
    forms = forms_of(setup)
    assert [len(form) for form in forms] == [prompts] * 2
    assert gap(forms) <= EVEN


def test_every_seat_of_a_heat_with_a_split_keyboard_is_as_hard_as_the_others():
    one, two, three = halves(48, 60)
    whole, alike = Seat(4, binding=Binding("its own")), Seat(5, binding=Binding("other", 48, 59))
    setup = setup_of([one, two, three, whole, alike], text=level_text(LEVELS["notes"]), prompts=20)
    forms = forms_of(setup)
    fair(setup, forms)
    assert gap(forms) <= EVEN
    late = Seat(6, binding=Binding("late", 60, 127))
    again = [form_of(setup, two, 1), form_of(setup, two, 2), form_of(setup, late)]
    assert gap([*forms, *again]) <= EVEN
    assert len({*forms, *again}) == 8


def test_who_shares_a_keyboard_late_is_as_hard_as_who_was_there():
    text = level_text(LEVELS["notes"])
    lower, upper = halves(60)
    heat = begin(setup_of([Seat(1, binding=Binding("long"))], text=text, prompts=20))
    heat = after(heat, Bound(1.0, 1, lower.binding), Join(1.0, upper))
    assert all(key >= 60 for key in keys_of(heat, 2))
    assert gap(chair.form for chair in heat.chairs) <= EVEN
    heat = after(heat, Start(2.0), Redo(3.0, 1))  # on the lower keys alone now
    assert all(key < 60 for key in keys_of(heat, 1))
    assert gap(chair.form for chair in heat.chairs) <= EVEN


def test_the_same_for_all_is_the_same_on_the_same_keys_and_as_hard_on_others():
    (lower, upper), (lower2, _) = halves(60), halves(60, keyboard="two")
    seats = [lower, upper, replace(lower2, number=3)]
    setup = setup_of(seats, text=level_text(LEVELS["notes"]), prompts=20, forms=Forms.SAME)
    one, two, three = forms_of(setup)
    assert one == three
    assert gap([one, two]) <= EVEN


def test_where_parts_cannot_meet_it_is_said_by_how_much():
    # Common to no two: middle C and the C in the staff are landmarks, the two F far from any.
    text = level_text('treble = ["C4", "C5", "F5", "F6"]')
    setup = setup_of(halves(75), text=text, prompts=12)
    found = fairness(setup, zip(setup.seats, forms_of(setup), strict=True))
    costs = [sum(map(difficulty, form)) for form in forms_of(setup)]
    assert found.parted
    assert found.apart == pytest.approx(2 * abs(costs[0] - costs[1]) / sum(costs))
    assert found.apart > EVEN


def test_seats_that_share_no_notes_alone_are_told_apart():
    def told(setup: HeatSetup) -> tuple[bool, float]:
        return fairness(setup, zip(setup.seats, forms_of(setup), strict=True))

    assert told(split_heat("notes", 60)) == (True, 0)
    assert told(split_heat("signatures", 60)) == (False, 0)  # nothing is read on the keys
    assert told(setup_of(2)) == (False, 0)
    low = Seat(2, binding=Binding("short", 0, 90))  # all of the level's notes
    assert told(setup_of([Seat(1, binding=Binding("long")), low])) == (False, 0)


def test_a_heat_of_an_older_game_is_dealt_as_it_was():
    setup = split_heat("notes", 60)
    kept = {name: value for name, value in setup.to_json().items() if name != "dealt"}
    old = HeatSetup.from_json(kept)
    level = parse_level(setup.level_text, "it")
    same = replace(old, forms=Forms.SAME)
    for seat, compass in zip(setup.seats, (Compass(21, 59), Compass(60, 108)), strict=True):
        assert form_of(same, seat) == deal(level, setup.seed, 12, compass)
        assert form_of(old, seat) != form_of(setup, seat)
    assert old.to_json() == kept  # so the seal of its file holds
    file = heat_file(old, [Start(0.0)], program="older")
    assert "dealt" not in file["setup"]
    judged = judge(json.dumps(file), "it")
    assert judged.sound
    assert judged.heat == play(old, [Start(0.0)])


def test_a_heat_of_a_newer_game_is_not_dealt_by_guess():
    with pytest.raises(ValueError, match="dealt"):
        HeatSetup.from_json({**split_heat("notes", 60).to_json(), "dealt": 3})


DEALT = """
import sys
from game.heats import HeatSetup, Forms, PlayMode, Seat, form_of
text = sys.stdin.read()
setup = HeatSetup("a", "b", text, 11, 25, None, PlayMode.TOGETHER, Forms.OWN, (Seat(1), Seat(7)))
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
