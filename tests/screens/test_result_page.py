# SPDX-License-Identifier: MIT
"""The page of a round's result: whole at first sight."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest
from builders import shipped
from robot_rounds import robot_events
from store_builders import NOON

from game.app.app import App
from game.keyboards import RobotReader
from game.rounds import Terms
from game.screens.play.result import Result
from game.session.live_round import LiveRound
from game.store import Best
from game.ui.widgets import Canvas

SIZES = [(640, 480), (1024, 600), (1280, 720), (3840, 2160)]
ROUNDS = {
    "one missed note": ("middle-c-both", {"stop_at": 12}, 0.1),
    "a page full and more": ("middle-c-both", {}, 0.9),
    "every note right": ("middle-c-both", {}, 0.0),
    "nothing answered": ("middle-c-both", {"stop_at": 0}, 0.0),
    "bars": ("grand-staff-bars", {}, 0.6),
    "chords": ("chords-root", {}, 0.6),
    "in time": ("time-quarters", {}, 0.6),
    "signatures": ("naming-three", {}, 0.6),
    "against the clock": ("treble-staff", {"seconds": 20}, 0.5),
    "endless": ("treble-staff", {"misses": 3}, 0.5),
}


@pytest.fixture
def app(app):
    app.stage.rounds.greet(app.stage.store.add_reader("A"))
    return app


@pytest.fixture
def size():
    return 1280, 720


def ended(app: App, level_id: str, how: dict[str, int], misses: float) -> LiveRound:
    """A round that the robot has played on a shipped level."""
    rung, how = shipped().find(level_id), dict(how)
    kind = {name: how.pop(name) for name in ("seconds", "misses") if name in how}
    terms = Terms(level_id, rung.text, 7, 24 if not kind else 100, **kind)
    live = LiveRound.begin(terms, app.stage.sitting.reader.id, app.stage.store, 0.0)
    for event in robot_events(terms, RobotReader(3, error_rate=misses), **how):
        live.feed(event)
    return live


@pytest.mark.parametrize(
    ("before", "says"),
    [(-26.1, "New personal best, +100.0"), (40.0, "New personal best, +60.0"), (100.0, "As good")],
)
def test_a_best_below_0_counts_as_the_0_that_was_shown(app, before, says):
    live = ended(app, "middle-c-both", {}, 0.0)
    live.round = replace(
        live.round, results=tuple(replace(one, points=100.0) for one in live.round.results)
    )
    page = Result(app.stage, live, Best(1, before, NOON))
    assert page._against_best().startswith(says)


@pytest.mark.parametrize(("misses", "says"), [(0.0, "Your first best"), (1.0, "No best yet")])
def test_a_round_of_no_points_is_nobodys_first_best(app, misses, says):
    page = Result(app.stage, ended(app, "middle-c-both", {}, misses), None)
    assert (page._against_best(), page._is_best) == (says, misses == 0)


def test_practice_is_held_against_no_best_and_no_last_round(app):
    for _ in range(2):
        app.stage.rounds.practise()
        assert app.go.screen._pace is None
        live = app.go.screen.live
        for event in robot_events(live.terms, RobotReader(3, error_rate=0.0)):
            live.feed(event)
        app.stage.rounds.finish(live)
        assert (app.go.screen._against_best(), app.go.screen._is_best) == ("", False)


@pytest.mark.parametrize("kind", ROUNDS)
@pytest.mark.parametrize("size", SIZES, ids=str)
def test_the_first_frame_shows_all_that_the_second_does(app, size, kind):
    page = Result(app.stage, ended(app, *ROUNDS[kind]), None)
    canvas = Canvas(pygame.Surface(size))
    page.draw(canvas)
    first = pygame.image.tobytes(canvas.surface, "RGB")
    page.draw(canvas)
    assert pygame.image.tobytes(canvas.surface, "RGB") == first
