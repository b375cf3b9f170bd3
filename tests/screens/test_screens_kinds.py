# SPDX-License-Identifier: MIT
"""Choosing how to read a level, and what the screens say of each kind of round."""

from __future__ import annotations

import pygame
import pytest
from player import Player

from game.rounds import Terms
from game.screens.play.in_time import PlayInTime
from game.screens.play.play import Play, PlayPhase
from game.screens.play.result import Result
from game.screens.reader.contents import Contents
from game.session.clock import Clock
from game.store import RoundState

DAY = "2026-11-25"


pytestmark = pytest.mark.reader("A")


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    monkeypatch.setattr(Clock, "today", DAY)


def label(player: Player, name: str) -> str:
    return next(item.label for item in player.screen.controls if item.id == name)


def choose(player: Player, kind: str) -> None:
    """Begin a round of a kind on the level that is looked at."""
    for _ in range(5):
        screen = player.screen
        rung = screen._rung
        if screen._level._terms(rung, screen._level._chosen_way(rung)).kind == kind:
            break
        player.click_on("way")
    player.click_on("other")
    assert player.screen.live.terms.kind == kind
    player.piano(60)
    assert player.screen.phase is PlayPhase.READING


def finish(player: Player) -> None:
    while isinstance(player.screen, Play):
        player.answer()
    assert isinstance(player.screen, Result)


def miss(player: Player) -> None:
    player.clock += 0.5
    (right,) = player.right_keys()
    player.piano(right + 1)
    if player.screen.phase is PlayPhase.READING:
        player.piano(right)
    player.wait(1.0)


def test_every_way_is_reached_from_the_piano_and_by_the_computer_keyboard(player):
    player.piano(60, 62, 62)  # the level, its other button, the row below
    assert player.screen.focus == "way"
    seen = [label(player, "other")]
    for _ in range(4):
        player.piano(60)
        seen.append(label(player, "other"))
    assert len(set(seen)) >= 4
    player.type(pygame.K_LEFT)
    assert label(player, "other") == seen[3 % len(set(seen))]
    player.piano(59, 60)  # back to the button
    assert isinstance(player.screen, Play)


def test_an_endless_round_ends_at_the_third_miss_and_says_how_far_it_came(player):
    choose(player, "endless:3")
    player.answer()
    miss(player)
    player.answer()
    miss(player)
    assert isinstance(player.screen, Play)
    miss(player)
    assert isinstance(player.screen, Result)
    assert "2 right" in player.screen._verdict()
    assert not player.screen._is_best  # it shows 0 points


def test_a_round_for_accuracy_waits_as_long_as_it_takes(player):
    choose(player, "accuracy:24")
    player.wait(600)
    assert player.screen.phase is PlayPhase.READING
    finish(player)
    assert player.screen._score.score == 100
    assert not player.screen._passed


def test_the_round_of_the_day_is_new_once_and_known_after_that(player):
    choose(player, f"day:{DAY}")
    first = player.screen.live
    player.answer()
    player.stage.go.open_ladder(first.level.id)
    player.look()
    player.stage.store.discard(first.record_id)
    choose(player, f"day:{DAY}")
    again = player.screen.live
    assert (again.terms.seed, again.terms.known) == (first.terms.seed, True)
    assert not first.terms.known
    finish(player)
    assert not player.screen._passed


def test_the_notes_of_a_seed_pass_once(player):
    rung = player.stage.levels.ladder.rungs[0]
    for again in (False, True):
        for seed in (5, 6):
            terms = Terms.counted(rung.level, rung.text, seed, None, player.stage.piano.compass)
            player.stage.rounds.begin(terms)
            player.look()
            assert player.screen.live.terms.known is again
            finish(player)
            assert player.screen._passed is not again
    assert player.stage.store.pass_days(player.stage.sitting.reader.id) == {rung.level.id: 1}


def test_a_round_of_the_day_left_before_its_first_note_is_still_new(player):
    for _ in range(5):
        if "day" in label(player, "other"):
            break
        player.click_on("way")
    player.click_on("other")
    player.type(pygame.K_ESCAPE)
    assert isinstance(player.screen, Contents)
    choose(player, f"day:{DAY}")
    assert not player.screen.live.terms.known


def test_the_result_of_the_day_can_be_compared(player):
    choose(player, f"day:{DAY}")
    finish(player)
    terms = player.screen._live.terms
    rung = player.stage.levels.ladder.rungs[0]
    assert terms == Terms.of_day(rung.level, rung.text, DAY, player.stage.piano.compass)
    player.click_on("new")
    assert player.screen.live.terms.kind == "counted:24"


def test_points_of_the_list_are_of_kinds_that_compare(player):
    choose(player, "accuracy:24")
    finish(player)
    player.stage.go.open_ladder()
    player.look()
    row = next(item for item in player.screen.controls if item.id.startswith("level-"))
    assert row.value == "–"


def test_a_round_of_the_day_stands_in_the_list_like_any_other(player):
    choose(player, f"day:{DAY}")
    finish(player)
    points = round(player.screen._score.score)
    player.stage.go.open_ladder()
    player.look()
    row = next(item for item in player.screen.controls if item.id.startswith("level-"))
    assert (row.value, row.mark) == (f"{points} points", "✓")


def test_a_phrase_in_time_broken_off_in_its_middle_is_kept_with_what_was_heard(player):
    rung = next(rung for rung in player.stage.levels.ladder.rungs if rung.level.time is not None)
    player.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, None, player.stage.piano.compass)
    )
    player.look()
    assert isinstance(player.screen, PlayInTime)
    player.piano(60)
    live = player.screen.live
    player.wait(live.round.pulse.lead_s(live.round.prompts[0]))
    player.piano(60)
    player.type(pygame.K_ESCAPE)
    player.click_on("end")
    assert isinstance(player.screen, Result)
    reader = player.stage.sitting.reader
    assert [r.id for r in player.stage.store.records(reader.id, state=RoundState.FINISHED)] == [
        live.record_id
    ]
    assert len(live.round.heard) == 0  # the score leaves the broken phrase out …
    assert len(player.stage.store.record(live.record_id).events) > 2  # … but nothing is lost
