# SPDX-License-Identifier: MIT
"""Set the beat: how late a keyboard's keys are, and that nothing but levels in time knows of it."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import UTC, datetime
from random import Random

import pygame
import pytest
from command_line import told
from hypothesis import given, settings
from hypothesis import strategies as st
from player import Player

from game.keyboards import KeyDown, KeyUp
from game.rounds import MOST_DELAY_S, ON_SCREEN, Flip, Press, Terms, Tick
from game.rounds.lateness import CLICK_S, CLICKS, lateness
from game.rounds.played import events_of, presses_of
from game.screens.play.in_time import PlayInTime
from game.screens.play.play import PlayPhase
from game.screens.play.result import Result
from game.screens.reader.contents import Contents
from game.screens.reader.set_beat import SetBeat
from game.screens.reader.settings import Settings
from game.session.options import Options
from game.session.records import parse_record
from game.session.records.shared import SharedRound, figures_of, record_json, record_text

LATE_S = 0.14
BEATS = [click * CLICK_S for click in range(CLICKS)]


# How late the keys are


def unsteady(seed: int, late_s: float) -> list[float]:
    """Somebody whose error hangs on the one before (Vorberg & Wing 1996 model tapping so), who
    now and then leaves a click out, plays a chord, or misses by a lot."""
    chance, off, presses = Random(seed), 0.0, []
    for beat in BEATS:
        off = 0.5 * off + chance.gauss(0, 0.03)
        stray = chance.choice((-0.2, 0.2)) if chance.random() < 0.06 else 0.0
        if chance.random() < 0.9:
            presses += [beat + late_s + off + stray] * chance.choice((1, 1, 3))
    return sorted(presses)


@pytest.mark.parametrize("late_s", [0.0, 0.05, 0.14, 0.3, 0.45])
def test_the_lateness_is_found_whoever_plays(late_s):
    found = [lateness(unsteady(seed, late_s)) for seed in range(200)]
    told = [one for one in found if one.told]
    assert len(told) > 180
    off = sorted(abs(one.offset_s - late_s) for one in told)
    assert off[len(off) // 2] < 0.02
    assert off[-1] < 0.08


@pytest.mark.parametrize(
    "presses",
    [
        [],
        [beat + LATE_S for beat in BEATS[:7]],  # too few
        [n * 0.62 for n in range(18)],  # another tempo
        [n * CLICK_S / 2 for n in range(32)],  # two to a click
        [beat + Random(3 + n).uniform(0, 0.5) for n, beat in enumerate(BEATS)],
        [-3.0 + n * CLICK_S for n in range(4)],  # in the count-in alone
    ],
    ids=["none", "few", "tempo", "double", "random", "count-in"],
)
def test_what_tells_nothing_is_not_kept(presses):
    assert not lateness(sorted(presses)).told


def test_who_plays_ahead_of_the_clicks_has_nothing_taken_off():
    found = lateness([beat - 0.03 for beat in BEATS])
    assert found.told
    assert found.offset_s == pytest.approx(-0.03)
    assert found.delay_s == 0.0


def test_the_spread_is_told():
    found = lateness([beat + 0.1 + 0.02 * (-1) ** n for n, beat in enumerate(BEATS)])
    assert found.offset_s == pytest.approx(0.1, abs=0.021)
    assert found.spread_s == pytest.approx(0.03, abs=0.011)  # 1.4826 x 0.02


# What it does to a round


def in_time(player: Player, level_id: str = "time-six", seed: int = 7) -> Terms:
    rung = next(r for r in player.stage.levels.ladder.rungs if r.level.id == level_id)
    return Terms.counted(rung.level, rung.text, seed, None, player.stage.piano.compass)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.floats(0, MOST_DELAY_S))
def test_a_late_keyboard_with_its_delay_taken_off_scores_as_one_that_is_not_late(seed, late_s):
    terms = Terms("t", LEVEL, 3, 2)
    start, chance = terms.begin(), Random(seed)
    presses = []
    prompt, pulse = start.prompts[0], start.pulse
    for slot in prompt.slots:
        due = pulse.lead_s(prompt) + slot.beat * pulse.quarter_s
        presses.append(Press(due + chance.gauss(0, 0.1), min(slot.keys) + chance.choice((0, 0, 2))))
    presses.sort(key=lambda press: press.t)
    end = pulse.length_s(prompt)
    on_time = terms.replay([Flip(0), *presses, Tick(end)])
    moved = [replace(press, t=press.t + late_s) for press in presses]
    late = replace(terms, delay_s=late_s).replay([Flip(0), *moved, Tick(end + late_s)])
    assert len(late.results) == len(on_time.results) > 0
    for one, other in zip(late.results, on_time.results, strict=True):
        assert (one.verdict, one.completed) == (other.verdict, other.completed)
        assert one.points == pytest.approx(other.points, abs=1e-6)


LEVEL = """
format = 1
id = "t"
title = "T"
stage = "S"
limit_s = 0.5
show = { texture = "phrase", treble = "C4 to G5", bars = 2, cells = [[1], [2]] }
pass = { median_s = 0.15 }
time = { tempo = 60 }
"""


def test_only_levels_in_time_know_of_it():
    calm = LEVEL.replace("time = { tempo = 60 }", "").replace("limit_s = 0.5", "limit_s = 4")
    terms = Terms("t", calm, 3, 2)
    presses = [Press(0.5 + n, 60) for n in range(6)]
    events = events_of(terms.begin(), presses)
    assert replace(terms, delay_s=0.3).replay(events) == terms.replay(events)


@pytest.mark.parametrize("delay_s", [-0.01, MOST_DELAY_S + 0.01, float("nan")])
def test_a_delay_that_no_keyboard_has_is_refused(delay_s):
    with pytest.raises(ValueError, match="delay_s"):
        Terms("t", LEVEL, 3, 2, delay_s=delay_s)


def test_a_shared_record_carries_it_and_one_without_is_read_by_older_games(player):
    terms = Terms("t", LEVEL, 3, 1, delay_s=LATE_S)
    events = events_of(terms.begin(), [Press(4.14, 60)])

    def shared(of: Terms) -> SharedRound:
        ended = of.replay(events)
        return SharedRound("", of, events, datetime.now(UTC), "1", figures_of(of, ended))

    assert parse_record(record_text(shared(terms)), "me").terms.delay_s == LATE_S
    assert "delay_s" not in record_json(shared(replace(terms, delay_s=0.0)))["terms"]
    played = presses_of(terms.replay(events))
    again = replace(terms, delay_s=0.0)
    judged = again.replay(events_of(again.begin(), played))
    assert judged.results[0].points == pytest.approx(terms.replay(events).results[0].points)


# The page


@pytest.fixture
def player(player):
    player.plug("piano")
    player.stage.rounds.greet(player.stage.store.add_reader("A"))
    player.look()
    return player


def play(player: Player, key: int, keyboard: str = "piano") -> None:
    """A key of a keyboard, whose page is drawn after it."""
    player.app.loop.from_queue(KeyDown(player.clock, key, 70, keyboard))
    player.app.loop.from_queue(KeyUp(player.clock, key, keyboard))
    player.look()


def until(player: Player, t: float) -> None:
    while player.clock < t - 1e-9:
        player.wait(min(0.25, t - player.clock))


def along(player: Player, late_s: float, keyboard: str = "piano", seed: int = 1) -> None:
    """Play to the sixteen clicks, from a page that is at rest."""
    chance, first = Random(seed), player.clock + 1.0 + 4 * CLICK_S
    player.click_on("start")
    for beat in BEATS:
        until(player, first + beat + late_s + chance.gauss(0, 0.012))
        play(player, 65, keyboard)
    until(player, first + CLICKS * CLICK_S + 0.1)
    player.wait(5.0)


def opened(player: Player) -> SetBeat:
    player.stage.go.open_settings()
    player.look()
    player.click_on("set_beat")
    assert isinstance(player.screen, SetBeat)
    return player.screen


def read(player: Player, terms: Terms, late_s: float, keyboard: str = "piano") -> Result:
    """A round in time with right keys on a late keyboard, by a hand that is off a little."""
    chance = Random(5)
    player.stage.rounds.begin(terms)
    player.look()
    play(player, 60, keyboard)
    while isinstance(player.screen, PlayInTime):
        live = player.screen.live
        state = live.round
        if state.since is None or player.screen.phase is not PlayPhase.READING:
            player.wait(0.25)
            continue
        prompt, zero = state.current, player.clock - live.time(player.clock)
        for slot in prompt.slots:
            due = zero + state.since + state.pulse.lead_s(prompt)
            until(player, due + slot.beat * state.pulse.quarter_s + late_s + chance.gauss(0, 0.02))
            for key in sorted(slot.keys):
                play(player, key, keyboard)
        while live.round.phrase_end is not None:
            player.wait(0.1)
    assert isinstance(player.screen, Result)
    return player.screen


def test_a_keyboard_that_is_140_ms_late_fails_a_level_and_passes_it_once_the_beat_is_set(
    player, capsys
):
    result = read(player, in_time(player), LATE_S)
    assert result._live.round.score.accuracy == 1.0
    assert not result._passed
    assert "Steady, 0.1 s behind the beat" in [row[2] for row in result._in_time()]
    player.wait(2.0)
    player.click_on("beat")  # offered there and then
    along(player, LATE_S)
    assert player.stage.settings.now.delays["piano"] == pytest.approx(LATE_S, abs=0.015)
    player.click_on("back")
    assert player.screen is result
    after = read(player, replace(in_time(player), seed=8), LATE_S)
    assert after._passed
    assert after._score.median_s < 0.03
    assert "beat" not in [control.id for control in after.controls]
    for screen, delay_s in ((result, 0.0), (after, player.stage.settings.now.delays["piano"])):
        judged = told(capsys, "judge", "--record", screen._live.record_id)
        assert judged["agrees"]
        assert judged["pass"] is (screen is after)
        assert judged["timing"]["delay_s"] == delay_s
    # What was played stands as it was played.
    events = player.stage.store.record(after._live.record_id).events
    pressed = [event.t for event in events if isinstance(event, Press)]
    live = after._live.round
    first = next(e.t for e in events if isinstance(e, Flip)) + live.pulse.lead_s(live.prompts[0])
    beat = live.prompts[0].slots[0].beat * live.pulse.quarter_s
    assert min(pressed) - first - beat == pytest.approx(LATE_S, abs=0.06)


@pytest.mark.parametrize("way", ["mouse", "piano"])
def test_the_delay_of_every_keyboard_can_be_cleared(player, way):
    options = player.stage.settings.now
    delays = {f"Keyboard {n}": 0.1 for n in range(9)}
    player.stage.settings.save(replace(options, delays=delays))
    player.stage.go.show(SetBeat(player.stage, player.stage.go.open_readers))
    player.look()
    for name in reversed(delays):
        if way == "mouse":
            player.click_on(f"clear {name}")
        else:
            for _ in range(20):
                if player.screen.focus == f"clear {name}":
                    break
                player.piano(62)
            player.piano(60)
        assert name not in player.stage.settings.now.delays
    assert not player.stage.settings.now.delays


def test_each_keyboard_has_its_own_delay_and_can_be_cleared(player):
    opened(player)
    along(player, 0.2)
    along(player, 0.06, ON_SCREEN)
    assert set(player.stage.settings.now.delays) == {"piano", ON_SCREEN}
    assert Options.from_kept(player.stage.store.get_setting("options")) == player.stage.settings.now
    assert player.screen.focus == "start"  # who presses Enter now does not clear what was found
    player.click_on("clear piano")
    assert set(player.stage.settings.now.delays) == {ON_SCREEN}
    player.click_on("back")
    assert isinstance(player.screen, Settings)
    player.click_on("back")
    assert isinstance(player.screen, Contents)


def test_the_round_takes_the_delay_of_the_keyboard_that_begins_it(player):
    player.stage.settings.save(replace(player.stage.settings.now, delays={"piano": 0.2}))
    player.stage.rounds.begin(in_time(player))
    player.look()
    assert player.screen.live.terms.delay_s == 0.2  # the one that is there
    player.stage.piano.press(60)
    assert player.screen.phase is PlayPhase.READING
    live = player.screen.live
    assert live.terms.delay_s == 0.0
    assert player.stage.store.record(live.record_id).terms == live.terms
    open_rounds = player.stage.store.open_rounds(player.stage.sitting.reader.id)
    assert [record.id for record in open_rounds] in ([], [live.record_id])
    player.stage.rounds.begin(in_time(player, "time-six"))
    play(player, 60)
    assert player.screen.live.terms.delay_s == 0.2
    rung = player.stage.levels.ladder.rungs[0]
    player.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, 3, player.stage.piano.compass)
    )
    assert player.screen.live.terms.delay_s == 0.0


def test_the_ladder_offers_it_on_levels_in_time_and_only_there(player):
    player.stage.go.open_ladder("time-six")
    player.look()
    player.click_on("beat")
    assert isinstance(player.screen, SetBeat)
    player.type(pygame.K_ESCAPE)
    assert isinstance(player.screen, Contents)
    player.stage.go.open_ladder(player.stage.levels.ladder.rungs[0].level.id)
    player.look()
    assert "beat" not in [control.id for control in player.screen.controls]


def test_by_the_computers_keys_alone_and_by_the_piano_alone(player):
    page = opened(player)
    player.type(pygame.K_RETURN)
    assert page._first is not None
    event = pygame.event.Event(pygame.KEYDOWN, key=pygame.K_a, mod=0, unicode="a", scancode=4)
    until(player, page._first)
    player.app.loop.from_window(event)
    assert len(page._played) == 1
    player.type(pygame.K_ESCAPE)
    assert page._first is None
    assert isinstance(player.screen, SetBeat)
    player.wait(2.0)
    play(player, 60)  # yes: start
    assert page._first is not None
    play(player, 55)  # no menu is worked while the clicks go on
    assert isinstance(player.screen, SetBeat)


def test_clicks_come_when_they_are_shown_and_none_where_the_beat_is_silent(player, monkeypatch):
    asked = []
    monkeypatch.setattr(player.stage.sounds, "beats", asked.append)
    page = opened(player)
    player.click_on("start")
    first = page._first
    wanted = [first + n * CLICK_S for n in range(-4, CLICKS)]
    assert [t for t, _ in asked[-1]] == pytest.approx(wanted)
    player.click_on("stop")
    assert asked[-1] == []
    player.stage.settings.save(replace(player.stage.settings.now, beat="never"))
    asked.clear()
    along(player, 0.1)
    assert not any(asked)
    assert player.stage.settings.now.delays["piano"] == pytest.approx(0.1, abs=0.015)


def test_nothing_is_kept_of_uneven_or_missing_keys(player):
    player.stage.settings.save(replace(player.stage.settings.now, delays={"piano": 0.2}))
    page = opened(player)
    player.click_on("start")
    player.wait(40.0)
    assert page._found[0].keys == 0
    assert player.stage.settings.now.delays == {"piano": 0.2}


def test_delays_that_are_damaged_are_left_out():
    kept = asdict(Options(delays={"a": 0.1}))
    kept["delays"] |= {"b": -1.0, "c": "x", "d": float("nan"), "e": 3.0}
    assert Options.from_kept(kept).delays == {"a": 0.1}
    assert Options.from_kept({"delays": [1]}).delays == {}
