# SPDX-License-Identifier: MIT
"""A list of presses plays a round: each prompt flips as the one before it is completed."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from game.levels import Note, Prompt, Slot
from game.notation import Clef, KeySignature, Pitch
from game.rounds import Flip, Press, Round, Stop, Tick, Verdict, play
from game.rounds.played import events_of


def prompt(*slots: str) -> Prompt:
    """A prompt of slots, each a spelling or several: ``prompt("C4", "E4 G4")``."""
    return Prompt(
        KeySignature(0),
        tuple(
            Slot(tuple(Note(text, Pitch.parse(text), 1, Clef.TREBLE) for text in slot.split()))
            for slot in slots
        ),
    )


def played(start: Round, *presses: tuple[float, int]) -> Round:
    return play(start, events_of(start, [Press(t, key) for t, key in presses]))


C_D_E = Round((prompt("C4"), prompt("D4"), prompt("E4")), 4.0)


def test_the_first_prompt_flips_at_zero_and_the_next_as_it_is_completed():
    presses = [Press(1.0, 60), Press(1.5, 61), Press(2.25, 62), Press(3.0, 64)]
    assert events_of(C_D_E, presses) == (
        Flip(0.0),
        presses[0],
        Flip(1.0),
        presses[1],
        presses[2],
        Flip(2.25),
        presses[3],
    )


def test_within_a_prompt_the_next_slot_needs_no_flip():
    start = Round((prompt("C4", "D4"), prompt("E4")), 4.0)
    events = events_of(start, [Press(1.0, 60), Press(2.0, 62), Press(3.0, 64)])
    assert [event.t for event in events if isinstance(event, Flip)] == [0.0, 2.0]


def test_no_press_leaves_the_first_slot_unanswered():
    ended = played(C_D_E)
    assert events_of(C_D_E, []) == (Flip(0.0), Stop(0.0))
    assert [result.verdict for result in ended.results] == [Verdict.UNANSWERED]
    assert not ended.complete


def test_the_last_completing_press_may_leave_the_next_slot_unanswered():
    ended = played(C_D_E, (1.0, 60))
    assert [(result.completed, result.t) for result in ended.results] == [
        (True, 1.0),
        (False, None),
    ]
    assert ended.ended == 1.0


def test_wrong_presses_alone_end_the_round_in_its_first_slot():
    ended = played(C_D_E, (1.0, 61), (2.0, 63))
    (result,) = ended.results
    assert (result.verdict, result.t, result.completed) == (Verdict.WRONG, 1.0, False)
    assert [press.key for press in result.presses] == [61, 63]


def test_a_press_at_the_flip_goes_by_its_place_in_the_file():
    after = played(C_D_E, (1.0, 60), (1.0, 62), (2.0, 64))
    assert [result.right for result in after.results] == [True, True, True]
    assert after.results[1].t == 0.0
    before = played(C_D_E, (1.0, 62), (1.0, 60), (2.0, 62), (3.0, 64))
    assert [result.right for result in before.results] == [False, True, True]


def test_the_keys_of_a_chord_may_come_in_any_order():
    start = Round((prompt("C4 E4 G4"), prompt("D4")), 4.0)
    ended = played(start, (1.0, 67), (1.0, 60), (1.125, 64), (2.0, 62))
    assert [(result.right, result.t) for result in ended.results] == [(True, 1.0), (True, 0.875)]


def test_presses_after_the_end_are_left_out():
    late = Press(9.0, 72)
    presses = [Press(1.0, 60), Press(2.0, 62), Press(3.0, 64), late]
    assert late not in events_of(C_D_E, presses)


def test_a_timed_round_goes_on_to_its_end_when_the_presses_run_out():
    start = Round(C_D_E.prompts, 4.0, seconds=10)
    assert events_of(start, [Press(1.0, 60)])[-1] == Tick(10)
    ended = played(start, (1.0, 60))
    assert (ended.complete, ended.ended) == (True, 10.0)
    assert [result.right for result in ended.results] == [True, False]  # left for 9 s of 4


def test_a_timed_round_takes_no_press_after_its_time():
    start = Round(C_D_E.prompts, 4.0, seconds=10)
    ended = played(start, (8.0, 60), (10.5, 62), (11.0, 64))
    assert (ended.ended, len(ended.results)) == (10.0, 1)


@given(
    st.lists(st.tuples(st.floats(0, 20), st.integers(58, 68)), max_size=30),
    st.sampled_from([None, 5]),
)
def test_any_file_ends_the_round_and_loses_no_press(pressed, seconds):
    start = Round(C_D_E.prompts, 4.0, seconds)
    presses = [Press(t, key) for t, key in sorted(pressed, key=lambda item: item[0])]
    events = events_of(start, presses)
    ended = play(start, events)
    assert ended.ended is not None
    kept = [event for event in events if isinstance(event, Press)]
    assert kept == presses[: len(kept)]
    assert all(result.completed for result in ended.results[:-1])
    if seconds is None:
        assert [press.key for result in ended.results for press in result.presses] == [
            press.key for press in kept
        ]
