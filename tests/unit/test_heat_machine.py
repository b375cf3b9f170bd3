# SPDX-License-Identifier: MIT
"""A heat from its first count-in to its end, and everything that may go wrong in between."""

from __future__ import annotations

import json
from dataclasses import asdict

import pytest
from builders import level_text
from heat_builders import (
    IN_TURN,
    after,
    answered,
    class_of,
    halves,
    keys_of,
    merged,
    played_by_robots,
    setup_of,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from game.heats import (
    Binding,
    Bound,
    CountIn,
    Disqualify,
    End,
    Forms,
    Heat,
    HeatPhase,
    HeatSetup,
    Join,
    NextSeat,
    Redo,
    Reinstate,
    Seat,
    SeatFlip,
    SeatPress,
    SeatReady,
    Start,
    begin,
    event_from_json,
    event_to_json,
    play,
    step,
)
from game.levels import EmptyPool
from game.rounds import Pause, Resume, Stop, Tick

MIDDLE_C = 60


def score(heat: Heat, number: int):
    return heat.chair(number).round.score


# Together


def test_together_all_play_on_one_clock_and_the_run_is_over_with_the_last():
    heat = begin(setup_of(2, prompts=3))
    assert (heat.phase, heat.to_play, heat.turn) == (HeatPhase.WAITING, (1, 2), None)
    heat = after(heat, CountIn(0.0))
    assert (heat.phase, heat.start_due) == (HeatPhase.COUNT_IN, 3.0)
    heat = after(heat, Start(3.0))
    one = answered(heat, 1, 1.0, 1.0, 1.0, start=3.1)
    two = answered(heat, 2, 2.0, 2.0, 2.0, start=3.1)
    heat = after(heat, *merged(one, two)[:-1])
    assert (heat.playing, heat.phase) == ((2,), HeatPhase.RUNNING)
    heat = after(heat, two[-1])
    assert (heat.playing, heat.phase, heat.done) == ((), HeatPhase.WAITING, True)
    # limit 6 s: 100 (1 - 1/6) and 100 (1 - 2/6)
    assert score(heat, 1).mean_points == pytest.approx(100 * 5 / 6)
    assert score(heat, 2).mean_points == pytest.approx(100 * 4 / 6)


def test_two_seats_may_finish_at_the_same_instant():
    heat = after(begin(setup_of(2, prompts=2)), Start(0.0))
    events = merged(*(answered(heat, number, 1.0, 1.0) for number in (1, 2)))
    heat = after(heat, *events)
    assert heat.done
    assert [chair.round.ended for chair in heat.chairs] == [2.0, 2.0]


def test_a_timed_heat_ends_for_all_at_one_instant_whenever_their_first_prompt_was_shown():
    heat = after(begin(setup_of(2, seconds=10)), Start(2.0), SeatFlip(2.0, 1), SeatFlip(2.5, 2))
    assert heat.left(5.0) == 7.0
    assert after(heat, Tick(11.99)).playing == (1, 2)
    heat = after(heat, Tick(12.01))
    assert [chair.round.ended for chair in heat.chairs] == [12.0, 12.0]
    assert heat.done


def test_the_clock_of_a_timed_heat_ends_it_even_where_no_tick_was_kept():
    start = after(begin(setup_of(2, seconds=10)), Start(0.0))
    events = merged(answered(start, 1, *[1.0] * 9), answered(start, 2, *[1.5] * 6))
    ticked = after(start, *events, Tick(10.0), Tick(10.1), End(20.0))
    assert after(start, *events, End(20.0)) == ticked
    assert score(ticked, 1).seconds == 10


def test_a_late_press_is_not_judged_and_ends_the_round():
    heat = after(begin(setup_of(2, seconds=10)), Start(0.0), SeatFlip(0.0, 1))
    done = step(heat, SeatPress(10.0, 1, keys_of(heat, 1)[0]))
    assert done.heat.chair(1).round.results[-1].t is None  # waited for longer than the limit
    assert done.heat.phase is HeatPhase.WAITING


def test_a_press_reaches_its_own_seat_and_no_other():
    heat = after(begin(setup_of(3)), Start(0.0), *(SeatFlip(0.0, n) for n in (1, 2, 3)))
    done = step(heat, SeatPress(1.0, 2, keys_of(heat, 2)[0]))
    assert (done.seat, done.step.finished.right) == (2, True)
    assert done.heat.chair(1) == heat.chair(1)
    assert done.heat.chair(3) == heat.chair(3)


@pytest.mark.parametrize("seat", [None, 0, 9])
def test_a_press_of_no_seat_is_counted_and_changes_nothing_else(seat):
    heat = after(begin(setup_of(2)), Start(0.0), SeatFlip(0.0, 1))
    stray = step(heat, SeatPress(0.5, seat, keys_of(heat, 1)[0]))
    assert (stray.seat, stray.step, stray.heat.strays) == (None, None, 1)
    assert stray.heat.chairs == heat.chairs


def test_presses_in_the_count_in_are_not_judged():
    heat = after(begin(setup_of(2)), CountIn(0.0))
    pressed = after(heat, SeatPress(1.0, 1, keys_of(heat, 1)[0]), SeatFlip(1.0, 1))
    assert pressed == heat
    started = after(pressed, Start(3.0))
    assert not started.chair(1).round.presses
    assert started.chair(1).round.since is None


def test_nobody_need_be_ready_and_together_any_key_says_that_somebody_is():
    heat = after(begin(setup_of(2)), SeatPress(0.0, 2, 40))
    assert [chair.ready for chair in heat.chairs] == [False, True]
    assert after(heat, Start(1.0)).playing == (1, 2)


def test_a_pause_in_the_count_in_makes_it_begin_again():
    heat = after(begin(setup_of(2)), CountIn(0.0), Pause(2.0))
    assert heat.start_due is None
    assert after(heat, Start(3.0)).phase is HeatPhase.COUNT_IN  # it stands still
    assert after(heat, Resume(60.0)).start_due == 63.0


def test_a_pause_stops_every_clock():
    heat = after(begin(setup_of(2, seconds=10)), Start(0.0), SeatFlip(0.0, 1), SeatFlip(0.0, 2))
    key = keys_of(heat, 1)[0]
    paused = after(heat, SeatPress(1.0, 2, keys_of(heat, 2)[0]), Pause(2.0))
    assert paused.left(50.0) == 8.0
    ignored = step(paused, SeatPress(30.0, 1, key))
    assert ignored.step.judged is None
    heat = after(paused, Tick(40.0), Resume(102.0), SeatPress(103.0, 1, key))
    assert heat.chair(1).round.results[0].t == pytest.approx(3.0)
    assert after(heat, Tick(109.9)).playing == (1, 2)
    assert after(heat, Tick(110.1)).playing == ()


# Disqualified, redone, late


def test_a_disqualified_seat_is_not_waited_for_and_plays_again_when_reinstated_too_late():
    heat = after(begin(setup_of(2, prompts=2)), Start(0.0), SeatFlip(0.0, 2), Disqualify(0.5, 2))
    assert heat.phase is HeatPhase.RUNNING
    heat = after(heat, *answered(heat, 1, 1.0, 1.0))
    assert (heat.phase, heat.done) == (HeatPhase.WAITING, True)
    again = after(heat, Reinstate(5.0, 2))
    assert again.to_play == (2,)
    assert len(again.chair(2).tries) == 1
    assert again.chair(2).form != heat.chair(2).form


def test_a_disqualification_taken_back_at_once_has_cost_nothing():
    start = after(begin(setup_of(2, prompts=2)), Start(0.0))
    one, two = (answered(start, number, 1.0, 1.0) for number in (1, 2))
    events = merged(one, two)
    marked = [*events[:4], Disqualify(1.0, 2), *events[4:6], Reinstate(1.5, 2), *events[6:]]
    assert after(start, *marked) == after(start, *events)


def test_with_all_disqualified_the_run_is_over_and_a_start_starts_nobody():
    heat = after(begin(setup_of(2)), Start(0.0), Disqualify(1.0, 1))
    assert heat.phase is HeatPhase.RUNNING
    heat = after(heat, Disqualify(1.0, 2))
    assert (heat.phase, heat.playing) == (HeatPhase.WAITING, ())
    assert after(heat, CountIn(2.0), Start(5.0)) == heat
    before = after(begin(setup_of(2)), CountIn(0.0), Disqualify(1.0, 1), Disqualify(1.0, 2))
    assert before.phase is HeatPhase.WAITING


def test_a_redo_keeps_the_first_try_and_plays_on_other_notes():
    heat = after(begin(setup_of(2, prompts=3)), Start(0.0))
    heat = after(heat, *merged(*(answered(heat, n, 1.0, 1.0, 1.0) for n in (1, 2))))
    first = heat.chair(2).round
    heat = after(heat, Redo(10.0, 2))
    assert (heat.to_play, heat.done) == ((2,), False)
    assert heat.chair(2).tries == (first,)
    assert heat.chair(2).attempt == 1
    assert heat.chair(2).form != first.prompts
    heat = after(heat, Start(20.0))
    assert heat.playing == (2,)
    heat = after(heat, *answered(heat, 2, 2.0, 2.0, 2.0, start=20.0))
    assert score(heat, 2).median_s == pytest.approx(2.0)
    assert score(heat, 1).median_s == pytest.approx(1.0)


def test_a_redo_while_the_others_play_waits_until_they_have_finished():
    heat = after(begin(setup_of(2, prompts=2)), Start(0.0), SeatFlip(0.0, 2), Redo(1.0, 2))
    assert (heat.playing, heat.to_play, heat.phase) == ((1,), (2,), HeatPhase.RUNNING)
    assert after(heat, Start(1.5)) == heat
    heat = after(heat, *answered(heat, 1, 1.0, 1.0), Start(9.0))
    assert heat.playing == (2,)


def test_a_redo_where_all_read_the_same_has_notes_of_its_own():
    heat = begin(setup_of(2, prompts=6, forms=Forms.SAME))
    assert heat.chair(1).form == heat.chair(2).form
    heat = after(heat, Start(0.0), Stop(1.0), Redo(2.0, 1))
    assert heat.chair(1).form != heat.chair(2).form


def test_somebody_late_has_together_the_time_that_is_left_and_with_a_redo_the_whole():
    heat = after(begin(setup_of(1, seconds=20)), Start(0.0), Join(15.0, Seat(2)))
    assert heat.playing == (1, 2)
    heat = after(heat, SeatFlip(15.0, 2), SeatPress(16.0, 2, keys_of(heat, 2)[0]), Tick(20.0))
    assert heat.playing == ()
    assert score(heat, 2).seconds == pytest.approx(5.0)
    assert heat.chair(2).round.complete
    heat = after(heat, Redo(21.0, 2), Start(30.0))
    assert after(heat, Tick(49.9)).playing == (2,)
    assert after(heat, Tick(50.0)).playing == ()


def test_somebody_late_in_a_pause_begins_when_it_is_over():
    heat = after(begin(setup_of(1, seconds=20)), Start(0.0), Pause(15.0), Join(500.0, Seat(2)))
    heat = after(heat, SeatFlip(600.0, 2), Resume(1000.0))
    assert heat.chair(2).round.since == pytest.approx(1000.0)
    assert after(heat, Tick(1004.9)).playing == (1, 2)
    assert after(heat, Tick(1005.1)).playing == ()


def test_somebody_late_before_the_start_is_one_of_all():
    heat = after(begin(setup_of(1)), CountIn(0.0), Join(1.0, Seat(2)), Start(3.0))
    assert heat.playing == (1, 2)


def test_a_seat_number_that_is_taken_cannot_join():
    heat = begin(setup_of(2))
    assert after(heat, Join(0.0, Seat(2, "Mia"))) == heat


def test_a_seat_without_enough_keys_for_the_level_is_refused():
    narrow = Seat(1, binding=Binding("long", 100, 127))
    with pytest.raises(EmptyPool):
        begin(setup_of([narrow]))
    with pytest.raises(ValueError, match="range"):
        begin(setup_of([Seat(1, binding=Binding("long", 109, 127))]))


def test_two_readers_on_one_long_keyboard_read_what_their_part_has():
    text = level_text('treble = "C4 to G5"\nbass = "C3 to B3"')
    heat = begin(setup_of(halves(60), text=text, prompts=20))
    assert all(key < 60 for key in keys_of(heat, 1))
    assert all(key >= 60 for key in keys_of(heat, 2))


# In turn


def test_in_turn_the_turn_goes_on_by_order_and_comes_back_to_those_left_out():
    heat = begin(setup_of(3, manner=IN_TURN, prompts=2))
    assert heat.turn == 1
    heat = after(heat, NextSeat(0.0))  # nobody sits at 1
    assert heat.turn == 2
    heat = after(heat, Start(1.0))
    assert heat.playing == (2,)
    heat = after(heat, *answered(heat, 2, 1.0, 1.0, start=1.0), NextSeat(5.0))
    assert heat.turn == 3
    heat = after(heat, Start(6.0), *answered(heat, 3, 1.0, 1.0, start=6.0), NextSeat(9.0))
    assert (heat.turn, heat.to_play) == (1, (1,))
    heat = after(heat, Start(10.0), *answered(heat, 1, 1.0, 1.0, start=10.0))
    assert heat.done
    assert after(heat, NextSeat(20.0)).turn == 1


def test_in_turn_every_key_is_the_seats_whose_turn_it_is_and_middle_c_makes_it_ready():
    heat = begin(setup_of(2, manner=IN_TURN))
    assert not after(heat, SeatPress(0.0, None, 62)).chair(1).ready
    heat = after(heat, SeatPress(0.0, None, MIDDLE_C))
    assert [chair.ready for chair in heat.chairs] == [True, False]
    heat = after(heat, Start(1.0), SeatFlip(1.0, 1))
    done = step(heat, SeatPress(2.0, None, keys_of(heat, 1)[0]))
    assert (done.seat, done.step.judged.verdict.value) == (1, "right")
    assert step(heat, SeatPress(2.0, 2, keys_of(heat, 1)[0])).heat.strays == 1


def test_in_turn_readiness_is_forgotten_when_the_turn_passes_on():
    heat = after(
        begin(setup_of(2, manner=IN_TURN)), SeatReady(0.0, 1), NextSeat(1.0), NextSeat(2.0)
    )
    assert (heat.turn, heat.chair(1).ready) == (1, False)
    assert not after(heat, SeatReady(3.0, 2)).chair(2).ready  # not its turn


def test_in_turn_each_has_the_whole_time_somebody_late_too():
    heat = after(begin(setup_of(1, seconds=10, manner=IN_TURN)), Start(0.0), Join(5.0, Seat(2)))
    assert heat.playing == (1,)
    heat = after(heat, Tick(10.0), NextSeat(30.0), Start(40.0))
    assert heat.playing == (2,)
    assert after(heat, Tick(49.9)).playing == (2,)
    assert after(heat, Tick(50.0)).playing == ()


def test_the_next_turn_cuts_a_round_and_the_slot_under_way_does_not_count():
    heat = after(begin(setup_of(2, manner=IN_TURN, prompts=4)), Start(0.0))
    events = answered(heat, 1, 1.0, 1.0)
    cut = after(heat, *events, SeatFlip(2.0, 1), NextSeat(3.0))
    assert (cut.turn, score(cut, 1).slots) == (2, 2)
    # but a wrong answer does, and so does one that was not given within the limit of 6 s
    wrong = SeatPress(2.5, None, keys_of(heat, 1)[2] + 1)
    assert score(after(heat, *events, SeatFlip(2.0, 1), wrong, NextSeat(3.0)), 1).slots == 3
    assert score(after(heat, *events, SeatFlip(2.0, 1), NextSeat(8.5)), 1).slots == 3


def test_in_turn_a_seat_disqualified_while_it_plays_is_done_with():
    heat = after(begin(setup_of(2, manner=IN_TURN)), Start(0.0), Disqualify(1.0, 1))
    assert (heat.phase, heat.to_play) == (HeatPhase.WAITING, (2,))
    assert after(heat, NextSeat(2.0)).turn == 2
    assert after(heat, Reinstate(2.0, 1)).to_play == (1, 2)


def test_a_turn_may_be_given_to_any_seat_there_is():
    heat = begin(setup_of(3, manner=IN_TURN))
    assert after(heat, NextSeat(0.0, 3)).turn == 3
    assert after(heat, NextSeat(0.0, 8)) == heat


# Stop, end, and what makes no sense


def test_a_stop_cuts_all_and_leaves_room_for_a_redo_an_end_does_not():
    heat = after(begin(setup_of(2, prompts=4)), Start(0.0))
    heat = after(heat, *answered(heat, 1, 1.0), SeatFlip(0.0, 2), Stop(4.0))
    assert (heat.phase, heat.done) == (HeatPhase.WAITING, True)
    assert (score(heat, 1).slots, score(heat, 2).slots) == (1, 0)
    assert after(heat, Redo(5.0, 2)).to_play == (2,)
    ended = after(heat, End(5.0))
    assert (ended.phase, ended.done) == (HeatPhase.ENDED, True)
    assert after(ended, Redo(6.0, 2), Start(7.0), Join(8.0, Seat(5))) == ended


def test_a_stop_in_a_pause_counts_the_time_before_it_only():
    heat = after(begin(setup_of(1)), Start(0.0), SeatFlip(0.0, 1), Pause(2.0), Stop(500.0))
    assert score(heat, 1).slots == 0  # it could be read for 2 s, and the limit is 6


def test_a_stop_breaks_off_a_count_in():
    heat = after(begin(setup_of(1)), CountIn(0.0), Stop(1.0))
    assert (heat.phase, heat.to_play) == (HeatPhase.WAITING, (1,))


@pytest.mark.parametrize(
    "event",
    [
        Pause(1.0), Resume(1.0), Stop(1.0), Redo(1.0, 1), Redo(1.0, 9), Reinstate(1.0, 1),
        Disqualify(1.0, 9), SeatFlip(1.0, 1), SeatFlip(1.0, 9), SeatReady(1.0, 9), NextSeat(1.0),
        Tick(1.0), Bound(1.0, 9, Binding("x")),
    ],
)  # fmt: skip
def test_events_that_mean_nothing_while_it_waits_change_nothing(event):
    heat = begin(setup_of(2))
    assert step(heat, event).heat == heat


def test_a_tick_that_changed_nothing_can_be_told():
    heat = after(begin(setup_of(2, seconds=10)), Start(0.0))
    assert step(heat, Tick(5.0)).heat is heat


def test_the_keys_of_a_seat_may_change_in_mid_heat():
    heat = after(begin(setup_of(2)), Start(0.0), Bound(1.0, 2, Binding("new")))
    assert heat.chair(2).seat.binding == Binding("new")
    assert heat.playing == (1, 2)


def test_a_heat_broken_off_goes_on_from_what_was_kept():
    setup = setup_of(2, seconds=10)
    heat = after(begin(setup), Start(0.0))
    kept = [Start(0.0), *merged(answered(heat, 1, 1.0, 1.0), [SeatFlip(0.0, 2)])]
    heat = after(play(setup, kept), Pause(2.0), Resume(500.0))
    assert heat.left(500.0) == 8.0
    assert heat.playing == (1, 2)
    heat = after(heat, SeatPress(501.0, 2, keys_of(heat, 2)[0]))
    assert heat.chair(2).round.results[0].t == pytest.approx(3.0)


def test_a_slot_hammered_a_thousand_times_a_second_is_judged_by_its_first_press():
    heat = after(begin(setup_of(2, prompts=2)), Start(0.0), SeatFlip(0.0, 1), SeatFlip(0.0, 2))
    key = keys_of(heat, 1)[0]
    events = [SeatPress(n / 1000, number, 21) for n in range(1, 2000) for number in (1, 2)]
    heat = after(heat, *events, SeatPress(2.0, 1, key))
    only = heat.chair(1).round.results[0]
    assert (only.verdict.value, only.t, len(only.presses)) == ("wrong", 0.001, 2000)
    assert len(heat.chair(2).round.presses) == 1999


# Phrases in time


IN_TIME = level_text('texture = "phrase"\ntreble = "C4 to C5"\nbars = 2', more="[time]\ntempo = 90")


def test_phrases_in_time_are_over_at_their_end_with_any_event_of_the_heat():
    setup = setup_of(2, text=IN_TIME, prompts=2)
    heat = after(begin(setup), Start(0.0), SeatFlip(0.0, 1), SeatFlip(0.0, 2))
    end = heat.chair(1).round.phrase_end
    heat = after(heat, SeatPress(end + 0.5, 2, 60))
    assert [chair.round.prompt for chair in heat.chairs] == [1, 1]


def test_a_class_reads_phrases_in_time():
    setup = setup_of(3, text=IN_TIME, prompts=2)
    heat = play(setup, played_by_robots(setup, class_of(3)))
    assert heat.done
    assert all(chair.round.complete for chair in heat.chairs)


# What is kept makes the same heat


SEATS = [
    Seat(1, "Zoë", "m1", Binding("Piano", 0, 59)),
    Seat(4, binding=Binding("Piano", 60, 127)),
    Seat(9, "陽菜", None, None),
]


@pytest.mark.parametrize(
    "setup",
    [
        setup_of(SEATS),
        setup_of(SEATS, seconds=60, manner=IN_TURN, forms=Forms.SAME, seed=2**60, tempo=72.5),
        setup_of(1, compass_low=48, compass_high=72, count_in_s=0.0),
    ],
)
def test_a_setup_comes_back_from_its_json(setup):
    kept = json.dumps(setup.to_json(), allow_nan=False)
    assert HeatSetup.from_json(json.loads(kept)) == setup


TIMES = st.floats(0, 1e6)
NUMBERS = st.integers(1, 40)
EVENTS = st.one_of(
    *(st.builds(kind, TIMES) for kind in (CountIn, Start, Pause, Resume, Tick, Stop, End)),
    *(
        st.builds(kind, TIMES, NUMBERS)
        for kind in (SeatFlip, SeatReady, Disqualify, Reinstate, Redo)
    ),
    st.builds(NextSeat, TIMES, st.none() | NUMBERS),
    st.builds(
        SeatPress, TIMES, st.none() | NUMBERS, st.integers(0, 127), st.integers(1, 127), st.text()
    ),
    st.builds(Join, TIMES, st.sampled_from(SEATS)),
    st.builds(Bound, TIMES, NUMBERS, st.builds(Binding, st.text())),
)


@given(EVENTS)
def test_an_event_comes_back_from_its_json(event):
    kept = json.dumps(event_to_json(event), allow_nan=False)
    assert event_from_json(json.loads(kept)) == event


@settings(deadline=None, max_examples=15)
@given(st.lists(EVENTS, max_size=20))
def test_any_events_in_any_order_leave_a_heat_that_can_be_closed(events):
    setup = setup_of(3, prompts=2)
    ordered = sorted(events, key=lambda event: event.t)
    heat = play(setup, [*ordered, End(2e6)])
    assert (heat.phase, heat.done, heat.playing) == (HeatPhase.ENDED, True, ())
    again = [event_from_json(json.loads(json.dumps(event_to_json(event)))) for event in ordered]
    assert play(setup, [*again, End(2e6)]) == heat


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({}, "kind: it is missing"),
        ({"kind": "dance", "t": 1}, "'dance'; allowed: count in, start"),
        ({"kind": "start"}, "t: it is missing"),
        ({"kind": "start", "t": "now"}, 't: found "now"; allowed: a number'),
        ({"kind": "start", "t": float("inf")}, "finite"),
        ({"kind": "start", "t": True}, "found true"),
        ({"kind": "flip", "t": 1, "seat": 1.5}, "seat: found 1.5"),
        (
            {"kind": "press", "t": 1, "seat": 1, "key": 128, "velocity": 1, "keyboard": ""},
            "key: found 128; allowed: less than or equal to 127",
        ),
        ({"kind": "join", "t": 1, "seat": 3}, "seat: found 3; allowed: a table"),
        ([], "allowed: a table"),
    ],
)
def test_a_damaged_event_is_named(data, words):
    with pytest.raises(ValueError, match=words.replace("(", r"\(")):
        event_from_json(data)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"prompts": None}, "give one of them"),
        ({"seconds": 60}, "give one of them"),
        ({"prompts": 501}, "from 1 to 500"),
        ({"seats": []}, "1 to 100 seats"),
        ({"seats": [asdict(Seat(1)), asdict(Seat(1))]}, "one number"),
        ({"seed": -1}, "seed"),
        ({"manner": "at once"}, "at once"),
        ({"compass": [60]}, "compass"),
        ({"compass": [80, 60]}, "range"),
        ({"level": "x"}, "level.id: it is missing"),
    ],
)
def test_a_damaged_setup_is_named(change, words):
    with pytest.raises(ValueError, match=words):
        HeatSetup.from_json(setup_of(2).to_json() | change)
