# SPDX-License-Identifier: MIT
"""The progress page in the game: opened from the ladder, worked by mouse, keys and piano."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import combinations, pairwise

import pygame
import pytest
from builders import bar_of, key
from lines import lines_of
from player import Player
from progress_builders import practised

from game.app.app import App, AppOptions
from game.notation import Clef
from game.reader import Profile
from game.rounds import Flip, Press, Round, Stop, play
from game.screens.reader.contents import Contents
from game.screens.reader.progress import ProgressPage
from game.ui.screen import PIANO_AFTER, PIANO_BACK, PIANO_YES

NOW = datetime.now(UTC)
TABS = ("staff", "time", "misreads")


@pytest.fixture(params=[(1024, 600), (1920, 1080)], ids=["1024x600", "1920x1080"])
def size(request):
    return request.param


@pytest.fixture(autouse=True)
def _saved_here(tmp_path, monkeypatch):
    monkeypatch.setattr("game.paper.saving.user_documents_path", lambda: tmp_path)


def profile_of(*answers: tuple[str, str]) -> Profile:
    """After notes that were answered by these keys alone."""
    profile = Profile()
    for shown, pressed in answers:
        prompt = bar_of(shown)
        events = [Flip(0.0), Press(1.0, key(pressed)), Stop(60.0)]
        result = play(Round((prompt,), 8.0), events).results[0]
        profile = profile.after(prompt, result, NOW.timestamp()).profile
    return profile


def opened(player: Player, profile: Profile | None = None, name: str = "Anna") -> ProgressPage:
    player.stage.rounds.greet(player.stage.store.add_reader(name))
    if profile is not None:
        player.stage.sitting.profile = profile
    player.look()
    player.click_on("progress")
    assert isinstance(player.screen, ProgressPage)
    return player.screen


def test_no_figure_on_the_staff_touches_another(player):
    page = opened(player, profile_of(*[(note, note) for note in ("C4", "D4", "E4", "F4", "G4")]))
    places = tuple(
        replace(one, estimate=next(p.estimate for p in page._progress.places if p.estimate))
        for one in page._progress.places
    )  # each has a figure with a question mark
    page._progress, page._drawn = replace(page._progress, places=places), None
    boxes = [rect for _, rect, _, anchor in lines_of(player) if anchor == "midtop"]
    assert len(boxes) == 2 * len(places) > 40
    for one, two in combinations(boxes, 2):
        shared = one.clip(two)
        assert not shared.width or shared.height <= one.height // 3  # leading, not letters


def picture(player: Player) -> bytes:
    return pygame.image.tobytes(player.stage.window.canvas.surface, "RGB")


PROFILES = {
    "nothing": Profile(),
    "three presses": profile_of(("E4", "E4"), ("G4", "G4"), ("B4", "B4")),
    "only wrong": profile_of(*[("E4", "E5"), ("G4", "A4"), ("C8", "C7")] * 4),
}


@pytest.mark.parametrize("what", PROFILES)
def test_every_tab_can_be_looked_at_however_little_there_is(player, what):
    opened(player, PROFILES[what])
    seen = set()
    for tab in TABS:
        player.click_on(f"tab-{tab}")
        seen.add(picture(player))
    assert len(seen) == len(TABS)
    player.click_on("back")
    assert isinstance(player.screen, Contents)


def line(screen: ProgressPage) -> tuple[str, str]:
    place = next(control for control in screen.controls if control.id == "place")
    return place.label, place.value


def test_the_first_place_that_was_read_is_told_at_once_and_others_when_asked(player):
    screen = opened(player, PROFILES["three presses"])
    label, value = line(screen)
    assert label.startswith("E4, 1st line")
    assert value.startswith("few answers lately")
    assert " s, 1 answer, due in" in value
    screen.focus = "place"
    player.type(pygame.K_RIGHT)
    assert line(screen)[0].startswith("F4, 1st space")
    assert line(screen)[1] == "not read yet"
    player.type(pygame.K_LEFT, pygame.K_LEFT)
    assert line(screen)[0].startswith("D4")


def test_where_no_right_answer_was_timed_no_time_is_told(player):
    screen = opened(player, PROFILES["only wrong"])
    where, value = line(screen)
    assert where.startswith("E4")
    assert " s," not in value
    assert ", –, 4 answers" in value


def test_a_note_on_the_staff_can_be_pointed_at(player):
    screen = opened(player, PROFILES["three presses"])
    places = [(place.clef, place.position) for place in screen._progress.places]
    wanted = places.index((Clef.BASS, 6))
    x, y = next((x, y) for x, y, n in screen._spots if n == wanted)
    player.click((x, y))
    assert line(screen)[0].startswith("F3, 4th line, bass")


def test_the_figures_over_the_staff_stand_apart_and_are_no_smaller_than_other_words(player):
    notes = [f"{letter}{octave}" for octave in (4, 5) for letter in "CDEFG"]
    opened(player, profile_of(*[(note, note) for note in notes]))
    figures = [(rect, size) for _, rect, size, at in lines_of(player) if at == "midtop"]
    assert len(figures) > 40
    assert min(size for _rect, size in figures) >= 15  # the size of the hints at the foot
    rows = {}
    for rect, _size in figures:
        rows.setdefault(rect.top, set()).add((rect.left, rect.right))
    for row in rows.values():
        spans = sorted(row)
        assert all(after[0] - one[1] >= 3 for one, after in pairwise(spans))


def test_the_piano_works_it(player):
    screen = opened(player, PROFILES["three presses"])
    player.piano(PIANO_AFTER, PIANO_YES)
    assert screen._tab == "time"
    player.piano(PIANO_BACK)
    assert isinstance(player.screen, Contents)


def test_notes_have_the_names_of_the_settings(player):
    player.stage.settings.save(replace(player.stage.settings.now, note_names="german"))
    screen = opened(player, profile_of(("B4", "B4")))
    assert line(screen)[0].startswith("H4")


def test_a_page_is_saved_and_the_screen_says_where(player, tmp_path):
    name = 'A <b>"b"</b> & / c'
    screen = opened(player, PROFILES["only wrong"], name)
    player.click_on("save")
    [path] = (tmp_path / "Stavewise").iterdir()
    assert str(path) in screen._message
    player.look()
    rect = next(rect for words, rect, *_ in lines_of(player) if words.startswith("Saved: "))
    assert not any(rect.colliderect(control.rect) for control in screen.controls)
    text = path.read_text(encoding="utf-8")
    assert "<b>" not in text
    player.click_on("save")
    assert len(list((tmp_path / "Stavewise").iterdir())) == 2


def test_where_it_cannot_be_saved_the_screen_says_why(player, tmp_path, monkeypatch):
    (tmp_path / "Stavewise").write_text("a file in the way")
    monkeypatch.setattr("game.paper.saving.data_folder", lambda: tmp_path)
    screen = opened(player)
    player.click_on("save")
    assert screen._message.startswith("Not saved: ")


def test_all_misreads_of_a_long_history_are_seen_on_a_small_window(tmp_path):
    app = App(AppOptions(store=str(tmp_path / "store.db"), size=(640, 480)))
    player = Player(app)
    reader = app.stage.store.add_reader("Anna")
    practised(app.stage.store, reader.id, NOW - timedelta(days=30), days=31)
    app.stage.rounds.greet(reader)
    player.look()
    player.click_on("progress")
    player.click_on("tab-misreads")
    cards = player.screen.lists[0].rows
    assert len(cards) == len(player.screen._progress.misreads) > 4
    seen = {at for at, card in enumerate(cards) if card.seen}
    assert len(seen) < len(cards)
    for _ in cards:
        player.type(pygame.K_PAGEDOWN)
        seen |= {at for at, card in enumerate(player.screen.lists[0].rows) if card.seen}
    assert len(seen) == len(cards)
    app.stage.store.close()
    app.stage.sounds.player.close()
