# SPDX-License-Identifier: MIT
"""Two readers on one long keyboard, split at a key, play a heat to its end."""

from __future__ import annotations

import re
from itertools import chain, zip_longest

import pygame
import pytest
from teacher import Teacher

from game.cli import main
from game.heats import Forms, PlayMode
from game.heats.chain import judge
from game.heats.forms import EVEN, gap
from game.screens.school.heat_result import HeatResult
from game.screens.school.seat_staff import SeatStage

SPLIT = 60
PROMPTS = 6


@pytest.fixture
def teacher(teacher):
    teacher.plug("Long")
    teacher.new_class("3b", "Mia", "Ben")
    return teacher


def shared(teacher: Teacher, level: str, at: int = SPLIT, **choices: object) -> Teacher:
    """Mia has the keys below, Ben those from there up; the heat can begin."""
    teacher.click_on("start")
    teacher.screen.choose_level(level)
    teacher.screen._change(manner=PlayMode.TOGETHER, prompts=PROMPTS, **choices)
    teacher.look()
    teacher.click_on("on")
    teacher.press("Long", 64)
    teacher.share("Long", at)
    return teacher


def both_answer(teacher: Teacher, label: str) -> None:
    """Both seats' chords go down at once, key by key in turns."""
    teacher.clock += 0.5
    below, above = (sorted(teacher.round(number).expected) for number in (1, 2))
    for key in chain.from_iterable(zip_longest(below, above)):
        if key is not None:
            teacher.press(label, key)
    while any(staff.moment is SeatStage.SETTLING for staff in teacher.screen.staves.values()):
        teacher.wait(0.1)


def test_a_heat_of_chords_with_pause_cable_and_redo_to_the_judged_file(teacher, tmp_path):
    shared(teacher, "chords-root")
    assert "different notes, equally hard" in teacher.screen.below_title
    teacher.click_on("begin")
    assert gap(chair.form for chair in teacher.heat.chairs) <= EVEN
    teacher.start()
    for _ in range(2):
        both_answer(teacher, "Long")
    assert [teacher.round(number).score.right for number in (1, 2)] == [2, 2]

    teacher.type(pygame.K_SPACE)
    teacher.press("Long", min(teacher.round(1).expected))
    teacher.press("Long", min(teacher.round(2).expected))
    assert teacher.heat.paused is not None
    teacher.type(pygame.K_SPACE)
    both_answer(teacher, "Long")

    teacher.pull("Long")
    out = " ".join(teacher.screen.said()[0])
    assert "Mia" in out and "Ben" in out and teacher.heat.paused is not None
    teacher.plug("Another port")
    parts = [chair.seat.binding for chair in teacher.heat.chairs]
    assert [one.keyboard for one in parts] == ["Another port"] * 2
    assert [(one.low, one.high) for one in parts] == [(0, SPLIT - 1), (SPLIT, 127)]
    teacher.type(pygame.K_SPACE)
    while any(teacher.round(number).ended is None for number in (1, 2)):
        both_answer(teacher, "Another port")
    teacher.pass_time(0.3)
    assert [teacher.round(number).score.right for number in (1, 2)] == [PROMPTS, PROMPTS]
    assert teacher.heat.strays == 0

    first = teacher.heat.chair(1).form
    teacher.sure(pygame.K_r)
    again = teacher.heat.chair(1).form
    assert again != first
    assert gap([first, again, teacher.heat.chair(2).form]) <= EVEN
    teacher.start()
    teacher.play_out(1, "Another port")

    teacher.type(pygame.K_SPACE)
    assert isinstance(teacher.screen, HeatResult)
    assert "different notes, equally hard" in teacher.screen.warning
    teacher.click_on("page")
    teacher.click_on("export")
    documents = tmp_path / "documents"
    page = next(documents.rglob("*.html")).read_text(encoding="utf-8")
    assert "different ones on the parts of a shared keyboard" in page
    assert "equally hard for all" in page

    file = next(documents.rglob("*.heat.json"))
    judged = judge(file.read_text(encoding="utf-8"), file.name)
    assert judged.sound
    rows = teacher.screen.standings.rows
    assert [(row.seat.number, row.points) for row in judged.standings.rows] == [
        (row.seat.number, row.points) for row in rows
    ]

    assert main(["judge", "--heat", str(file)]) == 0
    assert main(["heat", "report", str(file), "--html", str(tmp_path / "again.html")]) == 0
    assert "equally hard" in (tmp_path / "again.html").read_text(encoding="utf-8")


def test_a_level_that_leaves_one_part_too_little_is_told_with_how_much(teacher, tmp_path):
    shared(teacher, "landmarks-upper", at=72, forms=Forms.SAME)
    assert "So not all read the same." in teacher.screen.below_title
    before = re.search(r"up to (\d+) % harder", teacher.screen.below_title)
    teacher.click_on("begin")
    teacher.start()
    for number in (1, 2):
        teacher.play_out(number, "Long")
    teacher.type(pygame.K_SPACE)
    after = re.search(r"up to (\d+) % harder", teacher.screen.warning)
    assert before and after and before[1] == after[1]
    assert int(after[1]) == round(100 * gap(chair.form for chair in teacher.heat.chairs))
    teacher.click_on("page")
    page = next((tmp_path / "documents").rglob("*.html")).read_text(encoding="utf-8")
    assert f"up to {after[1]} % harder for one seat than for another" in page
