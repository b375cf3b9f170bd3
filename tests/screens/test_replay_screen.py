# SPDX-License-Identifier: MIT
"""Replays, guests and histories on screen, worked as a person would."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pygame
import pytest
from robot_rounds import keep, robot_record, robot_terms

from game.screens.play.play import Play
from game.screens.play.replay import SPEEDS, ReplayScreen
from game.screens.play.result import Result
from game.screens.reader.contents import Contents
from game.screens.reader.guest import GuestPage
from game.screens.reader.history import HistoryPage
from game.screens.reader.readers import Readers
from game.session.records import guests, record_text

pytestmark = pytest.mark.reader("Anna")


LEVEL = "landmarks-upper"
SIZES = [(1280, 720), (1920, 1080), (1024, 600)]


def watch(player, level_id=LEVEL, **terms) -> ReplayScreen:
    shared = robot_record(robot_terms(level_id, **terms), pause_at=2)
    player.stage.go.open_replay(shared, "Anna")
    player.look()
    return player.screen


def shown(player) -> bytes:
    player.look()
    return pygame.image.tobytes(player.stage.window.canvas.surface, "RGB")


# Replay


def test_it_plays_by_itself_to_the_end_and_again(player):
    screen = watch(player, prompts=3)
    assert screen.playing
    player.wait(1.0)
    assert screen.at == pytest.approx(1.0)
    for _ in range(40):
        player.wait(1.0)
    assert not screen.playing and screen.at == screen._replay.length
    player.type(pygame.K_SPACE)
    assert screen.playing and screen.at == 0


@pytest.mark.parametrize("speed", SPEEDS)
def test_it_plays_at_its_speed(player, speed):
    screen = watch(player)
    while screen.speed != speed:
        player.type(pygame.K_UP if screen.speed < speed else pygame.K_DOWN)
    player.wait(0.5)
    assert screen.at == pytest.approx(0.5 * speed)


def test_speeds_end_with_the_keys_and_go_round_with_the_button(player):
    screen = watch(player)
    player.type(*[pygame.K_UP] * 9)
    assert screen.speed == 4
    player.click_on("speed")
    assert screen.speed == 0.5


def test_space_pauses_and_time_stands(player):
    screen = watch(player)
    player.wait(1.0)
    player.type(pygame.K_SPACE)
    player.wait(5.0)
    assert screen.at == pytest.approx(1.0)
    assert screen.wait(player.clock) is None
    player.type(pygame.K_SPACE)
    player.wait(0.25)
    assert screen.at == pytest.approx(1.25)


def test_arrows_go_by_prompt(player):
    screen = watch(player)
    starts = screen._replay.starts
    player.type(pygame.K_SPACE, pygame.K_RIGHT, pygame.K_RIGHT)
    assert screen.at == starts[2]
    assert screen._view.prompt is screen._replay.start.prompts[2]
    player.type(pygame.K_LEFT)
    assert screen.at == starts[1]
    player.type(pygame.K_HOME)
    assert screen.at == 0
    player.type(pygame.K_END)
    assert screen.at == screen._replay.length


def test_the_next_mistake_stops_with_what_was_played_in_view(player):
    screen = watch(player, prompts=24)
    mistakes = screen._replay.mistakes
    assert len(mistakes) > 2
    player.click_on("mistake")
    assert screen.at == mistakes[0] and not screen.playing
    assert screen._message and screen._view.ghosts
    player.type(pygame.K_m)
    assert screen.at == mistakes[1]
    event = pygame.event.Event(
        pygame.KEYDOWN, key=pygame.K_m, mod=pygame.KMOD_SHIFT, unicode="M", scancode=0
    )
    player.app.loop.from_window(event)
    assert screen.at == mistakes[0]
    player.type(*[pygame.K_m] * len(mistakes))
    assert screen.at == mistakes[0]  # after the last comes the first


def test_the_line_of_time_can_be_clicked(player):
    screen = watch(player)
    player.type(pygame.K_SPACE)
    player.click(screen._bar.center)
    assert screen.at == pytest.approx(screen._replay.length / 2, rel=0.02)


def test_the_piano_shows_and_sounds_what_is_played(player, monkeypatch):
    heard = []
    monkeypatch.setattr(player.stage.sounds.player, "play", lambda key, velocity: heard.append(key))
    screen = watch(player, prompts=4)
    down = set()
    for _ in range(200):
        player.wait(0.1)
        down |= screen._piano.down
    pressed = {m.event.key for m in screen._replay.moments if m.judged is not None}
    assert down == pressed == {*heard}


def test_it_is_silent_where_sound_is_off(player, monkeypatch):
    monkeypatch.setattr(
        player.stage.sounds.player, "play", lambda key, velocity: pytest.fail("sound")
    )
    player.stage.settings.now = replace(player.stage.settings.now, sound="never")
    watch(player)
    for _ in range(40):
        player.wait(0.5)


def test_the_piano_alone_works_it(player):
    screen = watch(player)
    player.piano(60)  # yes: the pause
    assert not screen.playing
    player.piano(62, 62, 60)  # next, next: the prompt after
    assert screen.at > 0
    player.piano(55)
    assert isinstance(player.screen, Contents)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("level_id", ["chords-keys", "signatures-naturals", "time-six"])
def test_every_kind_of_prompt_can_be_gone_through(player, level_id):
    screen = watch(player, level_id, prompts=4)
    pictures = set()
    for _ in range(60):
        player.wait(1.0)
        pictures.add(shown(player))
    assert len(pictures) > 5
    assert not screen.playing
    inside = player.stage.window.canvas.surface.get_rect()
    assert all(inside.contains(control.rect) for control in screen.controls if control.seen)


def test_a_phrase_in_time_shows_what_became_of_its_notes_when_it_is_over(player):
    screen = watch(player, "time-six", prompts=2)
    player.type(pygame.K_SPACE)
    screen._seek(screen._replay.start.pulse.length_s(screen._replay.start.prompts[0]) + 0.05)
    before = shown(player)
    assert screen._view._marks
    screen._seek(1.0)
    assert shown(player) != before and not screen._view._marks


def test_a_round_whose_level_is_damaged_says_so(player):
    shared = robot_record(robot_terms(LEVEL))
    damaged = replace(shared.terms, level_text="x = 1")
    player.stage.go.open_replay(replace(shared, terms=damaged), "")
    player.look()
    assert "format" in player.screen._trouble
    player.type(pygame.K_SPACE, pygame.K_RIGHT, pygame.K_ESCAPE)
    assert isinstance(player.screen, Contents)


def test_from_the_result_and_back(player):
    player.piano(60, 60, 60)
    while not isinstance(player.screen, Play):
        player.type(pygame.K_RETURN)
    player.piano(60)
    for _ in range(100):
        if not isinstance(player.screen, Play):
            break
        player.answer()
    assert isinstance(player.screen, Result)
    player.click_on("replay")
    assert isinstance(player.screen, ReplayScreen)
    assert player.screen._replay.ended.complete
    player.type(pygame.K_ESCAPE)
    assert isinstance(player.screen, Result)


def test_a_round_is_saved_without_its_readers_name_and_read_back(player, tmp_path, monkeypatch):
    monkeypatch.setattr("game.paper.saving.user_documents_path", lambda: tmp_path)
    store, reader = player.stage.store, player.stage.sitting.reader
    record = keep(store, reader.id, robot_record(robot_terms(LEVEL, 5)))
    player.stage.go.open_history(LEVEL)
    player.look()
    player.click_on("tab-rounds")
    player.click_on(f"round-{record}")
    for _ in range(2):
        player.click_on("save")
        assert not player.screen.playing  # what it says stays to be read
    first, second = sorted((tmp_path / "Stavewise").iterdir())
    assert str(first) in player.screen._saved or str(second) in player.screen._saved
    assert first.read_bytes() == second.read_bytes()
    assert "Anna" not in first.read_text() and "Anna" not in first.name
    screen = dropped(player, tmp_path, first.read_text())
    assert isinstance(screen, GuestPage) and not screen._trouble
    (guest,) = guests(store, LEVEL)
    assert (guest.terms, guest.events) == (store.record(record).terms, store.record(record).events)


def test_a_round_that_cannot_be_saved_says_why(player, tmp_path, monkeypatch):
    (tmp_path / "Stavewise").write_text("a file in the way")
    for name in ("user_documents_path", "data_folder"):
        monkeypatch.setattr(f"game.paper.saving.{name}", lambda: tmp_path)
    watch(player)
    player.click_on("save")
    assert player.screen._saved.startswith("Not saved: ") and "exists" in player.screen._saved


# Guests


def dropped(player, tmp_path: Path, text: str) -> GuestPage:
    path = tmp_path / "theirs.JSON"
    path.write_text(text, encoding="utf-8")
    player.app.loop.from_window(pygame.event.Event(pygame.DROPFILE, file=str(path)))
    player.look()
    return player.screen


def test_a_record_that_is_dropped_is_kept_watched_and_played(player, tmp_path):
    shared = robot_record(robot_terms(LEVEL), name="Zoë")
    screen = dropped(player, tmp_path, record_text(shared))
    assert isinstance(screen, GuestPage) and not screen._trouble
    assert guests(player.stage.store, LEVEL) == (shared,)
    player.click_on("watch")
    assert isinstance(player.screen, ReplayScreen)
    player.type(pygame.K_ESCAPE)
    assert isinstance(player.screen, GuestPage)
    player.click_on("play")
    assert isinstance(player.screen, Play)
    assert player.screen.live.round.prompts == shared.terms.begin().prompts


@pytest.mark.parametrize("size", SIZES)
def test_a_friends_round_is_found_again_before_ones_own_first_round(player, tmp_path):
    shared = robot_record(robot_terms(LEVEL), name="Zoë")
    dropped(player, tmp_path, record_text(shared))
    player.click_on("back")
    assert not player.stage.store.figures(player.stage.sitting.reader.id)
    player.click_on("history")
    inside = player.stage.window.canvas.surface.get_rect()
    assert all(inside.contains(control.rect) for control in player.screen.controls)
    row = next(c for c in player.screen.controls if c.id == "friend-0")
    assert row.label.startswith("Zoë") and f"{shared.result.score:.1f}" in row.value
    player.click_on("friend-0")
    player.click_on("watch")
    assert isinstance(player.screen, ReplayScreen)
    player.type(pygame.K_ESCAPE)
    player.click_on("play")
    assert player.screen.live.round.prompts == shared.terms.begin().prompts


def test_a_record_that_boasts_is_shown_with_both_values(player, tmp_path, monkeypatch):
    shared = robot_record(robot_terms(LEVEL))
    value = json.loads(record_text(shared))
    value["result"]["score"] = 99.25
    said = []
    original = type(player.stage.window.canvas).text

    def text(self, words, *args, **kwargs):
        said.append(words)
        return original(self, words, *args, **kwargs)

    monkeypatch.setattr(type(player.stage.window.canvas), "text", text)
    dropped(player, tmp_path, json.dumps(value))
    assert any("99.2" in words and f"{shared.result.score:.1f}" in words for words in said)


def test_a_bad_record_is_refused_in_words_and_nothing_is_kept(player, tmp_path):
    screen = dropped(player, tmp_path, record_text(robot_record(robot_terms(LEVEL)))[:-40])
    assert "breaks off" in screen._trouble
    assert [control.id for control in screen.controls] == ["back"]
    assert guests(player.stage.store, LEVEL) == ()
    player.type(pygame.K_ESCAPE)
    assert isinstance(player.screen, Contents)


def test_before_a_reader_is_chosen_it_can_be_watched_and_not_played(player, tmp_path):
    player.stage.sitting.reader = None
    player.stage.go.open_readers()
    screen = dropped(player, tmp_path, record_text(robot_record(robot_terms(LEVEL))))
    assert {c.id: c.enabled for c in screen.controls} == {
        "watch": True, "play": False, "back": True,
    }  # fmt: skip
    player.click_on("play")
    assert player.screen is screen
    player.type(pygame.K_ESCAPE)
    assert isinstance(player.screen, Readers)


def test_a_round_under_way_is_not_left_for_a_file(player, tmp_path):
    shared = robot_record(robot_terms(LEVEL))
    player.stage.rounds.begin(shared.terms)
    screen = dropped(player, tmp_path, record_text(shared))
    assert isinstance(screen, Play)


# History


@pytest.fixture
def read(player):
    """A player with thirty rounds on a level."""
    store, reader = player.stage.store, player.stage.sitting.reader
    for number in range(30):
        started = datetime.now(UTC) - timedelta(days=60 - 2 * number)
        keep(store, reader.id, robot_record(robot_terms(LEVEL, number), started=started))
    player.stage.go.open_ladder(LEVEL)
    player.look()
    return player


@pytest.mark.parametrize("size", SIZES)
def test_from_the_ladder_to_a_round_and_back(read):
    read.click_on("history")
    screen = read.screen
    assert isinstance(screen, HistoryPage)
    over_time = shown(read)
    read.click_on("tab-rounds")
    assert shown(read) != over_time
    inside = read.app.stage.window.canvas.surface.get_rect()
    assert all(inside.contains(control.rect) for control in screen.controls if control.seen)
    first = screen._newest[0]
    read.click_on(f"round-{first.id}")
    assert isinstance(read.screen, ReplayScreen)
    read.type(pygame.K_ESCAPE)
    assert read.screen is screen
    read.type(pygame.K_ESCAPE)
    assert isinstance(read.screen, Contents)


def test_every_round_can_be_reached_by_keys_and_by_piano(read):
    for go in (lambda: read.type(pygame.K_DOWN), lambda: read.piano(62)):
        read.app.stage.go.open_history(LEVEL)
        screen = read.screen
        screen._open("rounds")
        read.look()
        seen = set()
        for _ in range(60):
            go()
            seen.add(screen.focus)
            in_view = {control.id for control in screen.controls}
            assert screen.focus in in_view
        assert {f"round-{one.id}" for one in screen._newest} <= seen
        assert "back" in seen


def test_a_level_that_was_never_finished_has_no_history(player):
    player.stage.go.open_ladder("middle-c-right")
    player.look()
    assert "history" not in {control.id for control in player.screen.controls}
    player.stage.go.open_history("middle-c-right")
    player.look()
    named = [c.id for c in player.screen.controls if c.id]
    assert named == ["tab-time", "tab-rounds", "tab-weeks", "back"]
    player.click_on("tab-rounds")
    player.type(pygame.K_DOWN, pygame.K_PAGEDOWN, pygame.K_UP, pygame.K_ESCAPE)
    assert isinstance(player.screen, Contents)


def test_a_page_and_a_table_are_saved(read, tmp_path, monkeypatch):
    from game.paper import saving

    monkeypatch.setattr(saving, "user_documents_path", lambda: tmp_path / "docs")
    read.app.stage.go.open_history(LEVEL)
    read.look()
    read.click_on("page")
    read.click_on("table")
    files = sorted(path.suffix for path in (tmp_path / "docs").rglob("*.*") if path.is_file())
    assert files == [".csv", ".html"]
    assert "Saved" in read.screen._message
