# SPDX-License-Identifier: MIT
"""Tempi are pictures of a note, dotted in compound time; rounds go by the number commands know."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builders import shipped

from game.cli import main
from game.levels import tempo_mark
from game.paper.describe import describe
from game.rounds import Terms
from game.screens.play.replay import ReplayScreen
from game.screens.play.result import Result
from game.screens.reader.history import HistoryPage
from game.ui import theme

pytestmark = pytest.mark.reader("Anna")


LEVELS = {rung.level.id: rung for rung in shipped().rungs}


@pytest.mark.parametrize(
    ("quarters", "metre", "mark"),
    [
        (60, "4/4", "♩ = 60"),
        (66.5, "2/4", "♩ = 66.5"),
        (72, "6/8", "♩. = 48"),
        (72, "3/8", "♩. = 48"),
        (100, "6/8", "♩. = 66.7"),
    ],
)
def test_a_tempo_counts_the_beats_of_its_metre(quarters, metre, mark):
    assert tempo_mark(quarters, metre) == mark


def test_compound_time_is_dotted_on_the_ladder_in_the_round_and_on_paper(player, said):
    player.stage.go.open_ladder("time-six")
    player.look()
    row = next(item for item in player.screen.controls if item.id == "tempo")
    assert row.value == "♩. = 48"
    row.adjust(1)
    player.look()
    assert next(c.value for c in player.screen.controls if c.id == "tempo") == "♩. = 52"
    player.click_on("counted")
    assert player.screen.live.terms.tempo == 78  # level files and records stay in quarters
    assert any("♩. = 52" in line for line in said)
    assert "♩. = 48" in dict(describe(LEVELS["time-six"].level))["To read"]
    assert "♩ = 60" in dict(describe(LEVELS["time-quarters"].level))["To read"]


def test_the_note_and_its_dot_are_drawn():
    def width(text: str) -> int:
        surface = theme.text_surface(text, "text", 60, theme.INK)
        return surface.get_bounding_rect().width

    assert theme.says("♩. = 48")
    note, dotted = width("♩"), width("♩.")
    assert 0 < note < dotted
    full_stop = theme.text_surface(".", "text", 60, theme.INK).get_bounding_rect()
    dot = theme.text_surface("♩.", "text", 60, theme.INK)
    right = dot.subsurface((note + 3, 0, dot.get_width() - note - 3, dot.get_height()))
    assert right.get_bounding_rect().bottom < full_stop.bottom  # beside the head, not under it


def test_a_round_goes_by_its_number_in_history_replay_and_the_command(player, said, capsys):
    rung = LEVELS["time-six"]
    for tempo in (None, 78.0):
        terms = Terms.counted(rung.level, rung.text, 3, 1, player.stage.piano.compass)
        player.stage.rounds.begin(replace(terms, tempo=tempo))
        player.look()
        player.piano(60)
        while not isinstance(player.screen, Result):
            player.wait(0.5)
    last = player.screen._live.record_id
    player.click_on("replay")
    assert isinstance(player.screen, ReplayScreen)
    assert f"Anna · round {last}" in said
    player.stage.go.open_history("time-six")
    assert isinstance(player.screen, HistoryPage)
    player.look()
    player.click_on("tab-rounds")
    rows = {c.id: c.label for c in player.screen.controls if c.id.startswith("round-")}
    assert rows[f"round-{last}"].startswith(f"{last} · ")
    assert "♩. = 52" in rows[f"round-{last}"]
    player.click_on(f"round-{last}")
    assert any(line.startswith(f"Anna · round {last} · ") for line in said)
    assert "Six-eight time · ♩. = 52" in said
    player.stage.store.close()
    assert main(["history", "Anna"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert any(line.startswith(f"{last} ") and "♩. = 52" in line for line in lines)
