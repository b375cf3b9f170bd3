# SPDX-License-Identifier: MIT
"""The arrow keys: they lead to every control of a page, and never across it by surprise."""

from __future__ import annotations

from collections import deque
from datetime import UTC, datetime, timedelta

import pygame
import pytest
from player import Player
from progress_builders import practised

from game.rounds import Terms
from game.ui.arrows import toward
from game.ui.screen import Screen
from game.ui.widgets import Control, Rect

SIZES = [(1024, 600), pytest.param((1280, 720), marks=pytest.mark.wide), (1920, 1080)]
LEFT, RIGHT, UP, DOWN = pygame.K_LEFT, pygame.K_RIGHT, pygame.K_UP, pygame.K_DOWN
SIDEWAYS = (LEFT, RIGHT)


@pytest.fixture(params=SIZES, ids=str)
def size(request):
    return request.param


def press(screen: Screen, key: int) -> str:
    """The focus after an arrow."""
    screen.key(pygame.event.Event(pygame.KEYDOWN, key=key, mod=0, unicode="", scancode=0))
    screen.draw(screen.stage.window.canvas)
    return screen.focus


def steps(person: Player) -> dict[tuple[str, int], str]:
    """Where each arrow leads, from everything that the arrows lead to; no value is changed."""
    screen = person.screen
    person.look()
    found: dict[tuple[str, int], str] = {}
    waiting = deque([screen.focus])
    while waiting:
        here = waiting.popleft()
        for key in (LEFT, RIGHT, UP, DOWN):
            screen.focus = here
            screen.draw(person.stage.window.canvas)
            focused = screen.focused
            if (here, key) in found or focused is None or (focused.adjust and key in SIDEWAYS):
                continue
            if here.startswith("level-") and key in (UP, DOWN):
                continue  # that is another level's page
            found[here, key] = press(screen, key)
            assert person.screen is screen
            waiting.append(found[here, key])
    return found


def check(person: Player, apart: tuple[str, ...] = ()) -> None:
    """Whatever can be chosen is reached, and left and right stay in the row.

    Args:
        person: at the page.
        apart: prefixes of ids that may be reached otherwise, such as a list's by scrolling.
    """
    person.look()
    where = f"{person.screen.name} from {person.screen.focus}"
    found = steps(person)
    reached = {*found.values(), person.screen.focus}
    person.look()
    rects = {item.id: item.rect for item in person.screen.controls}
    for item in person.screen.controls:
        if item.enabled and not item.id.startswith(apart or ("\0",)):
            assert item.id in reached, f"{item.id} on {where}"
    for (here, key), there in found.items():
        if key in SIDEWAYS and here != there and here in rects and there in rects:
            if here.startswith("level-") or there.startswith("level-"):
                continue  # the list and the panel beside it are two columns
            a, b = rects[here], rects[there]
            assert min(a.bottom, b.bottom) > max(a.top, b.top), f"{here} to {there} on {where}"


def test_the_pages_of_a_reader(teacher):
    app = teacher.app
    for name in ("Anna", "Ben", "Ada"):
        reader = app.stage.store.add_reader(name)
    app.stage.go.open_readers()
    check(teacher)
    app.stage.rounds.greet(reader)
    in_time = next(
        n for n, r in enumerate(app.stage.levels.ladder.rungs) if r.level.time is not None
    )
    for at in (0, in_time):
        app.stage.go.open_ladder(app.stage.levels.ladder.rungs[at].level.id)
        check(teacher, ("level-", "stage-"))
    for go in (app.stage.go.open_settings, app.stage.go.open_help):
        go()
        check(teacher)
    app.stage.sitting.profile = practised(
        app.stage.store, reader.id, datetime.now(UTC) - timedelta(days=5), days=6
    )
    for tab in ("staff", "time", "misreads"):
        app.stage.go.open_progress()
        teacher.look()
        teacher.click_on(f"tab-{tab}")
        check(teacher)


def test_the_pages_of_a_round(teacher):
    app = teacher.app
    app.stage.rounds.greet(app.stage.store.add_reader("Anna"))
    rung = app.stage.levels.ladder.rungs[0]
    app.stage.rounds.begin(Terms.counted(rung.level, rung.text, 1, 3, app.stage.piano.compass))
    teacher.look()
    teacher.piano(60)
    teacher.answer()
    teacher.type(pygame.K_ESCAPE)
    check(teacher)
    app.stage.rounds.greet(app.stage.sitting.reader)
    assert teacher.screen.name == "resume"
    check(teacher)
    teacher.click_on("resume")
    teacher.piano(60)
    while teacher.screen.name == "play":
        teacher.answer()
    check(teacher)
    app.stage.go.open_history(rung.level.id)
    for item in [c.id for c in (teacher.look(), *teacher.screen.controls)[1:]]:
        if item.startswith("tab-"):
            teacher.click_on(item)
            check(teacher, ("round-",))


def test_the_pages_of_a_class(teacher):
    teacher.plug("One", "Two")
    teacher.click_on("classes")
    check(teacher)
    teacher.type(pygame.K_ESCAPE)
    teacher.new_class("3b", "Mia", "Ben", "Ada")
    check(teacher)
    member = next(name for name in teacher.ids() if name.startswith("member-"))
    teacher.click_on(member)
    check(teacher)
    teacher.type(pygame.K_ESCAPE)
    teacher.click_on("start")
    check(teacher)


def box(name: str, *rect: int, enabled: bool = True) -> Control:
    return Control(name, Rect(*rect), name, lambda: None, enabled=enabled)


def test_a_wide_row_above_is_not_to_the_right():
    done, row = box("done", 0, 100, 160, 46), box("row", 0, 0, 700, 39)
    assert toward(done, [done, row], 1, 0) is None
    assert toward(done, [done, row], 0, -1) is row


def test_the_nearest_of_a_row_comes_first_whatever_its_width():
    one, wide, far = box("one", 0, 0, 50, 30), box("wide", 60, 0, 900, 30), box("f", 970, 0, 20, 30)
    assert toward(one, [far, wide, one], 1, 0) is wide
    assert toward(far, [far, wide, one], -1, 0) is wide


def test_down_leads_to_the_same_column_before_a_nearer_row_beside_it():
    top, beside, below = box("t", 0, 0, 100, 30), box("b", 200, 40, 90, 30), box("u", 50, 200, 9, 9)
    assert toward(top, [top, beside, below], 0, 1) is below
    assert toward(top, [top, beside], 0, 1) is beside


def test_down_from_a_wide_row_leads_to_the_first_button_below():
    row, first, second = box("r", 0, 0, 500, 30), box("1", 0, 40, 90, 30), box("2", 200, 40, 90, 30)
    assert toward(row, [row, second, first], 0, 1) is first


def test_what_cannot_be_chosen_is_passed_over():
    one, shut, far = (
        box("1", 0, 0, 50, 30),
        box("2", 60, 0, 50, 30, enabled=False),
        box("3", 120, 0, 9, 9),
    )
    assert toward(one, [one, shut, far], 1, 0) is far


def test_right_leads_from_the_first_button_of_the_ladder_to_the_second_and_stops(teacher):
    app = teacher.app
    app.stage.rounds.greet(app.stage.store.add_reader("Anna"))
    teacher.look()
    way = teacher.screen._level._way
    teacher.type(RIGHT)
    assert teacher.screen.focus == "counted"
    teacher.type(RIGHT)
    assert teacher.screen.focus == "other"
    teacher.type(RIGHT, RIGHT)
    assert (teacher.screen.focus, teacher.screen._level._way) == ("other", way)
    teacher.type(LEFT)
    assert teacher.screen.focus == "counted"
    at = teacher.screen._at
    teacher.type(LEFT)
    assert teacher.screen.focus == f"level-{app.stage.levels.ladder.rungs[at].level.id}"


def test_right_of_done_changes_no_setting(teacher):
    teacher.stage.go.open_settings()
    teacher.look()
    before = teacher.stage.settings.now
    teacher.screen.focus = "back"
    teacher.type(RIGHT, RIGHT)
    assert teacher.screen.focused.adjust is None and teacher.stage.settings.now == before
