# SPDX-License-Identifier: MIT
"""Much to judge: no press costs more for what came before it; a terminal is told how far it is."""

from __future__ import annotations

import io
import json
import sys
import tracemalloc
from types import SimpleNamespace

import command_line
import pytest
from builders import prompts_of
from heat_builders import after, setup_of

from game.cli import main, watched
from game.heats import SeatFlip, SeatPress, Start, begin
from game.heats.chain import heat_file
from game.keyboards import write_presses
from game.rounds import Flip, Press, Round, step
from game.rounds.played import events_of, judged


@pytest.mark.parametrize("slot", ["C4", "C4 E4"])
@pytest.mark.parametrize("each", [62, 60])
def test_a_press_costs_the_same_however_many_came_before_it_in_its_slot(slot, each, alone):
    """Twice as many rounds, one after each press, take twice the room and not four times."""

    def room(presses: int) -> int:
        tracemalloc.start()
        now, rounds = step(Round(prompts_of(slot, "D4"), 4.0), Flip(0)).round, []
        for number in range(presses):
            now = step(now, Press(1 + number, each if len(slot) > 2 else 62)).round
            rounds.append(now)
        size, _peak = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        assert len(rounds[-1].presses) == presses
        return size

    assert room(2000) < 2.5 * room(1000)


def test_all_presses_of_a_slot_are_kept_in_their_order():
    presses = [Press(1 + 0.1 * number, 62 + number % 2) for number in range(3000)]
    start = Round(prompts_of("C4", "D4"), 4.0)
    (result,) = judged(start, presses).results
    assert [press.key for press in result.presses] == [press.key for press in presses]
    assert judged(start, presses) == after_all(start, presses)


def after_all(start: Round, presses: list[Press]) -> Round:
    for event in events_of(start, presses):
        start = step(start, event).round
    return start


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture
def slow(monkeypatch):
    """A machine on which every look at the clock finds a second gone."""
    clock = SimpleNamespace(now=0.0)

    def tick() -> float:
        clock.now += 1.0
        return clock.now

    monkeypatch.setattr(watched, "monotonic", tick)


def test_a_terminal_is_told_how_far_it_is_and_the_line_is_wiped_away(slow, monkeypatch):
    monkeypatch.setattr(sys, "stderr", Terminal())
    assert [*watched.watched(range(1000), "judging me.mid")] == [*range(1000)]
    said = sys.stderr.getvalue()
    assert "\rjudging me.mid: 20 % …" in said and "90 %" in said
    assert said.endswith("\r") and said.split("\r")[-2].strip() == ""


def test_nobody_is_told_within_two_seconds(monkeypatch):
    monkeypatch.setattr(watched, "monotonic", lambda: 0.0)
    monkeypatch.setattr(sys, "stderr", Terminal())
    assert len([*watched.watched(range(1000), "judging")]) == 1000
    assert sys.stderr.getvalue() == ""


@pytest.fixture
def judges(monkeypatch, tmp_path, slow, capsys):
    """Run a command on a slow machine: what it wrote to standard error, there a terminal or not."""
    monkeypatch.setattr(watched, "_AT_ONCE", 1)

    def run(*argv: object, terminal: bool) -> tuple[str, str]:
        with monkeypatch.context() as patch:
            err = Terminal() if terminal else io.StringIO()
            patch.setattr(sys, "stderr", err)
            assert main([*map(str, argv), "--json"]) == 0
        return err.getvalue(), capsys.readouterr().out

    return run


def test_judging_a_file_or_a_heat_says_how_far_it_is_and_prints_no_other_answer(judges, tmp_path):
    level = command_line.level_file(tmp_path)
    write_presses(tmp_path / "me.mid", [Press(1.0 + number, 20 + number) for number in range(9)])
    setup = setup_of(1, prompts=2)
    events = [Start(0.0), SeatFlip(0.5, 1), *(SeatPress(1.0 + n, 1, 20) for n in range(9))]
    made = heat_file(setup, events, program="test", heat=after(begin(setup), *events))
    (tmp_path / "heat.json").write_text(json.dumps(made), encoding="utf-8")
    for argv in (
        ("judge", level, "--seed", 7, "--count", 3, "--played", tmp_path / "me.mid"),
        ("judge", "--heat", tmp_path / "heat.json"),
    ):
        told, answer = judges(*argv, terminal=True)
        assert "judging" in told and " % …" in told
        assert judges(*argv, terminal=False) == ("", answer)
