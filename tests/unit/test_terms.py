# SPDX-License-Identifier: MIT
"""Terms: all that must be known to deal a round again and score it again."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builders import answers, level, level_text

from game.levels import Compass, EmptyPool, LevelFaults, parse_level
from game.rounds import Press, Terms, step

TEXT = level_text('treble = "C4 to G5"\nsigns = ["#"]', more="[round]\nprompts = 6")


def terms(seed: int = 4) -> Terms:
    parsed = parse_level(TEXT, "tested.toml")
    return Terms.counted(parsed, TEXT, seed, None, Compass(48, 96))


def test_a_round_replayed_from_its_events_gives_the_same_score():
    kept = terms()
    start = kept.begin()
    events = answers(*start.prompts, each=0.7)
    events.insert(3, Press(events[2].t + 0.1, 50))
    live = start
    for event in events:
        live = step(live, event).round
    assert live.complete
    assert kept.replay(events).score == live.score
    assert kept.replay(events) == live


def test_the_levels_own_length_is_taken_when_none_is_asked_for():
    assert len(terms().begin().prompts) == 6
    parsed = parse_level(TEXT, "tested.toml")
    sixty = Terms.timed(parsed, TEXT, 4, None, Compass(48, 96))
    assert (sixty.seconds, sixty.begin().seconds, sixty.kind) == (60, 60, "timed:60")
    assert terms().kind == "counted:6"


def test_a_timed_round_holds_more_prompts_than_anybody_reads():
    parsed = level()
    kept = Terms.timed(parsed, level_text(), 1, 10, Compass(48, 96))
    assert len(kept.begin().prompts) >= 10 * 3


def test_it_deals_within_the_readers_keyboard():
    small = replace(terms(), compass_low=60, compass_high=67)
    keys = {k for prompt in small.begin().prompts for slot in prompt.slots for k in slot.keys}
    assert keys <= set(range(60, 68))
    with pytest.raises(EmptyPool):
        replace(small, compass_low=30, compass_high=40).begin()


def test_a_damaged_text_is_named_as_kept_with_the_record():
    with pytest.raises(LevelFaults, match="kept with the record"):
        replace(terms(), level_text="format = 9").begin()


@pytest.mark.parametrize(
    ("wrong", "name"),
    [({"prompts": 0}, "prompts"), ({"seconds": 0}, "seconds"), ({"seed": -1}, "seed")],
)
def test_numbers_that_make_no_round_are_refused(wrong, name):
    with pytest.raises(ValueError, match=name):
        replace(terms(), **wrong)
