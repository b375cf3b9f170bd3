# SPDX-License-Identifier: MIT
"""Every row of a long list can be reached, whatever a person works the game with."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import timedelta

import pygame
import pytest
from builders import level_text
from heat_builders import setup_of
from heat_report_builders import seats
from robot_rounds import robot_terms
from store_builders import NOON, play
from teacher import Teacher

from game.heats import End, Forms
from game.heats.standings import Shows
from game.keyboards import KeyDown
from game.screens.reader.readers import Readers
from game.screens.school.class_page import ClassPage
from game.screens.school.heat_choices import HeatChoices
from game.screens.school.heat_result import HeatResult
from game.screens.school.list_files import ListFiles
from game.screens.school.past_heats import PastHeats
from game.screens.school.pick_pages import Here, PickLevel
from game.screens.school.seat_keys import SeatKeys
from game.screens.school.told_page import MessagePage
from game.session.live_heat import HeatOptions, LiveHeat
from game.store import KeptHeat, RoundState
from game.ui.screen import PIANO_AFTER, PIANO_PAGE_AFTER, PIANO_PAGE_BEFORE, Screen

SIZES = [(500, 400), pytest.param((640, 480), marks=pytest.mark.wide), (1280, 720)]
MANY = 100
DOWN, RIGHT, TAB = pygame.K_DOWN, pygame.K_RIGHT, pygame.K_TAB
LEVEL = "landmarks-upper"


# The pages


@pytest.fixture(params=SIZES, ids=str)
def size(request):
    return request.param


def of_readers(teacher: Teacher) -> None:
    for number in range(MANY):
        teacher.stage.store.add_reader(f"Reader {number}")
    teacher.stage.go.show(Readers(teacher.stage))


def of_archived_readers(teacher: Teacher) -> None:
    store = teacher.stage.store
    for number in range(MANY):
        store.archive_reader(store.add_reader(f"Reader {number}").id)
    teacher.stage.go.show(Readers(teacher.stage))
    teacher.look()
    teacher.click_on("archived")


def of_classes(teacher: Teacher) -> None:
    for number in range(MANY):
        teacher.stage.store.school.add_class(f"Class {number}")
    teacher.stage.classroom.open()


def of_archived_classes(teacher: Teacher) -> None:
    school = teacher.stage.store.school
    for number in range(MANY):
        school.archive_class(school.add_class(f"Class {number}").id, True)
    teacher.stage.classroom.open()
    teacher.look()
    teacher.click_on("archived")


def a_class(teacher: Teacher):
    school = teacher.stage.store.school
    one = school.add_class("3b")
    school.import_members(one.id, [(f"Reader {number}", number) for number in range(1, MANY + 1)])
    return one


def of_members(teacher: Teacher) -> None:
    teacher.stage.go.show(ClassPage(teacher.stage, a_class(teacher)))


def of_archived_members(teacher: Teacher) -> None:
    one, school = a_class(teacher), teacher.stage.store.school
    for member in school.members(one.id):
        school.archive_member(member.id, True)
    teacher.stage.go.show(ClassPage(teacher.stage, one))
    teacher.look()
    teacher.click_on("archived")


def choices(teacher: Teacher) -> HeatChoices:
    one = a_class(teacher)
    return HeatChoices(teacher.stage, one, teacher.stage.store.school.members(one.id))


def of_who_is_here(teacher: Teacher) -> None:
    teacher.stage.go.show(Here(teacher.stage, choices(teacher)))


def own_levels(teacher: Teacher, tmp_path) -> None:
    for number in range(MANY):
        text = level_text(id=f'"own-{number}"', title=f'"Own {number}"', stage='"Mine"')
        (tmp_path / "own" / f"own-{number}.toml").write_text(text, encoding="utf-8")
    assert teacher.stage.levels.look_again()


def of_levels_for_a_heat(teacher: Teacher, tmp_path) -> None:
    own_levels(teacher, tmp_path)
    teacher.stage.go.show(PickLevel(teacher.stage, choices(teacher)))


def of_the_ladder(teacher: Teacher, tmp_path) -> None:
    own_levels(teacher, tmp_path)
    teacher.stage.rounds.greet(teacher.stage.store.add_reader("Anna"))
    teacher.stage.go.open_ladder("own-0")


def of_past_heats(teacher: Teacher, monkeypatch) -> None:
    one = a_class(teacher)
    heats = [
        KeptHeat(uuid.uuid4().hex, one.id, {}, RoundState.FINISHED, NOON - timedelta(days=number))
        for number in range(MANY)
    ]
    monkeypatch.setattr(
        type(teacher.stage.store.school), "heats", lambda _school, _one: tuple(heats)
    )
    teacher.stage.go.show(PastHeats(teacher.stage, one))


def of_list_files(teacher: Teacher, tmp_path) -> None:
    (tmp_path / "documents").mkdir()
    for number in range(MANY):
        (tmp_path / "documents" / f"{number}.csv").write_text("name\nMia\n", encoding="utf-8")
    teacher.stage.go.show(ListFiles(teacher.stage, teacher.screen, "", lambda _path: None))


def of_rounds(teacher: Teacher) -> None:
    store, reader = teacher.stage.store, teacher.stage.store.add_reader("Anna")
    for number in range(MANY):
        at = NOON - timedelta(days=7 * number)
        play(store, reader.id, at=at, terms=robot_terms(LEVEL, number))
    teacher.stage.rounds.greet(reader)
    teacher.stage.go.open_history(LEVEL)
    teacher.look()
    teacher.click_on("tab-rounds")


def of_weeks(teacher: Teacher) -> None:
    of_rounds(teacher)
    teacher.click_on("tab-weeks")


def of_lines(teacher: Teacher) -> None:
    lines = [f"Line {number}" for number in range(MANY)]
    teacher.stage.go.show(MessagePage(teacher.stage, "About a list", lines, teacher.screen))


def of_new_classes(teacher: Teacher, tmp_path) -> None:
    teacher.stage.classroom.open()
    rows = "".join(f"Reader {n},Class {n}\n" for n in range(MANY))
    (tmp_path / "school.csv").write_text(f"name,class\n{rows}", encoding="utf-8")
    teacher.drop(tmp_path / "school.csv")


def a_heat():
    named = seats([f"Reader {number}" for number in range(MANY)])
    return setup_of(named, forms=Forms.SAME, prompts=1)


def of_seats(teacher: Teacher) -> None:
    manners = HeatOptions(Shows.ALL, True, "3b", None)
    teacher.stage.go.show(SeatKeys(teacher.stage, a_heat(), manners, choices(teacher)))


def of_places(teacher: Teacher) -> None:
    manners = HeatOptions(Shows.ALL, True, "3b", None)
    live = LiveHeat.begin(a_heat(), manners, teacher.stage.store.school, 0.0)
    live.feed(End(1.0))
    teacher.stage.go.show(HeatResult(teacher.stage, live))


PAGES = {
    build.__name__: build
    for build in (
        of_readers,
        of_archived_readers,
        of_classes,
        of_archived_classes,
        of_members,
        of_archived_members,
        of_who_is_here,
        of_levels_for_a_heat,
        of_the_ladder,
        of_past_heats,
        of_list_files,
        of_rounds,
        of_seats,
        of_places,
    )
}
TEXTS = {build.__name__: build for build in (of_weeks, of_lines, of_new_classes)}
FOR_THE_TEACHER_ALONE = ("of_seats", "of_places")  # where the pianos are the readers'


def open_page(teacher: Teacher, build: Callable[..., None], given: dict[str, object]) -> Screen:
    wanted = {"teacher": teacher} | given
    build(**{name: wanted[name] for name in build.__code__.co_varnames if name in wanted})
    teacher.look()
    return teacher.screen


# The ways


def seen(screen: Screen) -> set[str]:
    """The rows of the list that a click would hit."""
    rows = [row for row in screen.lists[0].rows if row.seen]
    for row in rows:
        assert screen.stage.window.canvas.surface.get_rect().contains(row.rect)
        if row.enabled:
            assert screen._hit(row.rect.center) is row
    return {f"{row.id} {row.label}" for row in rows}


def press(screen: Screen, key: int) -> None:
    screen.key(pygame.event.Event(pygame.KEYDOWN, key=key, mod=0, unicode="", scancode=0))
    screen.draw(screen.stage.window.canvas)


def focused(screen: Screen) -> str:
    """The row that has the focus, and is in view."""
    here = screen.focused
    assert here is not None and here.seen, screen.focus
    return f"{here.id} {here.label}"


def by_arrows(teacher: Teacher, screen: Screen) -> set[str]:
    """Down each column, from its top to where it leaves the list."""
    found, columns = set[str](), len({row.rect.x for row in screen.lists[0].rows})
    for column in range(columns):
        press(screen, pygame.K_HOME)
        while screen.name == "ladder" and screen.focus != "level-own-0":
            press(screen, pygame.K_PAGEDOWN)
        for _ in range(column):
            press(screen, RIGHT)
        for _ in range(len(screen.controls) // columns + 2):
            found.add(focused(screen))
            press(screen, DOWN)
    return found


def by_tab(teacher: Teacher, screen: Screen) -> set[str]:
    found = set[str]()
    for _ in range(len(screen.controls) + 1):
        found.add(focused(screen))
        press(screen, TAB)
    return found


def by_pages(teacher: Teacher, screen: Screen) -> set[str]:
    """What is in view, page by page; the last and the first are a key away."""
    press(screen, pygame.K_HOME)
    found = seen(screen)
    for _ in range(len(screen.controls) // 2):
        press(screen, pygame.K_PAGEDOWN)
        found |= seen(screen)
    last = seen(screen)
    press(screen, pygame.K_HOME)
    press(screen, pygame.K_END)
    assert seen(screen) & last
    return found


def by_wheel(teacher: Teacher, screen: Screen) -> set[str]:
    teacher.move(screen.lists[0].rows[0].view.center)
    found = set[str]()
    for up in (1, -1):
        for _ in range(len(screen.controls) // 2):
            found |= seen(screen) if up < 0 else set()
            teacher.app.loop.from_window(pygame.event.Event(pygame.MOUSEWHEEL, x=0, y=up))
    screen.draw(teacher.stage.window.canvas)
    return found | seen(screen)


def by_the_bar(teacher: Teacher, screen: Screen) -> set[str]:
    """The mouse drags the bar from its top to its foot."""
    view, send = screen.lists[0].rows[0].view, teacher.app.loop.from_window
    x, found = view.right - 3, set[str]()
    send(pygame.event.Event(pygame.MOUSEBUTTONDOWN, pos=(x, view.top), button=1))
    for y in range(view.top, view.bottom + 1):
        send(pygame.event.Event(pygame.MOUSEMOTION, pos=(x, y), rel=(0, 1)))
        found |= seen(screen)
    send(pygame.event.Event(pygame.MOUSEBUTTONUP, pos=(x, view.bottom), button=1))
    last = seen(screen)
    send(pygame.event.Event(pygame.MOUSEMOTION, pos=(x, view.top), rel=(0, -9)))
    assert seen(screen) == last  # it was let go of
    screen.draw(teacher.stage.window.canvas)
    return found


def by_piano(teacher: Teacher, screen: Screen) -> set[str]:
    found = set[str]()
    ahead = len(screen.controls) + len(screen.stage.levels.ladder.rungs) * (screen.name == "ladder")
    for key, times in ((PIANO_PAGE_BEFORE, MANY // 2), (PIANO_AFTER, ahead + 1)):
        for _ in range(times):
            found.add(focused(screen))
            screen.piano(KeyDown(teacher.clock, key, 70, "piano"))
            screen.draw(screen.stage.window.canvas)
    return found


@pytest.mark.parametrize("page", sorted(PAGES))
def test_every_row_of_a_hundred_is_reached(teacher, page, tmp_path, monkeypatch):
    given = {"tmp_path": tmp_path, "monkeypatch": monkeypatch}
    screen = open_page(teacher, PAGES[page], given)
    rows = {f"{row.id} {row.label}" for row in screen.lists[0].rows if row.enabled}
    assert len(rows) >= MANY and screen.lists[0].long
    ways = [by_wheel, by_the_bar, by_arrows, by_tab, by_pages]
    if page == "of_the_ladder":  # whose pages are stages
        rows = {row for row in rows if row.startswith("level-")}
        ways.remove(by_pages)
    if page not in FOR_THE_TEACHER_ALONE:
        ways.append(by_piano)
    for way in ways:
        left = rows - way(teacher, screen)
        assert not left, (way.__name__, sorted(left)[:5])


@pytest.mark.parametrize("page", sorted(TEXTS))
def test_every_line_of_a_hundred_is_read(teacher, page, tmp_path, monkeypatch):
    given = {"tmp_path": tmp_path, "monkeypatch": monkeypatch}
    screen = open_page(teacher, TEXTS[page], given)
    rows = {f"{row.id} {row.label}" for row in screen.lists[0].rows}
    assert len(rows) >= MANY and screen.lists[0].long

    def with_pages_of_the_piano(teacher: Teacher, screen: Screen) -> set[str]:
        for _ in range(len(screen.controls) // 2):
            teacher.piano(PIANO_PAGE_BEFORE)
        found = seen(screen)
        for _ in range(len(screen.controls) // 2):
            teacher.piano(PIANO_PAGE_AFTER)
            found |= seen(screen)
        return found

    for way in (by_wheel, by_the_bar, by_pages, with_pages_of_the_piano):
        left = rows - way(teacher, screen)
        assert not left, (way.__name__, sorted(left)[:5])


def test_the_wheel_takes_the_focus_along_so_that_enter_does_what_is_seen(teacher):
    of_readers(teacher)
    teacher.look()
    screen = teacher.screen
    first = screen.focus
    teacher.wheel(-1, screen.lists[0].rows[0].view.center)
    assert screen.focus != first and screen.focused.seen
    teacher.type(pygame.K_RETURN)
    assert f"reader-{teacher.stage.sitting.reader.id}" != first


def test_a_list_that_is_whole_has_no_bar_and_does_not_move(teacher):
    teacher.stage.store.add_reader("Anna")
    teacher.stage.go.show(Readers(teacher.stage))
    teacher.look()
    screen, before = teacher.screen, teacher.stage.window.canvas.surface.copy()
    row = screen.lists[0].rows[0]
    where, focus = row.rect.topleft, screen.focus
    for up in (1, -1):
        teacher.wheel(up, row.rect.center)
        assert (screen.lists[0].rows[0].rect.topleft, screen.focus) == (where, focus)
    assert pygame.image.tobytes(before, "RGB") == pygame.image.tobytes(
        teacher.stage.window.canvas.surface, "RGB"
    )
