# SPDX-License-Identifier: MIT
"""The screens of what is more than notes: signatures, phrases in time, own levels, sheet music."""

from __future__ import annotations

from dataclasses import replace
from math import floor
from pathlib import Path

import pygame
import pytest
from builders import level_text
from piece_reading import made
from places import PIECES
from player import Player

from game.files.resources import own_levels_folder
from game.levels import deal
from game.pieces import piece_level
from game.rounds import Outcome
from game.screens.play.in_time import PlayInTime
from game.screens.play.play import Play, PlayPhase
from game.screens.play.result import Result
from game.screens.reader.contents import Contents
from game.screens.reader.piece import PieceOffer, keep_level

pytestmark = pytest.mark.reader("Tester", ladder=True)


def begin(player: Player, level_id: str) -> None:
    player.stage.go.open_ladder(level_id)
    player.look()
    player.type(pygame.K_RETURN)  # where the window is narrow the level takes the list's place
    player.click_on("counted")
    player.piano(60)


def perform(player: Player, late_s: float = 0.0, leave_out: int | None = None) -> None:
    """Play the phrase on the staff."""
    live = player.screen.live
    state, prompt = live.round, live.round.current
    zero = player.clock - live.time(player.clock)
    for number, slot in enumerate(prompt.slots):
        due = zero + state.since + state.pulse.lead_s(prompt) + slot.beat * state.pulse.quarter_s
        while player.clock + 0.25 < due + late_s:
            player.wait(0.25)
        player.clock = due + late_s
        if number != leave_out:
            player.piano(*sorted(slot.keys))
    while live.round.phrase_end is not None:
        player.wait(0.25)


def test_a_round_in_time_from_the_count_in_to_the_result(player):
    begin(player, "time-quarters")
    assert isinstance(player.screen, PlayInTime)
    live = player.screen.live
    for number in range(live.terms.prompts):
        perform(player, leave_out=1 if number == 2 else None)
        assert player.screen.phase is PlayPhase.SETTLING
        player.wait(5.0)
    assert isinstance(player.screen, Result)
    assert live.round.score.right == live.round.score.slots - 1
    assert [note.outcome for note in live.round.phrases[2].notes].count(Outcome.MISSED) == 1


def test_a_missed_note_is_said_and_the_phrase_waits_to_be_looked_at(player):
    begin(player, "time-quarters")
    perform(player, leave_out=0)
    assert "1 note missed" in player.screen.message
    player.wait(0.5)
    player.piano(60)  # a late key does not turn the page
    assert player.screen.phase is PlayPhase.SETTLING
    player.wait(1.0)
    player.piano(60)
    player.wait(0.01)
    assert player.screen.phase is PlayPhase.READING


@pytest.fixture
def beats(player, monkeypatch) -> list[list[tuple[float, bool]]]:
    """What was asked to be heard."""
    asked = []
    monkeypatch.setattr(player.stage.sounds, "beats", asked.append)
    return asked


def test_the_beat_is_heard_as_the_settings_say(player, beats):
    for setting, heard in (("always", 12), ("count-in only", 4), ("never", 0)):
        player.stage.settings.save(replace(player.stage.settings.now, beat=setting))
        begin(player, "time-quarters")
        live = player.screen.live
        start = player.clock - live.time(player.clock) + live.round.since
        asked = beats[-1] if heard else []
        assert [t for t, _ in asked] == pytest.approx([start + n for n in range(heard)])
        assert [first for _, first in asked] == [n % 4 == 0 for n in range(heard)]
        player.screen.pause()
        assert not heard or beats[-1] == []
        player.stage.go.open_ladder()


def test_after_a_pause_the_count_in_is_heard_again(player, beats):
    begin(player, "time-quarters")
    player.wait(6.3)
    player.screen.pause()
    player.wait(30.0)
    player.screen.resume()
    assert beats[-1][0] == (pytest.approx(player.clock), True)
    assert len(beats[-1]) == 12


def test_a_beat_that_passes_while_the_page_is_drawn_is_shown_at_once(player, monkeypatch):
    # A key just before each beat, and drawings of 30 ms: the loop is drawing when the beat comes.
    begin(player, "time-quarters")
    app, screen, drawn_s = player.app, player.screen, 0.03
    first = player.clock - screen.live.time(player.clock) + screen.live.round.since + 4.0
    shown: dict[int, float] = {}
    draw = screen.draw

    def slowly(canvas):
        shown.setdefault(floor(screen._beat_at(player.clock)), player.clock)
        draw(canvas)
        player.clock += drawn_s
        app.go.running = player.clock < first + 3.5

    def wait(milliseconds):
        key = floor(player.clock - first + 0.011) + 1 + first - 0.01  # 10 ms before the next beat
        player.clock = min(player.clock + milliseconds / 1000, key)
        return pygame.event.Event(pygame.USEREVENT)

    monkeypatch.setattr(screen, "draw", slowly)
    monkeypatch.setattr(pygame.event, "wait", wait)
    app.loop.run()
    for beat in range(-3, 4):
        assert shown[beat] - (first + beat) <= drawn_s


def test_a_pause_begins_the_phrase_again(player):
    begin(player, "time-quarters")
    player.wait(2.0)
    player.screen.pause()
    player.wait(30.0)
    player.screen.resume()
    player.look()
    perform(player)
    assert all(result.right for result in player.screen.live.round.results)


def test_a_slower_tempo_is_chosen_on_the_ladder(player):
    player.stage.go.open_ladder("time-quarters")
    player.look()
    tempo = next(item for item in player.screen.controls if item.id == "tempo")
    tempo.adjust(-1)
    player.look()
    player.click_on("counted")
    assert player.screen.live.terms.tempo == 56.0
    assert player.screen.live.round.pulse.tempo == 56.0


def test_a_signature_is_named_in_any_octave_and_nothing_is_given_away(player):
    begin(player, "naming-three")
    key = player.right_keys()[0]
    player.piano(key + 2)
    assert player.screen.message
    assert not player.screen._view._marks  # a mark would show what is asked for
    player.piano(key - 24)
    assert player.screen.live.round.results[0].completed
    assert player.screen.question


@pytest.mark.parametrize("level_id", ["naming-three", "naming-keys"])
def test_only_what_comes_after_something_is_asked_for_with_now(player, level_id):
    begin(player, level_id)
    player.piano(60)
    for _ in range(12):
        place = player.screen.live.round.slot
        what = player.screen.live.round.current.slots[place].asks
        assert ("Now" in player.screen.question) == (place > 0 and what != "altered")
        assert what.removesuffix(" tonic") in player.screen.question or what == "altered"
        player.answer()


def test_a_level_dropped_into_the_folder_is_in_the_ladder_at_once(player, tmp_path):
    own = tmp_path / "own"
    (own / "mine.toml").write_text(level_text(id='"mine"', stage='"For Monday"'))
    player.wait(1.1)
    assert "mine" in {rung.level.id for rung in player.stage.levels.ladder.stages["For Monday"]}
    player.stage.go.open_ladder("mine")
    player.look()
    player.click_on("counted")
    assert player.screen.live.level.id == "mine"


def test_a_level_that_breaks_while_the_ladder_is_open_is_said_there(player, tmp_path):
    own = tmp_path / "own"
    (own / "mine.toml").write_text("format = 1")
    player.wait(1.1)
    assert "levels check" in player.screen._fault_line()


def drop(player: Player, path: Path) -> None:
    player.app.loop.from_window(pygame.event.Event(pygame.DROPFILE, file=str(path)))
    player.look()


def test_sheet_music_dropped_on_the_window_becomes_a_level(player):
    drop(player, PIECES / "ties.musicxml")
    assert isinstance(player.screen, PieceOffer)
    player.click_on("bars")
    assert isinstance(player.screen, Contents)
    level = player.screen._rung.level
    assert level.stage == "Pieces"
    player.click_on("counted")
    assert isinstance(player.screen, Play)
    assert (
        player.screen.live.round.prompts
        == deal(level, player.screen.live.terms.seed, 99)[: player.screen.live.terms.prompts]
    )


def test_sheet_music_is_chosen_on_the_ladder_by_its_path(player):
    player.click_on("music")
    player.click_on("path")
    for words in (str(PIECES / "nowhere.mei"), str(PIECES / "ties.musicxml")):
        for _ in range(99):
            player.type(pygame.K_BACKSPACE)
        player.app.loop.from_window(pygame.event.Event(pygame.TEXTINPUT, text=words))
        player.type(pygame.K_RETURN)
        assert ("no such file" in getattr(player.screen, "note", "")) == ("nowhere" in words)
    assert isinstance(player.screen, PieceOffer)
    player.click_on("bars")
    assert isinstance(player.screen, Contents)


def test_the_same_piece_twice_is_one_level(player, tmp_path):
    for _ in range(2):
        drop(player, PIECES / "ties.musicxml")
        player.click_on("bars")
    drop(player, PIECES / "ties.musicxml")
    player.click_on("notes")
    assert len(list((tmp_path / "own").glob("*.toml"))) == 2


def test_a_broken_file_says_where_and_leaves_the_game_as_it_was(player):
    drop(player, PIECES / "torn.musicxml")
    assert "line" in player.screen._trouble
    player.type(pygame.K_ESCAPE)
    assert isinstance(player.screen, Contents)


def test_a_folder_that_cannot_be_written_is_said(player, tmp_path, monkeypatch):
    (tmp_path / "a file").write_text("")
    monkeypatch.setenv("STAVEWISE_LEVELS", str(tmp_path / "a file" / "own"))
    drop(player, PIECES / "ties.musicxml")
    player.click_on("bars")
    assert isinstance(player.screen, PieceOffer)
    assert "cannot be written" in player.screen._trouble


@pytest.mark.parametrize(
    "level_id", ["naming-flats", "signs-tied", "chords-sevenths", "phrases-keys", "time-together"]
)
@pytest.mark.parametrize("size", [(1280, 720), (1920, 1080), (1024, 600), (640, 480)])
def test_every_kind_of_prompt_is_drawn_at_every_size(player, level_id, size):
    player.stage.window.canvas = type(player.stage.window.canvas)(pygame.Surface(size))
    begin(player, level_id)
    view = player.screen._view
    wide = view._engraver.frame(view.prompt, view._space(player.stage.window.canvas)).size[0]
    assert wide <= size[0]


def read_through(player: Player) -> None:
    """Read the round under way to its end, every note at once."""
    player.piano(60)
    while isinstance(player.screen, Play):
        player.answer()
    assert isinstance(player.screen, Result)


def labels(player: Player) -> list[str]:
    return [control.label for control in player.screen.controls]


@pytest.mark.parametrize("kind", ["bars", "hardest"])
def test_ones_own_piece_has_the_same_bars_and_passes_at_its_first_reading_only(player, kind):
    level_id = keep_level(piece_level(made("C4 D4", "E4 F4", "G4 A4"), kind), own_levels_folder())
    player.stage.levels.look_again()
    player.stage.go.open_ladder(level_id)
    player.look()
    player.click_on("counted")
    read_through(player)
    assert player.screen._passed
    assert "Again, same bars" in labels(player)
    assert not {"Again, new notes", "Again, same notes"} & {*labels(player)}
    for way in ("again", "ladder"):
        if way == "again":
            player.click_on("new")
        else:
            player.stage.go.open_ladder(level_id)
            player.look()
            player.click_on("counted")
        read_through(player)
        assert not player.screen._passed
        assert "read these bars before" in player.screen._verdict()
    assert player.stage.store.pass_days(player.stage.sitting.reader.id) == {level_id: 1}


def test_a_piece_that_was_opened_and_left_unread_is_still_new(player):
    level_id = keep_level(piece_level(made("C4 D4", "E4 F4"), "bars"), own_levels_folder())
    player.stage.levels.look_again()
    for _ in range(2):
        player.stage.go.open_ladder(level_id)
        player.look()
        player.click_on("counted")
        assert not player.screen.live.terms.known
        player.type(pygame.K_ESCAPE)


def test_a_pool_of_bars_that_is_larger_than_a_round_has_new_notes(player):
    bars = [f"{letter}{octave} C5" for letter in "CDEFG" for octave in (3, 4)]
    text = piece_level(made(*bars), "hardest", bars=10).replace("prompts = 20", "prompts = 4")
    level_id = keep_level(text, own_levels_folder())
    player.stage.levels.look_again()
    player.stage.go.open_ladder(level_id)
    player.look()
    player.click_on("counted")
    read_through(player)
    assert "Again, new notes" in labels(player)
    player.click_on("new")
    assert not player.screen.live.terms.known
