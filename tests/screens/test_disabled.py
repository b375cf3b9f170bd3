# SPDX-License-Identifier: MIT
"""What cannot be chosen now looks so, is passed over by the focus, and says what it waits for."""

from __future__ import annotations

import pygame
import pytest
from lines import words_of

from game.heats import PlayMode
from game.ui import theme
from game.ui.widgets import Canvas, Control, Rect


@pytest.fixture(params=[(1024, 600), (1280, 720)], ids=["1024x600", "1280x720"])
def size(request):
    return request.param


def test_an_empty_class_says_what_a_heat_waits_for_and_the_focus_passes_it_over(teacher):
    teacher.new_class("3b")
    assert "A heat needs somebody in the class." in words_of(teacher)
    seen = set()
    for _ in range(2 * len(teacher.ids())):
        teacher.type(pygame.K_TAB)
        seen.add(teacher.screen.focus)
    assert seen == set(teacher.ids()) - {"start"}
    teacher.click_on("start")
    assert teacher.screen.name == "class"
    assert teacher.screen.focus != "start"


def test_the_arrows_and_the_pointer_pass_it_over_too(teacher):
    teacher.new_class("3b")
    teacher.screen.focus = "back"
    teacher.look()
    teacher.type(pygame.K_LEFT)
    assert teacher.screen.focus != "start"
    start = next(item for item in teacher.screen.controls if item.id == "start")
    before = teacher.screen.focus
    teacher.app.loop.from_window(pygame.event.Event(pygame.MOUSEMOTION, pos=start.rect.center))
    assert teacher.screen.focus == before


def test_begin_waits_for_a_keyboard_and_says_so(teacher):
    teacher.plug("one", "two")
    teacher.new_class("3b", "Mia", "Ben")
    teacher.begin(PlayMode.TOGETHER)
    assert "Begin waits for a seat with a keyboard." in words_of(teacher)
    teacher.press("one", 60)
    assert "Begin waits for a seat with a keyboard." not in words_of(teacher)
    teacher.press("two", 60)
    assert teacher.screen.focus == "begin"


@pytest.mark.parametrize("style", ["primary", "button"])
def test_it_differs_by_its_frame_and_its_letters_can_be_read(style):
    rect, pictures = Rect(10, 10, 200, 46), []
    for enabled in (True, False):
        surface = pygame.Surface((220, 66))
        canvas = Canvas(surface)
        canvas.clear()
        control = Control("go", rect, "Begin", lambda: None, style, enabled=enabled)
        canvas.control(control, focused=False)
        pictures.append(surface)
    paper = pygame.Color(*theme.PAPER)
    top = [[one.get_at((x, rect.top)) == paper for x in range(20, 200)] for one in pictures]
    assert not any(top[0])  # a whole line
    assert 60 < sum(top[1]) < 120  # a broken one
    darkest = min(sum(pictures[1].get_at((x, 33))[:3]) for x in range(60, 160))
    assert darkest <= sum(theme.MUTED) + 30  # MUTED on PAPER has 5.6:1
