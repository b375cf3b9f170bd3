# SPDX-License-Identifier: MIT
"""The pace on the play screen: what is read against, where it stands, and that it keeps quiet."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from player import Player

from game.rounds import Flip, Press, Terms
from game.screens.play.pace_mark import GLIDE_S
from game.screens.play.play import Play, PlayPhase
from game.screens.play.result import Result
from game.session.records import SharedRound, check, keep_guest
from game.session.records.shared import figures_of

pytestmark = pytest.mark.reader("A")


def terms(player: Player, seed: int = 5, prompts: int | None = 3) -> Terms:
    rung = player.stage.levels.ladder.rungs[0]
    return Terms.counted(rung.level, rung.text, seed, prompts, player.stage.piano.compass)


def begin(player: Player, of: Terms) -> Play:
    player.stage.rounds.begin(of)
    player.look()
    player.piano(60)
    assert player.screen.phase is PlayPhase.READING
    return player.screen


def read(player: Player, of: Terms, each: float) -> None:
    """A whole round, each note found so many seconds after it came into view."""
    begin(player, of)
    while isinstance(player.screen, Play):
        player.clock += each
        player.piano(*player.right_keys())
        player.wait(1.0)
    assert isinstance(player.screen, Result)


def chosen(player: Player, pace: str) -> None:
    player.stage.settings.save(replace(player.stage.settings.now, pace=pace))


def words(player: Player) -> str:
    live = player.screen.live
    elapsed = live.round.elapsed(live.time(player.clock))
    return player.screen._pace.words(live.round, elapsed)


def test_the_first_round_has_nothing_to_read_against(player):
    assert begin(player, terms(player))._pace is None


def test_the_best_round_runs_along_on_the_same_notes_to_the_second(player):
    read(player, terms(player), 1.0)  # found at 1, 3 and 5 s: a second is between two notes
    read(player, terms(player), 2.0)  # worse
    begin(player, terms(player))
    assert player.screen._pace.pace.done_s == pytest.approx((1.0, 3.0, 5.0))
    player.clock += 0.4
    player.piano(*player.right_keys())
    # Of a limit of 8 s: 95 points for 87.5, of three notes.
    assert words(player) == "2.5 points ahead of your best · 0.6 s faster"
    player.wait(0.3)
    player.clock += 2.8
    player.look()
    assert words(player) == "2.5 points ahead of your best · 0.5 s slower"
    player.clock += 3.94  # 6.74 s in all: 15.75 points
    player.piano(*player.right_keys())
    assert words(player).startswith("21.4 points behind your best · ")


def test_the_last_round_and_a_tempo_can_be_read_against_and_nothing_too(player):
    read(player, terms(player), 1.0)
    read(player, terms(player), 2.0)
    chosen(player, "last round")
    assert begin(player, terms(player))._pace.pace.done_s == pytest.approx((2.0, 5.0, 8.0))
    chosen(player, "40 a minute")
    assert begin(player, terms(player, seed=9))._pace.pace.done_s == pytest.approx((1.5, 3, 4.5))
    chosen(player, "off")
    assert begin(player, terms(player))._pace is None


def test_rounds_of_another_length_are_another_kind(player):
    read(player, terms(player), 1.0)
    assert begin(player, terms(player, prompts=4))._pace is None


def test_a_classmates_record_runs_along_under_its_name(player):
    of = terms(player)
    events, t = [], 0.0
    for prompt in of.begin().prompts:
        events += [Flip(t), Press(t + 0.5, min(prompt.slots[0].keys))]
        t += 0.5
    ended = of.replay(events)
    record = SharedRound("Ben", of, tuple(events), datetime.now(UTC), "0", figures_of(of, ended))
    keep_guest(player.stage.store, check(record, "ben.json"))
    chosen(player, "classmate")
    begin(player, of)
    player.clock += 1.1
    player.piano(*player.right_keys())
    assert words(player) == "2.5 points behind Ben’s round · 0.6 s slower"
    while isinstance(player.screen, Play):
        player.wait(0.5)
        player.piano(*player.right_keys())
        player.wait(1.0)
    assert player.screen._against_pace().endswith(" points behind Ben’s round")
    assert player.screen._against_best() == "Your first best"


def test_the_round_of_the_day_runs_against_the_levels_own(player):
    rung = player.stage.levels.ladder.rungs[0]
    read(player, terms(player, prompts=None), 1.0)
    day = Terms.of_day(rung.level, rung.text, "2026-11-25", player.stage.piano.compass)
    read(player, day, 0.5)
    assert player.screen._against_best() == "Your first best"
    assert player.screen._against_pace().endswith(" points ahead of your best on this level")
    read(player, day, 0.4)
    assert player.screen._against_best().startswith("New personal best")
    assert player.screen._against_pace() == ""  # it would say that once more


def test_phrases_in_time_show_no_pace(player):
    chosen(player, "40 a minute")
    rung = next(rung for rung in player.stage.levels.ladder.rungs if rung.level.time is not None)
    player.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, 2, player.stage.piano.compass)
    )
    player.look()
    assert player.screen._pace is None


def test_another_keyboard_deals_other_notes_and_the_pace_goes_by_their_difficulty(player):
    read(player, terms(player), 1.0)
    player.stage.settings.now = replace(player.stage.settings.now, keys=25, lowest=60)
    assert begin(player, replace(terms(player), compass_low=60))._pace is not None


def test_the_tick_glides_or_with_less_motion_steps(player):
    chosen(player, "40 a minute")
    for motion, places in (("full", (0.0, 0.75, 1.0)), ("less", (1.0, 1.0, 1.0))):
        player.stage.settings.save(replace(player.stage.settings.now, motion=motion))
        mark = begin(player, terms(player))._pace
        assert mark.wait(1.0, 0.0) == pytest.approx(0.5)  # asleep until the first slot is due
        found = [mark._place(1.0, at) for at in (0.0, GLIDE_S / 2, GLIDE_S)]
        assert found == pytest.approx(places)


def test_the_pace_stands_while_the_round_is_paused(player):
    chosen(player, "40 a minute")
    begin(player, terms(player))
    player.clock += 1.0
    player.screen.pause()
    player.clock += 100.0
    player.look()
    player.screen.resume()
    assert words(player) == "level with 40 a minute"


def test_without_a_clock_no_seconds_are_told(player):
    rung = player.stage.levels.ladder.rungs[0]
    calm = Terms.accuracy(rung.level, rung.text, 5, 3, player.stage.piano.compass)
    read(player, calm, 1.0)
    begin(player, calm)
    player.clock += 20.0
    player.piano(21)
    player.piano(*player.right_keys())
    assert words(player) == "66.7 points behind your best"


@pytest.mark.parametrize("kind", ["counted", "endless", "accuracy", "of_day"])
def test_ahead_when_the_last_slot_is_done_is_a_new_best_and_behind_is_none(player, kind):
    rung = player.stage.levels.ladder.rungs[0]
    how = {"counted": (5, 3), "endless": (5,), "accuracy": (5, 4), "of_day": ("2026-11-25",)}
    of = getattr(Terms, kind)(rung.level, rung.text, *how[kind], player.stage.piano.compass)
    told = []
    for number, (each, slips) in enumerate([(1.0, 1), (0.6, 2), (1.6, 0), (0.9, 0), (2.0, 3)]):
        begin(player, of)
        said, slot = "", 0
        while isinstance(player.screen, Play):
            player.clock += each
            missed = slot < slips or (kind == "endless" and slot > 4 + number)
            player.piano(21 if missed else min(player.right_keys()))
            if player.screen.live.round.ended is None:
                player.piano(*player.right_keys())
            if player.screen._pace is not None:
                said = words(player)
            player.wait(1.0)
            slot += 1
        if number:
            told.append((" ahead of your best" in said, player.screen._against_best()))
    assert {ahead for ahead, _ in told} == {True, False}
    for ahead, best in told:
        assert ahead == best.startswith("New personal best")
