# SPDX-License-Identifier: MIT
"""Whose press it is: keyboards bound to seats, unplugged, and plugged in again."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from game.heats import Binding, Seat, seats
from game.heats.seats import Bindings, Heard, ask, bind, split, unbind
from game.keyboards import KeyboardEvent, Keyboards, KeyDown, KeyUp


@dataclass
class Change:
    """Keyboards come and go at once."""

    came: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()


def came(*labels: str) -> list[Change]:
    """One after the other."""
    return [Change(came=(label,)) for label in labels]


def gone(*labels: str) -> list[Change]:
    return [Change(gone=(label,)) for label in labels]


def heard(now: Bindings, event: Change | KeyboardEvent) -> Heard:
    if isinstance(event, Change):
        stay = tuple(label for label in now.present if label not in event.gone)
        there = tuple(dict.fromkeys((*stay, *event.came)))
        event = Keyboards(0.0, heard=there, gone=event.gone, came=event.came)
    return seats.heard(now, event)


def key(keyboard: str, number: int = 60) -> KeyDown:
    return KeyDown(0.0, number, 64, keyboard)


def after(now: Bindings, *events) -> Bindings:
    for event in events:
        now = heard(now, event).bindings
    return now


def seats_on(*labels: str) -> Bindings:
    """Seats 1, 2 … on these keyboards, all connected."""
    rows = [Seat(n, binding=Binding(label)) for n, label in enumerate(labels, 1)]
    return Bindings.begin(rows, labels)


def whose(now: Bindings, *labels: str) -> list[int | None]:
    return [heard(now, key(label)).seat for label in labels]


EIGHT = tuple(f"Piano {letter}" for letter in "ABCDEFGH")


def test_eight_keyboards_are_bound_by_playing_a_key_in_any_order():
    now = ask(after(Bindings(), *came(*EIGHT)), *range(1, 9))
    order = [EIGHT[place] for place in (3, 0, 7, 1, 2, 6, 5, 4)]
    for seat, label in enumerate(order, 1):
        done = heard(now, key(label))
        assert (done.seat, done.bound) == (None, (seat,))  # the binding key is no answer
        now = done.bindings
    assert now.asked == ()
    assert whose(now, *order) == list(range(1, 9))


def test_a_keyboard_that_has_a_seat_does_not_answer_for_another():
    now = ask(seats_on("A"), 2)
    done = heard(now, key("A"))
    assert (done.seat, done.bindings.asked) == (1, (2,))


def test_a_press_on_a_keyboard_without_a_seat_is_nobodys():
    now = after(seats_on("A"), *came("B"))
    assert heard(now, key("B")).seat is None
    assert now.free == ("B",)


def test_a_seat_may_be_given_another_keyboard():
    now = ask(after(seats_on("A"), *came("B")), 1)
    now = after(now, key("B"))
    assert whose(now, "A", "B") == [None, 1]


def test_a_long_keyboard_is_split_between_two():
    now = split(after(Bindings(), *came("Long")), "Long", 60, 1, 2)
    keys = (21, 59, 60, 108)
    assert [heard(now, key("Long", number)).seat for number in keys] == [1, 1, 2, 2]


@pytest.mark.parametrize(("at", "upper"), [(0, 2), (128, 2), (60, 1)])
def test_a_split_that_leaves_nothing_is_refused(at, upper):
    with pytest.raises(ValueError, match="split"):
        split(seats_on("Long"), "Long", at, 1, upper)


def test_a_split_takes_the_keyboard_from_the_seat_that_had_it():
    now = split(seats_on("Long", "Other"), "Long", 60, 3, 4)
    assert now.binding(1) is None
    assert whose(now, "Long", "Other") == [4, 2]


def test_keys_taken_from_a_seat_are_nobodys():
    assert whose(unbind(seats_on("A", "B"), 1), "A", "B") == [None, 2]


# Unplugged and plugged in again


def test_a_keyboard_comes_back_to_its_seat_under_its_name_or_another():
    for name in ("A", "A (2)", "Something else"):
        lost = heard(seats_on("A", "B"), *gone("A"))
        assert (lost.lost, lost.bindings.missing) == ((1,), (1,))
        back = heard(lost.bindings, *came(name))
        assert (back.bound, back.bindings.missing) == ((1,), ())
        assert whose(back.bindings, name, "B") == [1, 2]


def test_both_readers_of_a_split_keyboard_come_back_with_it():
    now = split(after(Bindings(), *came("Long")), "Long", 60, 1, 2)
    done = heard(after(now, *gone("Long")), *came("New"))
    assert done.bound == (1, 2)
    assert [heard(done.bindings, key("New", number)).seat for number in (59, 60)] == [1, 2]


def test_of_several_missing_the_one_of_the_same_name_has_it():
    now = after(seats_on("A", "B", "C"), *gone("A", "B"), *came("B (2)"))
    assert now.missing == (1,)
    assert whose(now, "B (2)") == [2]


def test_where_nobody_can_know_the_seats_are_asked_and_the_last_one_follows_by_itself():
    now = after(seats_on("A", "B", "C"), *gone("A", "B"), *came("New"))
    assert (now.missing, now.asked) == ((1, 2), (1, 2))
    assert whose(now, "C") == [3]  # and plays on
    now = after(now, *came("Newer"))
    done = heard(now, key("Newer"))
    assert done.bound == (1, 2)
    assert (done.bindings.missing, done.bindings.asked) == ((), ())
    assert whose(done.bindings, "Newer", "New") == [1, 2]


def test_of_two_keyboards_of_one_name_nobody_plays_for_the_other():
    # As game.midi.ports may tell it: both go, and the one that is left comes again, as the first.
    now = after(seats_on("X", "X (2)", "Y"), *gone("X", "X (2)"), *came("X"))
    assert (now.missing, now.asked) == ((1, 2), (1, 2))
    done = heard(ask(now, 2), key("X"))  # the teacher asks the one who is still there
    assert (done.seat, done.bound) == (None, (2,))
    now = after(done.bindings, *came("X (2)"))
    assert now.missing == ()
    assert whose(now, "X", "X (2)", "Y") == [2, 1, 3]


@pytest.mark.parametrize("name", ["A", "A (2)", "Something else"])
def test_a_keyboard_changed_for_another_at_once_is_missed_by_nobody(name):
    done = heard(seats_on("A", "B"), Change(gone=("A",), came=(name,)))
    assert (done.lost, done.bound, done.bindings.missing) == ((), (1,), ())
    assert whose(done.bindings, name, "B") == [1, 2]


def test_two_changed_at_once_are_known_by_their_names():
    change = Change(gone=("A", "B"), came=("B (2)", "A (2)"))
    done = heard(seats_on("A", "B"), change)
    assert whose(done.bindings, "A (2)", "B (2)") == [1, 2]


def test_labels_that_shift_are_followed_by_no_seat():
    # One of three that nobody can tell apart is pulled: which one has a label now, nobody knows.
    now = seats_on("X", "X (2)", "X (3)")
    done = heard(now, Change(gone=("X", "X (2)", "X (3)"), came=("X", "X (2)")))
    assert done.lost == done.bindings.missing == done.bindings.asked == (1, 2, 3)
    assert whose(done.bindings, "X", "X (2)") == [None, None]


def test_where_one_comes_beside_its_twin_the_seat_is_asked():
    done = heard(seats_on("X"), Change(gone=("X",), came=("X", "X (2)")))
    assert (done.lost, done.bindings.asked) == ((1,), (1,))
    done = heard(done.bindings, key("X (2)"))
    assert (done.bound, whose(done.bindings, "X (2)")) == ((1,), [1])


def test_two_keyboards_of_one_name_are_two_seats():
    assert whose(seats_on("X", "X (2)"), "X", "X (2)") == [1, 2]


def test_a_keyboard_too_many_is_free():
    now = after(seats_on("A"), *came("B"))
    now = after(now, *gone("A"))
    assert now.missing == (1,)  # B was there before, and is not taken for it
    assert after(now, *came("C")).binding(1) == Binding("C")


def test_a_keyboard_that_was_never_bound_may_come_and_go():
    now = seats_on("A")
    assert after(now, *came("B"), *gone("B")) == now
    assert heard(now, *gone("B")) == Heard(now)


def test_what_comes_twice_or_is_released_changes_nothing():
    now = seats_on("A")
    assert after(now, *came("A"), KeyUp(0.0, 60, "A")) == now


def test_seats_whose_keyboards_are_not_there_at_the_beginning_are_missing():
    now = Bindings.begin([Seat(1, binding=Binding("A")), Seat(2)], ["B"])
    assert (now.missing, now.free) == ((1,), ("B",))
    assert whose(bind(now, 1, Binding("B")), "B") == [1]
