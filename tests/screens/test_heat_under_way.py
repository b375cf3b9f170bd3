# SPDX-License-Identifier: MIT
"""A heat under way: no try is lost unasked, and whose keyboard plays, or is out."""

from __future__ import annotations

import pygame
import pytest
from lines import words_of
from teacher import Teacher

from game.heats import HeatPhase, PlayMode
from game.heats.chain import judge
from game.rounds import Verdict
from game.screens.school.heat_result import HeatResult
from game.screens.school.heat_together import HeatTogether
from game.screens.school.heat_turns import REST_S, HeatTurns
from game.screens.school.seat_keys import SeatKeys
from game.store import School, StoreError
from game.ui.asked_twice import HASTE_S, LAPSE_S

SIZES = [(1280, 720), (1920, 1080), (1024, 600)]
N, R, X, C, Q = pygame.K_n, pygame.K_r, pygame.K_x, pygame.K_c, pygame.K_q
SPACE, ENTER, ESCAPE = pygame.K_SPACE, pygame.K_RETURN, pygame.K_ESCAPE


@pytest.fixture
def in_turn(teacher):
    """Three readers, six prompts each, on one keyboard."""
    teacher.plug("Piano")
    teacher.new_class("3b", "Zoë", "Łukasz", "Mia")
    teacher.begin(prompts=6)
    assert isinstance(teacher.screen, HeatTurns)
    return teacher


@pytest.fixture
def together(teacher):
    """Three readers with a keyboard each, six prompts."""
    return seated(teacher, 3, prompts=6)


def seated(teacher, count: int, **choices: object) -> Teacher:
    """So many readers at keyboards of their own, before the start."""
    labels = [f"K{number}" for number in range(1, count + 1)]
    teacher.plug(*labels)
    teacher.new_class("3b", *["Zoë", "Łukasz", "Mia", *map(str, labels[3:])][:count])
    teacher.begin(PlayMode.TOGETHER, **choices)
    for label in labels:
        teacher.press(label, 60)
    teacher.click_on("begin")
    assert isinstance(teacher.screen, HeatTogether)
    return teacher


def ready(teacher, label: str = "Piano") -> None:
    """The reader whose turn it is plays middle C, and is counted in."""
    teacher.wait(REST_S)
    teacher.press(label, 60)
    teacher.pass_time(3.2)
    assert teacher.heat.phase is HeatPhase.RUNNING


def words(teacher) -> str:
    """What stands beside the clock."""
    return " ".join(teacher.screen.said()[0])


# What is asked


def test_not_counted_in_a_try_is_asked_and_stays_with_the_reader_it_is_about(in_turn):
    ready(in_turn)
    in_turn.answer_seat(1, "Piano")
    in_turn.type(X)
    assert "Zoë not counted?" in words(in_turn)
    assert in_turn.heat.chair(1).playing and not in_turn.heat.chair(1).disqualified
    in_turn.wait(HASTE_S)
    in_turn.type(X)
    in_turn.pass_time(2 * HASTE_S)
    assert in_turn.heat.chair(1).disqualified and in_turn.heat.turn == 2
    page = words_of(in_turn)
    assert "Zoë: not counted" in page and "‹ Zoë ›" in page
    in_turn.type(X)  # the same key once more takes it back from the same reader
    assert not in_turn.heat.chair(1).disqualified and not in_turn.heat.chair(2).disqualified


def test_a_try_that_ends_while_it_is_asked_leaves_the_next_reader_alone(in_turn):
    ready(in_turn)
    while len(in_turn.round(1).results) < 5:
        in_turn.answer_seat(1, "Piano")
    in_turn.clock += 0.5
    in_turn.type(X)
    in_turn.press("Piano", *in_turn.round(1).expected)  # her last note
    in_turn.pass_time(0.6)
    assert in_turn.heat.turn == 2
    in_turn.type(X)
    assert in_turn.heat.chair(1).disqualified and not in_turn.heat.chair(2).disqualified


def test_who_stays_chosen_holds_no_turn_up_and_gives_way_to_the_next_who_plays(in_turn):
    ready(in_turn)
    in_turn.sure(X)
    in_turn.pass_time(2)
    in_turn.type(N)  # who is called is not here
    assert in_turn.heat.turn == 3
    ready(in_turn)
    in_turn.sure(X)
    in_turn.pass_time(2)
    assert (in_turn.screen.chosen, in_turn.heat.turn) == (3, 2)
    ready(in_turn)
    assert in_turn.screen.chosen == 2


def test_not_counted_is_done_at_once_where_no_run_ends_by_it(together):
    together.start()
    together.answer_seat(1, "K1")
    together.type(X)
    assert together.heat.chair(1).disqualified and together.heat.chair(1).playing
    together.wait(HASTE_S / 2)
    together.type(X)  # a double press is one
    assert together.heat.chair(1).disqualified
    together.wait(HASTE_S)
    together.type(X)
    assert not together.heat.chair(1).disqualified


def test_the_last_one_who_plays_is_asked_about(together):
    together.start()
    for number in (2, 3):
        together.play_out(number, f"K{number}")
    together.type(X)
    assert together.heat.phase is HeatPhase.RUNNING and "Zoë not counted?" in words(together)


def test_next_in_a_try_is_asked(in_turn):
    ready(in_turn)
    in_turn.type(N)
    assert in_turn.heat.turn == 1 and "End Zoë's run? N again" in words(in_turn)
    in_turn.wait(HASTE_S)
    in_turn.type(N)
    assert in_turn.heat.turn == 2
    in_turn.type(N)  # nobody plays: nothing to ask
    assert in_turn.heat.turn == 3


@pytest.mark.parametrize(("key", "control"), [(N, "N"), (R, "R"), (X, "X"), (C, "C"), (Q, "Q")])
def test_a_double_click_and_a_double_press_answer_nothing(in_turn, key, control):
    ready(in_turn)
    in_turn.answer_seat(1, "Piano")
    for again in (lambda: in_turn.type(key), lambda: in_turn.click_on(control)):
        again()
        in_turn.wait(HASTE_S / 2)
        again()
        assert in_turn.heat.turn == 1 and in_turn.heat.chair(1).playing
        assert in_turn.screen.said()[1]  # it is asked still
        in_turn.type(ESCAPE)
    assert in_turn.heat.paused is None


@pytest.mark.parametrize("key", [N, R, X, C, Q])
def test_a_question_lapses_and_the_name_is_there_again(in_turn, key):
    ready(in_turn)
    in_turn.type(key)
    asked = words(in_turn)
    assert asked in words_of(in_turn)
    assert in_turn.screen.wait(in_turn.clock) <= LAPSE_S  # the page is drawn again by itself
    in_turn.pass_time(LAPSE_S + 0.1)
    assert asked not in words_of(in_turn) and "Zoë" in words_of(in_turn)
    in_turn.type(key)
    assert in_turn.heat.chair(1).playing and in_turn.heat.turn == 1


def test_hands_that_play_on_do_not_count_the_next_reader_in(in_turn):
    ready(in_turn)
    in_turn.play_out(1, "Piano")
    in_turn.pass_time(1.0)
    for _ in range(12):  # a melody that goes on for six seconds, and begins with middle C
        in_turn.press("Piano", 60)
        in_turn.pass_time(0.5)
    assert in_turn.heat.turn == 2 and in_turn.heat.phase is HeatPhase.WAITING
    in_turn.pass_time(1.5)
    in_turn.press("Piano", 60)
    in_turn.pass_time(0.2)
    assert in_turn.heat.phase is HeatPhase.COUNT_IN


def test_any_other_key_than_the_same_again_leaves_a_heat_undiscarded(in_turn):
    ready(in_turn)
    in_turn.type(ESCAPE, ESCAPE)
    in_turn.click_on(next(name for name in in_turn.ids() if name.startswith("heat-")))
    in_turn.click_on("discard")
    in_turn.wait(HASTE_S)
    in_turn.type(pygame.K_z)
    in_turn.click_on("discard")
    assert in_turn.stage.store.school.open_heats() and "Sure? Discard it" in in_turn.labels()


def test_discard_under_a_double_click_is_only_asked(in_turn):
    ready(in_turn)
    in_turn.type(ESCAPE, ESCAPE)
    in_turn.click_on(next(name for name in in_turn.ids() if name.startswith("heat-")))
    school = in_turn.stage.store.school
    in_turn.click_on("discard")
    in_turn.wait(0.2)
    in_turn.click_on("discard")
    assert school.open_heats() and "Sure? Discard it" in in_turn.labels()
    in_turn.wait(HASTE_S)
    in_turn.click_on("discard")
    assert not school.open_heats()


# The results


def test_q_shows_the_results_also_when_all_have_played(together):
    together.start()
    for number in (1, 2, 3):
        together.play_out(number, f"K{number}")
    assert together.heat.done
    together.type(Q)
    assert isinstance(together.screen, HeatResult)


def test_q_is_asked_in_the_first_line_before_and_in_a_run(in_turn):
    in_turn.type(Q)
    assert "End the heat? Q again" in words(in_turn) and "3 have still to play" in words(in_turn)
    ready(in_turn)
    in_turn.answer_seat(1, "Piano")
    in_turn.type(Q)
    assert "End the heat, and this run? Q again" in words(in_turn)
    in_turn.wait(HASTE_S)
    in_turn.type(Q)
    assert isinstance(in_turn.screen, HeatResult)


@pytest.mark.parametrize("size", SIZES)
def test_a_paused_heat_shows_the_way_out(in_turn):
    ready(in_turn)
    in_turn.type(SPACE)
    assert {"Leave · Esc", "Results · Q", "Go on · Space"} <= set(in_turn.labels())
    in_turn.type(X)
    feet = [control.rect for control in in_turn.screen.controls]
    assert (
        min(rect.left for rect in feet) > in_turn.stage.window.canvas.width // 4
    )  # beside the name
    assert all(in_turn.stage.window.canvas.surface.get_rect().contains(rect) for rect in feet)
    in_turn.type(ESCAPE)
    in_turn.click_on("Esc")
    assert not in_turn.at_heat()


# Somebody late


def test_enter_once_too_often_starts_nothing(in_turn):
    in_turn.type(pygame.K_PLUS, ENTER, ENTER, ENTER)
    assert len(in_turn.heat.chairs) == 4
    in_turn.pass_time(1)
    assert in_turn.heat.phase is HeatPhase.WAITING


def test_the_typed_name_stands_in_what_is_asked_about_it(in_turn, monkeypatch):
    def away(*_how):
        raise StoreError("server", "it is away", "Wait.")

    monkeypatch.setattr(School, "import_members", away)
    in_turn.type(pygame.K_PLUS, pygame.K_TAB)
    in_turn.say("Eva")
    assert "Eva" in words(in_turn) and "out of reach" in words(in_turn)


# The keyboard, in turn


def test_pulled_in_a_pause_it_is_told_and_space_waits_for_it(in_turn):
    ready(in_turn)
    in_turn.type(SPACE)
    in_turn.pull("Piano")
    assert words(in_turn) == "The keyboard is out: Zoë (seat 1)" and in_turn.screen.said()[1]
    in_turn.type(SPACE)
    in_turn.click_on("Space")
    assert in_turn.heat.paused is not None and "is out" in words(in_turn)
    in_turn.plug("Piano")
    assert words(in_turn) == "The keyboard is back. Space goes on"
    in_turn.type(SPACE)
    assert in_turn.heat.paused is None


def test_pulled_in_a_run_space_does_not_go_on_without_it(in_turn):
    ready(in_turn)
    in_turn.pull("Piano")
    in_turn.type(SPACE)
    assert in_turn.heat.paused is not None and "is out" in words(in_turn)
    in_turn.plug("Other")
    in_turn.type(SPACE)
    in_turn.play_out(1, "Other")
    assert in_turn.round(1).score.right == 6


def test_before_a_turn_the_page_says_that_it_is_out_and_nobody_is_counted_in(in_turn):
    in_turn.pull("Piano")
    page = words_of(in_turn)
    assert "The keyboard is out" in page and not any("Play middle C" in line for line in page)
    assert words(in_turn) == "The keyboard is out: Zoë (seat 1)"
    in_turn.type(SPACE)
    a_key = pygame.event.Event(pygame.KEYDOWN, key=pygame.K_a, mod=0, unicode="a", scancode=4)
    in_turn.app.loop.from_window(a_key)  # the place of middle C
    in_turn.pass_time(1)
    assert in_turn.heat.phase is HeatPhase.WAITING
    in_turn.plug("Piano")
    assert any("Play middle C" in line for line in words_of(in_turn))
    ready(in_turn)


def test_played_on_the_computer_from_the_start_no_keyboard_is_missed(teacher):
    teacher.new_class("3b", "Zoë")
    teacher.begin(prompts=6)
    assert "out" not in words(teacher)
    teacher.start()
    teacher.type(SPACE, SPACE)
    assert teacher.heat.paused is None


def test_only_the_keyboard_that_said_ready_plays(in_turn, tmp_path):
    in_turn.plug("Other")
    ready(in_turn)
    key = next(iter(in_turn.round(1).expected))
    in_turn.press("Other", key + 1)
    in_turn.press("Other", key)
    assert not in_turn.round(1).presses and in_turn.heat.strays == 2
    in_turn.play_out(1, "Piano")
    assert in_turn.round(1).score.right == 6
    in_turn.pass_time(0.5)
    ready(in_turn, "Other")  # the next one sits there
    in_turn.press("Piano", 61)
    in_turn.play_out(2, "Other")
    assert in_turn.round(2).score.right == 6
    in_turn.sure(Q)
    (path,) = (tmp_path / "documents" / "Stavewise").glob("*.heat.json")
    assert judge(path.read_text(encoding="utf-8"), path.name).sound


def test_when_the_readers_own_is_gone_another_plays_until_it_is_back(in_turn):
    in_turn.plug("Other")
    ready(in_turn)
    in_turn.pull("Other")  # which is not hers
    assert in_turn.heat.paused is None
    in_turn.plug("Other")
    in_turn.pull("Piano")
    assert in_turn.heat.paused is not None and "Zoë" in words(in_turn)
    in_turn.type(SPACE)  # another is there
    in_turn.answer_seat(1, "Other")
    assert [one.verdict for one in in_turn.round(1).results] == [Verdict.RIGHT]
    in_turn.plug("Piano")
    in_turn.answer_seat(1, "Piano")
    in_turn.press("Other", 61)
    assert len(in_turn.round(1).results) == 2 and in_turn.heat.strays == 1


def test_who_is_started_by_the_teacher_plays_on_any(in_turn):
    in_turn.plug("Other")
    in_turn.start()
    in_turn.answer_seat(1, "Other")
    in_turn.answer_seat(1, "Piano")
    assert len(in_turn.round(1).results) == 2


def test_in_turn_too_it_is_seen_that_a_keyboard_is_shifted_by_octaves(in_turn):
    ready(in_turn)
    for _answer in range(3):
        in_turn.answer_seat(1, "Piano", off=-12)
        in_turn.answer_seat(1, "Piano")
    assert "Keyboard shifted by octaves? Zoë (seat 1)" in words_of(in_turn)


# The keyboards, together


def test_all_whose_keyboards_were_out_are_named_when_they_are_back(together):
    together.start()
    together.pull("K1")
    together.type(SPACE)  # the others go on
    together.pull("K3")
    together.plug("K1", "K3")
    assert words(together) == "Back: Zoë (seat 1), Mia (seat 3). Space goes on"
    together.pull("K2")
    together.plug("K2")
    assert words(together) == "Back: Zoë (seat 1), Mia (seat 3), Łukasz (seat 2). Space goes on"
    together.type(SPACE, SPACE)
    together.press("K1", 60)
    assert words(together) == "Paused"


def test_a_question_is_seen_while_a_keyboard_is_out(together):
    together.start()
    together.pull("K1")
    together.type(C)
    assert "C again" in words(together)


def test_before_the_start_it_is_told_how_many_are_ready_and_none_need_be(together):
    assert "0 of 3 ready" in words(together)
    together.press("K2", 60)
    assert "1 of 3 ready" in words(together)
    faces = [together.screen._face(number).words for number in (1, 2)]
    assert faces == ["Any key: ready", "Ready"]
    together.start()
    assert "ready" not in words(together)


@pytest.mark.parametrize("size", SIZES)
def test_the_number_in_a_tile_says_what_it_counts_and_costs_no_staff(teacher):
    seated(teacher, 12, prompts=0, seconds=60)
    teacher.start()
    rooms = dict(teacher.screen.rooms)
    teacher.answer_seat(1, "K1")
    teacher.screen._tiles.clear()  # so that all are drawn anew
    assert "1 read" in words_of(teacher, pictures=True)
    assert teacher.screen.rooms == rooms


# Keyboards to seats


def test_who_is_left_out_is_named_and_not_everybody_has_keys(teacher):
    teacher.plug("One")
    teacher.new_class("3b", "Zoë", "Łukasz")
    teacher.begin(PlayMode.TOGETHER, prompts=6)
    teacher.press("One", 60)
    teacher.click_on("out")
    assert isinstance(teacher.screen, SeatKeys)
    large, small = teacher.screen._call()
    assert large == "1 seat is left out" and "Łukasz" in small


def test_a_complaint_about_a_part_goes_with_the_sharing(teacher):
    teacher.plug("Long")
    teacher.new_class("3b", "Zoë", "Łukasz")
    teacher.begin(PlayMode.TOGETHER, prompts=6)
    teacher.press("Long", 40)
    teacher.share("Long", 0)
    assert teacher.screen.note
    teacher.type(ESCAPE)
    assert isinstance(teacher.screen, SeatKeys) and not teacher.screen.note


def test_a_computer_that_falls_asleep_stops_the_clock_of_all(together):
    together.type(pygame.K_SPACE)
    together.pass_time(4.0)
    assert together.heat.phase is HeatPhase.RUNNING
    asleep_at = together.clock
    together.clock += 3600
    together.app.loop._slept(asleep_at)
    heat = together.screen.live.heat
    assert heat.paused == pytest.approx(together.screen.live.time(asleep_at))
    assert all(chair.round is None or chair.round.ended is None for chair in heat.chairs)
