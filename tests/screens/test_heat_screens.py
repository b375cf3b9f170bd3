# SPDX-License-Identifier: MIT
"""Heats in the window, led by a teacher with the clock in hand: in turn, and together."""

from __future__ import annotations

import json
import os
import time
from dataclasses import replace
from pathlib import Path

import pygame
import pytest
from computer_fonts import only_fonts_of
from teacher import Teacher

from game.app.app import App, AppOptions
from game.heats import Chair, Forms, HeatPhase, PlayMode, Seat
from game.heats.chain import judge, line
from game.heats.standings import Shows, standings_of
from game.keyboards import Keyboards
from game.levels import FULL_COMPASS
from game.reader import spelled
from game.rounds import Terms, Verdict
from game.screens.play.prompt_view import nearest_note
from game.screens.reader.readers import Readers
from game.screens.school.class_page import ClassPage
from game.screens.school.classes import Classes
from game.screens.school.heat_board import board, podium
from game.screens.school.heat_papers import RESULT, RESULT_PDF, SLIPS, TABLE, heat_before
from game.screens.school.heat_result import HeatResult
from game.screens.school.heat_together import HeatTogether
from game.screens.school.heat_turns import REST_S, HeatTurns
from game.screens.school.past_heats import PastHeats
from game.screens.school.seat_keys import SeatKeys
from game.screens.school.seat_staff import SeatStaff, SeatStage
from game.screens.school.seat_tile import LEAST_TEXT, draw_verdict
from game.store import HeatEntry, RoundState, StoreError, heat_target
from game.ui import theme
from game.ui.asked_twice import HASTE_S
from game.ui.widgets import Canvas

SIZES = [(1280, 720), (1920, 1080), (1024, 600)]
N, R, X, C, Q = pygame.K_n, pygame.K_r, pygame.K_x, pygame.K_c, pygame.K_q


def opened(tmp_path, size=(1024, 600)) -> Teacher:
    return Teacher(App(AppOptions(store=str(tmp_path / "store.db"), size=size)))


@pytest.fixture
def in_turn(teacher):
    """Three readers, six prompts each, on one keyboard."""
    teacher.plug("Piano")
    teacher.new_class("3b", "Mia", "Ben", "Ada")
    teacher.begin(prompts=6)
    assert isinstance(teacher.screen, HeatTurns)
    return teacher


@pytest.fixture
def together(teacher):
    """Two readers with a keyboard each, six prompts."""
    teacher.plug("One", "Two")
    teacher.new_class("3b", "Mia", "Ben", "Ada")
    teacher.click_on("start")
    teacher.click_on("here")
    teacher.click_on(teacher.ids()[2])
    teacher.click_on("back")
    teacher.screen._change(manner=PlayMode.TOGETHER, prompts=6)
    teacher.look()
    teacher.click_on("on")
    teacher.press("One", 60)
    teacher.press("Two", 60)
    teacher.click_on("begin")
    assert isinstance(teacher.screen, HeatTogether)
    return teacher


def ready(teacher) -> None:
    """The reader whose turn it is plays middle C, and is counted in."""
    teacher.wait(REST_S)  # whoever played before has let go
    teacher.press("Piano", 60)
    teacher.pass_time(3.2)


def words(teacher) -> str:
    """What stands beside the clock."""
    return " ".join(teacher.screen.said()[0])


def question(teacher) -> str:
    """What the teacher is asked before it is done."""
    return teacher.screen.asks.words


# In turn


def test_only_middle_c_makes_a_reader_ready(in_turn):
    in_turn.press("Piano", 59)
    in_turn.pass_time(1)
    assert in_turn.heat.phase is HeatPhase.WAITING
    in_turn.press("Piano", 60)
    in_turn.settle()
    assert in_turn.heat.phase is HeatPhase.COUNT_IN


def test_the_count_in_is_seen_and_heard(in_turn, monkeypatch):
    heard = []
    monkeypatch.setattr(in_turn.stage.sounds.player, "click", lambda first: heard.append(first))
    in_turn.press("Piano", 60)
    in_turn.settle()
    seen = []
    for _ in range(31):
        seen.append(in_turn.screen.count_in_left())
        in_turn.wait(0.1)
    assert list(dict.fromkeys(seen)) == [3, 2, 1] or list(dict.fromkeys(seen)) == [3, 2, 1, None]
    assert heard == [False, False, True]
    assert in_turn.heat.phase is HeatPhase.RUNNING


def test_the_clock_of_a_prompt_starts_when_it_is_seen(in_turn):
    in_turn.press("Piano", 60)
    in_turn.pass_time(2.8)
    assert in_turn.round(1) is None
    in_turn.pass_time(0.5)
    round = in_turn.round(1)
    assert round.since is not None and round.since >= round.started


def test_a_reader_whose_name_no_font_here_has_is_called_by_the_seat(teacher, monkeypatch):
    lines: list[str] = []
    text = Canvas.text
    monkeypatch.setattr(Canvas, "text", lambda *a, **k: (lines.append(a[1]), text(*a, **k))[1])
    with only_fonts_of():
        teacher.plug("Piano")
        teacher.new_class("5", "Ада", "李小龙")
        teacher.begin(prompts=2)
        assert "Ада" in lines  # the fonts of the assets have it
        ready(teacher)
        teacher.play_out(1, "Piano")
        del lines[:]
        teacher.pass_time(3)
        assert "Seat 2" in lines
        ready(teacher)
        teacher.play_out(2, "Piano")
        teacher.pass_time(1)
        teacher.type(pygame.K_SPACE)
        assert "Seat 2" in lines and "李小龙" not in "".join(lines)


def test_three_readers_one_after_another_to_the_result(in_turn):
    for number in (1, 2, 3):
        assert in_turn.heat.turn == number
        ready(in_turn)
        in_turn.play_out(number, "Piano")
        in_turn.pass_time(1)
    assert in_turn.heat.done
    in_turn.type(pygame.K_SPACE)
    assert isinstance(in_turn.screen, HeatResult)
    rows = in_turn.screen.standings.rows
    assert all(row.score.right == 6 for row in rows)
    (kept,) = in_turn.stage.store.school.heats()
    assert kept.result["standings"] == json.loads(json.dumps(in_turn.screen.standings.to_json()))


def test_middle_c_twice_leads_from_the_last_turn_to_the_results(teacher):
    teacher.plug("Piano")
    teacher.new_class("3b", "Mia")
    teacher.begin(prompts=2)
    ready(teacher)
    teacher.play_out(1, "Piano")
    for _ in range(4):  # hands that still play
        teacher.press("Piano", 60)
        teacher.pass_time(0.6)
    assert teacher.at_heat()
    teacher.pass_time(2.1)
    teacher.press("Piano", 60)
    teacher.pass_time(0.6)
    teacher.press("Piano", 62)
    assert teacher.at_heat()
    teacher.press("Piano", 60)
    assert isinstance(teacher.screen, HeatResult)


def test_the_prompts_of_two_seats_are_not_the_same(in_turn):
    forms = [chair.form for chair in in_turn.heat.chairs]
    assert not all(a.looks_like(b) for a, b in zip(forms[0], forms[1], strict=True))


def test_the_same_for_all_is_the_same(teacher):
    teacher.new_class("3b", "Mia", "Ben")
    teacher.begin(prompts=6, forms=Forms.SAME)
    one, other = (chair.form for chair in teacher.heat.chairs)
    assert all(a.looks_like(b) for a, b in zip(one, other, strict=True))


def test_the_teacher_passes_the_turn_on_and_back(in_turn):
    in_turn.type(N)
    assert in_turn.heat.turn == 2
    in_turn.type(pygame.K_LEFT, N)  # chosen by hand
    assert in_turn.heat.turn == 1


def test_a_timed_heat_ends_by_its_clock_alone(teacher):
    teacher.plug("Piano")
    teacher.new_class("3b", "Mia")
    teacher.begin(prompts=0, seconds=30)
    ready(teacher)
    assert teacher.screen.clock_words() in ("0:30", "0:29")
    teacher.answer_seat(1, "Piano")
    teacher.pass_time(31, step=0.5)
    assert teacher.heat.done
    assert teacher.screen.clock_words() == "0:00"
    assert len(teacher.round(1).results) >= 1


def test_the_last_answer_ends_in_view_before_the_next_name(in_turn):
    ready(in_turn)
    while len(in_turn.round(1).results) < 5:
        in_turn.answer_seat(1, "Piano")
    in_turn.clock += 0.5
    in_turn.press("Piano", *in_turn.round(1).expected)
    assert in_turn.heat.turn == 1
    assert in_turn.screen.staves[1].moment is SeatStage.SETTLING
    in_turn.pass_time(0.5)
    assert in_turn.heat.turn == 2


def test_who_has_played_does_not_count_the_next_one_in(in_turn):
    ready(in_turn)
    in_turn.play_out(1, "Piano")
    assert in_turn.heat.turn == 2
    for _press in range(4):  # hands that play on
        in_turn.wait(0.4)
        in_turn.press("Piano", 60)
    in_turn.wait(1)
    assert in_turn.heat.phase is HeatPhase.WAITING and not in_turn.heat.chair(2).ready
    in_turn.press("Piano", 60)
    in_turn.settle()
    assert in_turn.heat.phase is HeatPhase.COUNT_IN


def test_without_a_keyboard_the_computers_letters_play(teacher):
    teacher.new_class("3b", "Mia")
    teacher.begin(prompts=6)
    a_key = pygame.event.Event(pygame.KEYDOWN, key=pygame.K_a, mod=0, unicode="a", scancode=4)
    teacher.app.loop.from_window(a_key)  # the place of middle C
    teacher.settle()
    assert teacher.heat.phase is HeatPhase.COUNT_IN


# The teacher


def test_a_pause_takes_no_time_from_anybody(in_turn):
    ready(in_turn)
    in_turn.wait(1.0)
    before = in_turn.round(1).elapsed(in_turn.screen.heat_time)
    in_turn.type(pygame.K_SPACE)
    assert words(in_turn) == "Paused"
    expected = next(iter(in_turn.round(1).expected))
    in_turn.pass_time(60, step=5)
    in_turn.press("Piano", expected)  # a press in the pause is worth nothing
    in_turn.type(pygame.K_SPACE)
    assert in_turn.round(1).elapsed(in_turn.screen.heat_time) == pytest.approx(before)
    assert not in_turn.round(1).results


def test_escape_stops_the_clock_before_it_leaves(in_turn):
    ready(in_turn)
    in_turn.type(pygame.K_ESCAPE)
    assert in_turn.heat.paused is not None and in_turn.at_heat()
    in_turn.type(pygame.K_ESCAPE)
    assert isinstance(in_turn.screen, Classes)


def test_who_is_disqualified_has_no_place_until_it_is_taken_back(together):
    together.start()
    together.play_out(1, "One")
    together.play_out(2, "Two")
    together.type(X)
    placed = [row.seat.number for row in standings_of(together.heat).placed]
    assert placed == [2]
    assert together.screen.board.marks.keys() == {2}
    together.wait(1)
    together.type(X)
    assert len(standings_of(together.heat).placed) == 2


def test_a_redo_gives_new_notes_and_the_first_try_does_not_count(together):
    together.start()
    together.answer_seat(1, "One", off=1)
    together.answer_seat(1, "One")
    together.play_out(1, "One")
    first = together.heat.chair(1).form
    together.play_out(2, "Two")
    together.type(R)
    assert "Redo Mia?" in words(together) and not together.heat.chair(1).tries
    together.wait(HASTE_S)
    together.type(R)
    chair = together.heat.chair(1)
    assert chair.to_play and len(chair.tries) == 1
    assert not all(a.looks_like(b) for a, b in zip(first, chair.form, strict=True))
    together.start()
    together.play_out(1, "One")
    assert together.round(1).score.right == 6


def test_somebody_late_joins_together_by_playing_a_key(together):
    together.start()
    together.answer_seat(1, "One")
    together.plug("Three")
    together.type(pygame.K_PLUS)
    assert "Ada" in words(together)
    together.answer_seat(2, "Two")  # the others go on meanwhile
    together.type(pygame.K_RETURN)
    assert together.heat.chair(3) is None
    together.press("Three", 40)
    chair = together.heat.chair(3)
    assert chair.seat.name == "Ada" and chair.playing
    together.settle()
    together.play_out(3, "Three")
    assert together.round(3).score.right == 6
    assert len(together.round(2).results) == 1


def test_a_keyboard_that_is_shifted_by_octaves_is_told_and_whose_it_is(together):
    together.start()

    def answers(off: int) -> None:
        """The next note, first in another octave."""
        together.answer_seat(1, "One", off=off)
        if off:
            together.answer_seat(1, "One")

    for off in (-12, -12):
        answers(off)
    together.answer_seat(2, "Two")
    assert "shifted" not in words(together)
    answers(-12)
    assert words(together) == "Keyboard shifted by octaves? Mia (seat 1)"
    answers(0)
    assert "shifted" not in words(together)


def test_who_comes_late_moves_no_other_reader_until_the_run_ends(together):
    together.start()
    together.answer_seat(1, "One")
    before = {number: rect.copy() for number, rect in together.screen._places.items()}
    for label in ("Three", "Four"):
        together.plug(label)
        together.type(pygame.K_PLUS, pygame.K_RETURN)
        together.press(label, 40)
    together.settle()
    places = together.screen._places
    rects = list(places.values())
    assert set(places) == {1, 2, 3, 4}
    assert all(places[number].topleft == before[number].topleft for number in (1, 2))
    assert not any(a.colliderect(b) for a in rects for b in rects if a is not b)
    together.sure(C)
    sizes = {rect.size for rect in together.screen._places.values()}
    assert len(sizes) == 1  # between two runs all have the same room again


def test_nobody_comes_late_when_escape_is_pressed(in_turn):
    in_turn.type(pygame.K_PLUS, pygame.K_ESCAPE)
    assert len(in_turn.heat.chairs) == 3 and in_turn.at_heat()
    in_turn.type(pygame.K_PLUS, pygame.K_RETURN)  # all names are there: a number joins
    assert in_turn.heat.chairs[-1].seat.title == "Seat 4"


def test_a_run_cut_short_counts_what_was_answered(together):
    together.start()
    together.answer_seat(1, "One")
    together.type(C)
    assert "for all?" in words(together) and together.heat.phase is HeatPhase.RUNNING
    together.wait(HASTE_S)
    together.type(C)
    assert together.heat.phase is HeatPhase.WAITING
    assert len(together.round(1).results) == 1


def test_a_question_is_taken_back_by_another_key_and_by_another_seat(together):
    together.start()
    together.answer_seat(1, "One")
    together.type(C, pygame.K_ESCAPE, C)  # escape answers no
    assert together.heat.phase is HeatPhase.RUNNING and together.heat.paused is None
    together.type(R, pygame.K_RIGHT, R, pygame.K_LEFT)
    assert not question(together)
    together.type(R, pygame.K_SPACE, pygame.K_SPACE, R)  # nor does a pause leave it standing
    assert not together.heat.chair(1).tries and not together.heat.chair(2).tries


def test_a_redo_names_the_chosen_reader_not_the_one_who_is_called(in_turn):
    ready(in_turn)
    in_turn.play_out(1, "Piano")
    in_turn.pass_time(1)
    in_turn.type(pygame.K_LEFT, R)
    assert in_turn.heat.turn == 2 and "Redo Mia?" in words(in_turn)


def test_an_end_before_all_have_played_is_asked_twice(in_turn):
    ready(in_turn)
    in_turn.play_out(1, "Piano")
    in_turn.pass_time(1)
    in_turn.type(Q)
    assert in_turn.at_heat() and "Sure" in " ".join(in_turn.labels())
    in_turn.wait(HASTE_S)
    in_turn.type(Q)
    assert isinstance(in_turn.screen, HeatResult)


def test_a_heat_that_nobody_played_leaves_nothing_behind(in_turn):
    in_turn.sure(Q)
    assert isinstance(in_turn.screen, ClassPage) and in_turn.screen.title == "3b"
    assert "Nobody played" in in_turn.screen.note
    school = in_turn.stage.store.school
    assert school.heats() == () and school.open_heats() == ()


def test_the_mouse_alone_leads_a_heat(together):
    together.click_on("Space")
    together.pass_time(3.1)
    assert together.heat.phase is HeatPhase.RUNNING
    together.click(together.screen._places[2].center)
    together.click_on("X")
    assert together.heat.chair(2).disqualified
    together.click_on("Space")
    assert together.heat.paused is not None


# Keyboards


def test_a_keyboard_is_bound_to_the_seat_that_plays_on_it(teacher):
    teacher.plug("Same", "Same (2)")
    teacher.new_class("3b", "Mia", "Ben")
    teacher.begin(PlayMode.TOGETHER, prompts=6)
    assert isinstance(teacher.screen, SeatKeys)
    assert teacher.screen.asked.name == "Mia"
    teacher.press("Same (2)", 30)
    teacher.press("Same (2)", 31)  # taken already: Ben has to play another
    assert "Mia's" in teacher.screen.note
    assert teacher.screen.asked.name == "Ben"
    teacher.press("Same", 90)
    teacher.click_on("begin")
    bound = {c.seat.name: c.seat.binding.keyboard for c in teacher.heat.chairs}
    assert bound == {"Mia": "Same (2)", "Ben": "Same"}


def test_two_readers_on_one_long_keyboard(teacher):
    teacher.plug("Long")
    teacher.new_class("3b", "Mia", "Ben")
    teacher.begin(PlayMode.TOGETHER, prompts=6, forms=Forms.SAME)
    teacher.press("Long", 40)
    teacher.share("Long", 0)  # would leave Mia no key
    assert "Higher" in teacher.screen.note
    teacher.press("Long", 60)  # the first level has its notes from middle C up
    assert "Mia would have fewer than two" in teacher.screen.note
    assert teacher.screen.asked.name == "Ben"
    teacher.press("Long", 64)
    assert teacher.screen.asked is None and not teacher.screen.note
    bindings = dict(teacher.screen.bindings.of)
    assert (bindings[1].high, bindings[2].low) == (63, 64)
    teacher.type(pygame.K_RETURN)  # Begin has the focus
    assert isinstance(teacher.screen, HeatTogether)


def test_a_seat_without_a_keyboard_is_left_out(teacher):
    teacher.plug("One")
    teacher.new_class("3b", "Mia", "Ben", "Ada")
    teacher.begin(PlayMode.TOGETHER, prompts=6)
    teacher.click_on("begin")  # nobody has keys: not yet
    assert isinstance(teacher.screen, SeatKeys)
    teacher.click_on("out")
    assert teacher.screen.asked.name == "Ben"
    teacher.press("One", 60)
    teacher.click_on("begin")
    assert [chair.seat.name for chair in teacher.heat.chairs] == ["Ben"]


def test_each_press_is_its_own_seats(together):
    together.start()
    for _ in range(3):
        together.answer_seat(2, "Two")
    assert len(together.round(2).results) == 3
    assert not together.round(1).results and not together.round(1).presses


def test_a_stranger_key_is_nobodys(together):
    together.start()
    together.plug("Third")
    together.press("Third", next(iter(together.round(1).expected)))
    assert not together.round(1).results and together.heat.strays == 1


@pytest.mark.parametrize("everybody_waits", [True, False])
def test_a_keyboard_pulled_out_and_back_under_another_name(together, everybody_waits):
    if not everybody_waits:
        together.screen.live.manners = type(together.live.manners)(pulled=False)
    together.start()
    together.answer_seat(1, "One")
    together.pull("One")
    assert words(together) == "Keyboard out: Mia (seat 1)"
    assert together.screen._face(1).words == "Keyboard out"
    assert (together.heat.paused is not None) == everybody_waits
    together.plug("Strange new name")
    assert "Keyboard out" not in words(together)
    assert (words(together) == "Back: Mia (seat 1). Space goes on") == everybody_waits
    assert together.heat.chair(1).seat.binding.keyboard == "Strange new name"
    if everybody_waits:
        together.type(pygame.K_SPACE)
    together.settle()
    together.play_out(1, "Strange new name")
    assert together.round(1).score.right == 6


def test_of_two_keyboards_out_at_once_each_reader_plays_a_key(together):
    together.start()
    together.pull("One")
    together.pull("Two")
    together.plug("New", "Newer")
    assert words(together) == "Mia (seat 1): play any key"  # she alone: Ben would be taken for her
    faces = [together.screen._face(number).words for number in (1, 2)]
    assert faces == ["Play any key", "Keyboard out"]
    together.press("Newer", 60)
    together.settle()
    bound = {c.seat.number: c.seat.binding.keyboard for c in together.heat.chairs}
    assert bound == {1: "Newer", 2: "New"}
    assert words(together) == "Back: Mia (seat 1), Ben (seat 2). Space goes on"
    together.type(pygame.K_SPACE, pygame.K_SPACE)
    assert words(together) == "Paused"  # by the teacher now: that was another time


def test_in_turn_whose_keyboard_is_out_is_said_and_that_it_is_back(in_turn):
    ready(in_turn)
    in_turn.pull("Piano")
    assert in_turn.heat.paused is not None
    assert words(in_turn) == "The keyboard is out: Mia (seat 1)"
    in_turn.plug("Piano")
    assert words(in_turn) == "The keyboard is back. Space goes on"
    in_turn.type(pygame.K_SPACE)
    assert in_turn.heat.paused is None and "back" not in words(in_turn)


def test_a_keyboard_changed_for_another_at_once_stops_no_heat(together):
    together.start()
    together.keyboards_are("Another", "Two")
    assert together.heat.paused is None
    together.answer_seat(1, "Another")
    assert together.round(1).results[0].right


def test_where_twins_are_told_apart_no_more_nobody_plays_for_another(together):
    together.start()
    before = together.app.stage.piano.keyboards.heard
    together.keyboards_are("One", "Two", gone=before, came=("One", "Two"))
    assert together.heat.paused is None  # each is known by its name
    shifted = {"gone": ("One", "Two"), "came": ("One", "One (2)")}
    together.keyboards_are("One", "One (2)", **shifted)
    assert together.heat.paused is not None
    pressed = len(together.round(1).results)
    together.press("One", 60)
    assert len(together.round(1).results) == pressed


def test_in_turn_a_keyboard_changed_for_another_at_once_stops_no_heat(in_turn):
    in_turn.plug("One")
    in_turn.press("One", 60)
    in_turn.pass_time(3.1)
    in_turn.keyboards_are("Another")
    assert in_turn.heat.paused is None
    in_turn.answer_seat(1, "Another")
    assert in_turn.round(1).results[0].right


# What is kept


def reopened(tmp_path, before: Teacher, *plugged: str) -> Teacher:
    """The window was closed at once, and is opened again."""
    before.app.stage.store.close()
    again = opened(tmp_path)
    again.app.stage.piano.keyboards = Keyboards(heard=plugged, there=plugged)
    return again


@pytest.mark.parametrize("when", ["counting in", "reading", "paused"])
def test_a_closed_window_loses_nothing(together, tmp_path, when):
    together.type(pygame.K_SPACE)
    together.settle()
    if when in ("reading", "paused"):
        together.pass_time(3.1)
        together.answer_seat(1, "One", off=2)
        together.answer_seat(1, "One")
        together.answer_seat(2, "Two")
    if when == "paused":
        together.type(pygame.K_SPACE)
    before = together.heat
    again = reopened(tmp_path, together, "One", "Two")
    try:
        assert isinstance(again.screen, Readers)
        again.go_on()
        assert isinstance(again.screen, HeatTogether)
        for chair in before.chairs:
            now = again.heat.chair(chair.seat.number)
            results = () if chair.round is None else chair.round.results
            assert (() if now.round is None else now.round.results) == results
            assert now.form == chair.form
        again.type(pygame.K_SPACE)
        again.pass_time(3.1)
        again.play_out(1, "One")
        again.play_out(2, "Two")
        assert again.heat.done
        again.type(pygame.K_SPACE)
        assert again.app.stage.store.school.open_heats() == ()
    finally:
        again.app.stage.store.close()


def test_it_is_offered_on_the_classes_page_too_and_keyboards_come_back_by_playing(
    together, tmp_path
):
    together.start()
    together.answer_seat(1, "One")
    again = reopened(tmp_path, together, "Renamed", "Renamed too")
    try:
        again.click_on("classes")
        again.go_on()
        assert again.heat.paused is not None
        again.press("Renamed", 60)
        again.settle()
        bound = {c.seat.number: c.seat.binding.keyboard for c in again.heat.chairs}
        assert bound == {1: "Renamed", 2: "Renamed too"}
    finally:
        again.app.stage.store.close()


@pytest.mark.parametrize("page", ["start", "classes"])
def test_a_heat_that_was_broken_off_is_discarded_when_asked_twice(in_turn, page):
    ready(in_turn)
    in_turn.answer_seat(1, "Piano")
    in_turn.type(pygame.K_ESCAPE, pygame.K_ESCAPE)
    name = in_turn.live.name if in_turn.at_heat() else in_turn.screen._open[0].uuid
    school, at = in_turn.stage.store.school, Classes
    if page == "start":
        in_turn.stage.go.open_readers()
        in_turn.look()
        at = Readers
    lines = len(school.heat(name).entries)
    in_turn.click_on(f"heat-{name}")
    in_turn.click_on("discard")
    assert "Sure? Discard it" in in_turn.labels() and school.open_heats()
    in_turn.type(pygame.K_RIGHT)  # another thought
    in_turn.type(pygame.K_LEFT, pygame.K_RETURN)
    assert "Sure? Discard it" in in_turn.labels() and school.open_heats()
    in_turn.type(pygame.K_ESCAPE)
    assert "Discard it" in in_turn.labels() and school.open_heats()
    in_turn.sure(pygame.K_RETURN)
    assert isinstance(in_turn.screen, at)
    assert f"heat-{name}" not in in_turn.ids() and school.open_heats() == ()
    kept = school.heat(name)  # marked, and all there
    assert kept.state is RoundState.DISCARDED and len(kept.entries) == lines


@pytest.mark.parametrize("page", ["start", "classes"])
def test_the_offer_leads_back_to_where_it_was_chosen(in_turn, page):
    ready(in_turn)
    in_turn.type(pygame.K_ESCAPE, pygame.K_ESCAPE)
    if page == "start":
        in_turn.stage.go.open_readers()
        in_turn.look()
    before = in_turn.screen.name
    in_turn.click_on(next(name for name in in_turn.ids() if name.startswith("heat-")))
    in_turn.click_on("back")
    assert in_turn.screen.name == before
    assert any(name.startswith("heat-") for name in in_turn.ids())


def test_every_event_is_in_the_store_when_the_loop_has_turned(together):
    together.start()
    together.answer_seat(1, "One")
    kept = together.app.stage.store.school.heat(together.live.name)
    assert len(kept.entries) == len(together.live.events)
    assert kept.entries[-1].hash == together.live.chain


def test_a_damaged_heat_is_told_and_offered_no_more(teacher):
    from datetime import UTC, datetime

    school, start = teacher.stage.store.school, {"event": {"kind": "start", "t": 0.0}}
    school.begin_heat("broken", {"level": 3}, datetime.now(UTC))
    school.append_heat_entries("broken", [HeatEntry(0, line(start), "0")])
    teacher.click_on("classes")
    teacher.go_on()
    assert isinstance(teacher.screen, Classes)
    assert "cannot go on" in teacher.screen.note
    assert teacher.stage.store.school.open_heats() == ()


@pytest.fixture
def ended(in_turn):
    """A heat of three readers, at its result."""
    for number in (1, 2, 3):
        ready(in_turn)
        in_turn.answer_seat(number, "Piano", off=number % 2)
        in_turn.play_out(number, "Piano")
        in_turn.pass_time(1)
    in_turn.type(pygame.K_SPACE)
    assert isinstance(in_turn.screen, HeatResult)
    return in_turn


def folders(place) -> list:
    """Those in a folder; files beside them are others'."""
    return [path for path in place.iterdir() if path.is_dir()]


def heat_files(folder) -> list:
    """Those written so far: the later ones have numbers in their names."""
    found = (folder / "Stavewise").glob("*.heat.json")
    return sorted(found, key=lambda path: len(path.name))


def test_the_file_of_an_ended_heat_is_there_unasked_and_judges_the_same(ended, tmp_path):
    (path,) = heat_files(tmp_path / "documents")
    judged = judge(path.read_text(encoding="utf-8"), path.name)
    assert judged.sound
    assert judged.chain == ended.screen.live.chain  # that of the lines in the store
    here = ended.screen.standings.rows
    assert [row.points for row in judged.standings.rows] == [row.points for row in here]
    live = ended.screen.live
    day = live.began.astimezone().date().isoformat()
    assert path.name.startswith(f"{day} 3b, ")
    assert path.name in ended.screen.message(ended.app.stage.window.canvas)
    assert "no names" in ended.screen.message(ended.app.stage.window.canvas)


def test_no_name_is_written_unasked(ended, tmp_path):
    (path,) = heat_files(tmp_path / "documents")
    text = path.read_text(encoding="utf-8")
    assert not any(name in text for name in ("Mia", "Ben", "Ada"))
    assert judge(text, path.name).nameless


@pytest.mark.parametrize("way", ["mouse", "keyboard"])
def test_names_are_in_the_file_when_the_teacher_says_so(ended, tmp_path, way):
    if way == "mouse":
        ended.click_on("names")
    else:
        ended.type(*[pygame.K_TAB] * 3, pygame.K_RETURN)
        assert ended.screen.focus == "names"
    ended.click_on("export")
    first, second = heat_files(tmp_path / "documents")
    named = judge(second.read_text(encoding="utf-8"), second.name)
    assert [row.seat.name for row in named.standings.rows] == [
        row.seat.name for row in ended.screen.standings.rows
    ]
    assert named.sound and not named.nameless
    assert named.chain == judge(first.read_text(encoding="utf-8"), first.name).chain
    assert second.name.endswith(" with names.heat.json")
    assert "with names" not in first.name
    assert second.name in ended.screen.note
    line = ended.screen.message(ended.app.stage.window.canvas)  # of the file that was written last
    assert line.startswith("Heat file, with names: ") and second.name in line
    again = HeatResult(ended.stage, ended.screen.live)  # the choice is kept
    assert again._names is True


@pytest.mark.parametrize("both", [False, True])
def test_a_folder_that_takes_no_file_loses_nothing(in_turn, tmp_path, both):
    (tmp_path / "documents").write_text("no folder", encoding="utf-8")
    if both:
        own = tmp_path / "data" / "stavewise"
        own.mkdir(parents=True, exist_ok=True)
        (own / "Stavewise").write_text("no folder either", encoding="utf-8")
    ready(in_turn)
    in_turn.answer_seat(1, "Piano")
    in_turn.sure(C)
    in_turn.sure(Q)
    assert isinstance(in_turn.screen, HeatResult)
    (kept,) = in_turn.stage.store.school.heats()
    assert kept.result["chain"] == in_turn.screen.live.chain
    if both:
        assert "cannot be written" in in_turn.screen.note
        assert "in the store" in in_turn.screen.note
        in_turn.click_on("export")
        assert "cannot be written" in in_turn.screen.note
    else:
        (path,) = heat_files(tmp_path / "data" / "stavewise")
        assert path.name in str(in_turn.screen._kept)


def test_a_disk_that_fills_up_leaves_no_half_file(in_turn, tmp_path, monkeypatch):
    if not Path("/dev/full").exists():
        pytest.skip("needs /dev/full")
    real = os.open

    def full(path, flags, *more, **words):
        file = real(path, flags, *more, **words)
        if flags & os.O_EXCL:  # the file is there, and what is written to it finds no room
            os.close(file)
            return real("/dev/full", os.O_WRONLY)
        return file

    monkeypatch.setattr(os, "open", full)
    ready(in_turn)
    in_turn.answer_seat(1, "Piano")
    in_turn.sure(C)
    in_turn.sure(Q)
    monkeypatch.undo()
    assert "No space left" in in_turn.screen.note
    assert list(tmp_path.rglob("*.heat.json")) == []


# What the class sees


@pytest.fixture
def played(teacher):
    """Five readers, all with their own number of right answers: 1 to 5."""

    def play(shows: Shows) -> Teacher:
        labels = [f"K{n}" for n in range(1, 6)]
        teacher.plug(*labels)
        teacher.new_class("3b", "Mia", "Ben", "Ada", "Tom", "Zoë")
        teacher.begin(PlayMode.TOGETHER, prompts=6, shows=shows)
        for label in labels:
            teacher.press(label, 60)
        teacher.click_on("begin")
        teacher.start()
        for number, label in enumerate(labels, 1):
            for answer in range(6):
                if answer >= number:
                    teacher.clock += 0.5
                    key = next(iter(teacher.round(number).expected))
                    teacher.press(label, key + 1)
                teacher.answer_seat(number, label)
        return teacher

    return play


def test_the_usual_view_shames_nobody(played):
    teacher = played(Shows.PODIUM)
    seen = words(teacher)
    assert "1. Zoë" in seen and "2. Tom" in seen and "3. Ada" in seen and "Class total" in seen
    assert "Mia" not in seen and "Ben" not in seen
    assert teacher.screen.board.marks.keys() == {3, 4, 5}
    teacher.type(pygame.K_SPACE)
    assert not {"Mia", "Ben"} & set(teacher.labels())
    for key in (60, 62, 60):  # nor do the class's own keys show them
        teacher.wait(2)
        teacher.press("K1", key)
    assert isinstance(teacher.screen, HeatResult) and teacher.screen.focus == "done"
    assert not {"Mia", "Ben"} & set(teacher.labels())
    teacher.click_on("all")  # only when the teacher asks for it
    assert {"Mia", "Ben"} <= set(teacher.labels())
    teacher.click_on("all")
    assert not {"Mia", "Ben"} & set(teacher.labels())


def test_everybodys_place_is_everybodys(played):
    seen = words(played(Shows.ALL))
    assert all(part in seen for part in ("1. Zoë", "2. Tom", "3. Ada", "4. Ben", "5. Mia"))


def test_the_class_against_its_own_best_names_nobody(played):
    teacher = played(Shows.CLASS)
    assert teacher.screen.board.marks == {}
    assert not any(name in words(teacher) for name in ("Mia", "Ben", "Ada", "Tom", "Zoë"))
    mean = standings_of(teacher.heat).mean
    teacher.type(pygame.K_SPACE)
    teacher.click_on("done")
    teacher.click_on("start")
    teacher.click_on("on")
    assert teacher.screen._manners.best == pytest.approx(mean)


def test_right_and_wrong_differ_in_shape_and_place():
    def marks(verdict) -> set[tuple[int, int]]:
        surface = pygame.Surface((90, 60))
        draw_verdict(surface, surface.get_rect(), verdict)
        where = range(90), range(60)
        return {
            (x, y) for x in where[0] for y in where[1] if surface.get_at((x, y))[:3] != (0, 0, 0)
        }

    right, wrong = marks(Verdict.RIGHT), marks(Verdict.WRONG)
    assert right and wrong
    middle = [sum(x for x, _ in one) / len(one) for one in (right, wrong)]
    assert middle[0] - middle[1] > 15
    left = min(x for x, _ in right) - min(x for x, _ in wrong)
    assert {(x - left, y) for x, y in right} != wrong  # not one shape in two colours
    assert marks(None) == set()


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("seats", [2, 8, 12])
def test_no_letter_is_too_small_and_every_staff_lies_in_its_tile(teacher, seats, monkeypatch):
    labels = [f"K{n}" for n in range(1, seats + 1)]
    teacher.plug(*labels)
    teacher.new_class("3b", *[f"Somebody {n}" for n in range(1, seats + 1)])
    teacher.begin(PlayMode.TOGETHER, prompts=6)
    for label in labels:
        teacher.press(label, 60)
    teacher.click_on("begin")
    teacher.start()
    teacher.answer_seat(1, "K1", off=1)
    least = teacher.stage.window.canvas.px(LEAST_TEXT)
    assert least >= round(0.72 * 36)
    sizes = []
    real = theme.text_surface

    def watched(text, face, size, colour):
        sizes.append((size, text))
        return real(text, face, size, colour)

    monkeypatch.setattr(theme, "text_surface", watched)
    teacher.screen._tiles.clear()
    teacher.look()
    foot = {control.label for control in teacher.screen.controls} | {"‹ Somebody 1 ›"}
    assert [text for size, text in sizes if size < least and text not in foot] == []
    window = teacher.stage.window.canvas.surface.get_rect()
    rects = list(teacher.screen._places.values())
    assert all(window.contains(rect) for rect in rects)
    assert not any(a.colliderect(b) for a in rects for b in rects if a is not b)
    for number, room in teacher.screen.rooms.items():
        staff = teacher.screen.staves[number]
        picture = staff._picture(staff._index, staff.prompt, *room)
        assert picture.get_width() <= room[0] and picture.get_height() <= room[1]


def test_only_what_changed_is_drawn_anew(together):
    together.start()
    tiles = together.screen._tiles
    before = {number: tile.drawn for number, tile in tiles.items()}
    together.answer_seat(1, "One")
    assert tiles[1].drawn > before[1]
    # The other's place may have come or gone; its staff has not.
    assert tiles[2].drawn <= before[2] + 1


def test_what_comes_next_is_engraved_before_it_is_wanted(together, monkeypatch):
    together.start()
    for _ in range(4):
        together.settle()
    import game.screens.school.seat_staff as module

    drawn = []
    real = module.render
    monkeypatch.setattr(module, "render", lambda *a, **k: drawn.append(1) or real(*a, **k))
    together.clock += 0.5
    together.press("One", *together.round(1).expected)
    together.clock += 0.3
    together.screen.tick(together.clock)
    together.screen.draw(together.app.stage.window.canvas)
    assert drawn == []  # the next prompt was there already


def test_phrases_in_time_are_played_together(teacher):
    rung = next(r for r in teacher.stage.levels.ladder.rungs if r.level.time is not None)
    teacher.plug("One", "Two")
    teacher.new_class("3b", "Mia", "Ben")
    teacher.click_on("start")
    teacher.screen.choose_level(rung.level.id)
    teacher.screen._change(manner=PlayMode.TOGETHER, prompts=6)
    teacher.look()
    teacher.click_on("on")
    teacher.press("One", 60)
    teacher.press("Two", 60)
    teacher.click_on("begin")
    teacher.start()
    round = teacher.round(1)
    assert teacher.screen._face(1).beat is not None
    teacher.pass_time(round.pulse.length_s(round.prompts[0]) + 0.3)
    assert len(teacher.round(1).phrases) == 1
    teacher.pass_time(5)
    assert teacher.round(1).since == pytest.approx(teacher.round(2).since)


def test_who_shares_a_place_is_not_named_without_the_others(together, monkeypatch):
    together.start()
    together.play_out(1, "One")
    together.play_out(2, "Two")
    tied = [
        replace(row, place=place, seat=replace(row.seat, name=name))
        for row in standings_of(together.heat).rows[:1]
        for place, name in ((1, "A"), (2, "B"), (2, "C"), (2, "D"))
    ]
    assert podium(tied) == [(1, ["A"]), (2, ["B", "C", "D"])]
    whole = replace(standings_of(together.heat), rows=tuple(tied))
    monkeypatch.setattr("game.screens.school.heat_board.standings_of", lambda _heat: whole)
    said = " ".join(board(together.heat, together.live.manners).parts)
    assert "1. A" in said and "3 share place 2" in said
    assert not any(f"2. {name}" in said for name in "BCD")


def test_what_is_not_printed_is_asked_for(teacher):
    rung = next(r for r in teacher.stage.levels.ladder.rungs if r.level.show.texture == "signature")
    teacher.plug("One", "Two")
    teacher.new_class("3b", "Mia", "Ben")
    teacher.click_on("start")
    teacher.screen.choose_level(rung.level.id)
    teacher.screen._change(manner=PlayMode.TOGETHER, prompts=6)
    teacher.look()
    teacher.click_on("on")
    teacher.press("One", 60)
    teacher.press("Two", 60)
    teacher.click_on("begin")
    assert teacher.screen._face(1).question == ""
    teacher.start()
    assert teacher.screen._face(1).question.endswith("?")


@pytest.mark.parametrize("level", ["grand-staff", "signs-hold", "phrases-keys"])
def test_the_staff_of_a_tile_does_not_move_between_prompts(teacher, level):
    teacher.plug("One", "Two")
    teacher.new_class("3b", "Mia", "Ben")
    teacher.click_on("start")
    teacher.screen.choose_level(level)
    teacher.screen._change(manner=PlayMode.TOGETHER, prompts=6)
    teacher.look()
    teacher.click_on("on")
    teacher.press("One", 60)
    teacher.press("Two", 60)
    teacher.click_on("begin")
    room = next(iter(teacher.screen.rooms.values()))
    staff = teacher.screen.staves[1]
    spaces = {staff.space(prompt, *room) for prompt in teacher.heat.chair(1).form}
    assert len(spaces) == 1


@pytest.mark.parametrize("level", ["middle-c-both", "grand-staff", "signs-hold"])
@pytest.mark.parametrize("tile", [(140, 120), (300, 210), (1200, 800)])
def test_what_was_played_stays_in_its_tile(teacher, level, tile):
    rung = teacher.stage.levels.ladder.find(level)
    begun = Terms.counted(rung.level, rung.text, 5, 8, FULL_COMPASS).begin()
    form = begun.prompts
    staff = SeatStaff(teacher.stage.engraver, Chair(Seat(1), form, begun))
    for prompt in form:
        staff.show(prompt)
        for key in range(21, 109):
            note = nearest_note(prompt.notes, key)
            staff.wrong(note, spelled(prompt, note, key))
            picture = staff._laid_over(*tile)
            ink, whole = picture.get_bounding_rect(), picture.get_rect()
            assert whole.top < ink.top and ink.bottom < whole.bottom, (note.pitch, key)


# On paper


def with_names(name: str) -> str:
    return name.replace(".", " with names.")


def test_the_pages_of_a_heat_are_written(in_turn, tmp_path):
    for number in (1, 2, 3):
        ready(in_turn)
        in_turn.answer_seat(number, "Piano", off=1)
        in_turn.play_out(number, "Piano")
        in_turn.pass_time(1)
    in_turn.type(pygame.K_SPACE)
    in_turn.click_on("page")
    assert in_turn.screen.good, in_turn.screen.note
    (folder,) = folders(tmp_path / "documents" / "Stavewise")
    pages = {RESULT, RESULT_PDF, SLIPS, TABLE}
    assert {path.name for path in folder.iterdir()} == {*map(with_names, pages)}
    assert "3b" in (folder / with_names(RESULT)).read_text(encoding="utf-8")
    (file,) = heat_files(tmp_path / "documents")
    bare = file.name.removesuffix(".heat.json")  # so they lie side by side
    assert folder.name == f"{bare} with names"
    assert in_turn.screen.note.endswith(str(folder))
    assert (folder / with_names(SLIPS)).read_bytes().startswith(b"%PDF")
    in_turn.click_on("page")  # a second time nothing is written over
    assert len(folders(folder.parent)) == 2


def test_the_page_for_the_class_shames_nobody_either(played, tmp_path):
    teacher = played(Shows.PODIUM)
    teacher.type(pygame.K_SPACE)
    teacher.click_on("page")
    (folder,) = folders(tmp_path / "documents" / "Stavewise")
    page = (folder / with_names(RESULT)).read_text(encoding="utf-8")
    assert "Zoë" in page and "Mia" not in page


def test_the_heat_before_is_found_for_the_change(in_turn):
    def heat(turn) -> None:
        for number in (1, 2, 3):
            ready(turn)
            turn.play_out(number, "Piano")
            turn.pass_time(1)
        turn.type(pygame.K_SPACE)

    heat(in_turn)
    first = in_turn.screen.live
    assert heat_before(first) is None
    in_turn.click_on("done")
    in_turn.click_on("start")
    in_turn.click_on("on")
    heat(in_turn)
    before = heat_before(in_turn.screen.live)
    assert standings_of(before).to_json() == standings_of(first.heat).to_json()


def test_a_latecomer_who_plays_no_key_is_let_go(together):
    together.start()
    together.type(pygame.K_PLUS, pygame.K_RETURN)
    assert "play any key" in words(together)
    together.type(pygame.K_ESCAPE)
    assert together.heat.paused is None  # that was not about the clock
    together.plug("Three")
    together.press("Three", 60)
    assert len(together.heat.chairs) == 2


def test_every_keyboard_is_heard_at_a_heat_together_only(teacher, monkeypatch):
    heard = []
    monkeypatch.setattr(teacher.app.midi, "choose", heard.append)
    teacher.stage.settings.now = replace(teacher.stage.settings.now, keyboard="One")
    teacher.plug("One", "Two")
    teacher.new_class("3b", "Mia", "Ben")
    teacher.begin(PlayMode.TOGETHER, prompts=6)
    teacher.press("One", 60)
    teacher.press("Two", 60)
    teacher.click_on("begin")
    assert heard == [None]  # and nothing is closed between the two pages
    teacher.type(pygame.K_ESCAPE)
    assert heard == [None, "One"]


@pytest.mark.parametrize(("unsaved", "where"), [(0, "3 kept here"), (2, "2 in memory only")])
def test_a_heat_goes_on_while_the_store_cannot_be_written_and_says_so(
    together, monkeypatch, unsaved, where
):
    together.start()
    monkeypatch.setattr(type(together.app.stage.store), "pending", property(lambda _store: 3))
    monkeypatch.setattr(type(together.app.stage.store), "unsaved", property(lambda _store: unsaved))
    said = []
    real = theme.text_surface
    monkeypatch.setattr(
        theme, "text_surface", lambda text, *more: said.append(text) or real(text, *more)
    )
    together.answer_seat(1, "One")
    assert len(together.round(1).results) == 1
    assert f"Store away: {where}" in said
    assert "‹ Mia ›" in said  # whom the teacher's keys are about


def test_a_heat_that_another_window_went_on_with_is_not_written_over(together, tmp_path):
    together.start()
    together.answer_seat(1, "One")
    other = opened(tmp_path)
    target = heat_target(together.live.name)
    while not other.app.stage.store.life.signs([target]):
        time.sleep(0.01)
    try:
        other.click_on("classes")
        other.go_on()
        other.wait(HASTE_S)
        other.click_on("resume")  # "Sure? Take it over"
        other.type(pygame.K_SPACE)
        other.press("One", 30)
        kept = other.app.stage.store.school.heat(other.live.name).entries
        with pytest.raises(StoreError):  # the loop tells it and goes to the start page
            together.press("One", 31)
        together.app.stage.go.open_readers()
        assert other.app.stage.store.school.heat(other.live.name).entries == kept
    finally:
        other.app.stage.store.close()


def test_an_ended_heat_is_found_again_at_its_class(in_turn, tmp_path):
    for number in (1, 2, 3):
        ready(in_turn)
        in_turn.play_out(number, "Piano")
        in_turn.pass_time(1)
    in_turn.type(pygame.K_SPACE)
    first, chain = in_turn.screen.standings, in_turn.live.chain
    in_turn.click_on("done")
    assert isinstance(in_turn.screen, ClassPage)
    in_turn.click_on("past")
    (heat,) = (name for name in in_turn.ids() if name.startswith("heat-"))
    in_turn.click_on(heat)
    assert isinstance(in_turn.screen, HeatResult)
    assert (in_turn.screen.standings, in_turn.live.chain) == (first, chain)
    in_turn.click_on("export")
    in_turn.click_on("page")
    kept = {path.name for path in (tmp_path / "documents" / "Stavewise").rglob("*")}
    assert {*map(with_names, (RESULT, SLIPS, TABLE))} <= kept
    assert any(name.endswith(".heat.json") for name in kept)
    in_turn.type(pygame.K_ESCAPE)
    assert isinstance(in_turn.screen, PastHeats)
    in_turn.type(pygame.K_ESCAPE)
    assert isinstance(in_turn.screen, ClassPage)


def test_a_class_without_a_heat_says_so_and_a_damaged_one_is_told(teacher):
    from datetime import UTC, datetime

    teacher.new_class("3b", "Mia")
    teacher.click_on("past")
    assert teacher.ids() == ["back"]
    teacher.click_on("back")
    school = teacher.stage.store.school
    (one,) = school.classes()
    school.begin_heat("broken", {"level": 3}, datetime.now(UTC), one.id)
    school.finish_heat("broken", {})
    teacher.click_on("past")
    teacher.click_on("heat-broken")
    assert "cannot be shown" in teacher.screen.note


@pytest.mark.parametrize(("killed", "lost"), [(True, 5.5), (False, 0.1)])
def test_the_clock_is_not_turned_back_by_a_closed_window(teacher, tmp_path, killed, lost):
    teacher.plug("One")
    teacher.new_class("3b", "Mia")
    teacher.begin(PlayMode.TOGETHER, prompts=None, seconds=60)
    teacher.press("One", 60)
    teacher.click_on("begin")
    teacher.start()
    teacher.pass_time(23)  # and nobody presses anything
    left = teacher.heat.left(teacher.screen.heat_time)
    if not killed:
        teacher.screen.leave()  # as the closed window does
    again = reopened(tmp_path, teacher, "One")
    try:
        again.go_on()
        assert again.heat.paused is not None
        assert left - 0.1 <= again.heat.left(again.screen.heat_time) <= left + lost
    finally:
        again.app.stage.store.close()


@pytest.mark.parametrize("shared", [True, False])
def test_parts_of_a_keyboard_with_other_notes_are_told_before_and_after(teacher, shared):
    teacher.plug("Long", "Whole")
    teacher.new_class("3b", "Mia", "Ben")
    teacher.begin(PlayMode.TOGETHER, prompts=6, forms=Forms.SAME)
    teacher.press("Long" if shared else "Whole", 70)
    assert "different notes" not in teacher.screen.below_title
    if shared:
        teacher.share("Long", 64)
    else:
        teacher.press("Long", 70)
    assert ("different notes" in teacher.screen.below_title) is shared
    teacher.click_on("begin")
    teacher.start()
    labels = ("Long", "Long") if shared else ("Whole", "Long")
    for number, label in enumerate(labels, 1):
        teacher.play_out(number, label)
    teacher.type(pygame.K_SPACE)
    assert isinstance(teacher.screen, HeatResult)
    assert ("different notes" in teacher.screen.warning) is shared
