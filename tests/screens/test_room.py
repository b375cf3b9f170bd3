# SPDX-License-Identifier: MIT
"""On every page, in every window from the least to a large one, all that is said has its room:
nothing overlaps, leaves its place or is cut, but names that are too long for any line."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime, timedelta

import pygame
import pytest
from builders import level_text
from measured import Unpainted, drawn
from places import PIECES
from player import Player
from progress_builders import practised
from robot_rounds import keep, robot_record, robot_terms
from teacher import Teacher

from game.app.app import App, AppOptions
from game.pieces import load_piece
from game.rounds import Terms
from game.screens.play.not_kept import NotKept
from game.screens.play.placing import PlacementResult
from game.screens.play.play import Play
from game.screens.play.result import BREAK_AFTER_S, Result
from game.screens.reader.guest import GuestPage
from game.screens.reader.history import HistoryPage
from game.screens.reader.key_range import KeyRange
from game.screens.reader.piece import PieceOffer
from game.screens.reader.readers import Readers
from game.screens.reader.same_reader import SameReader
from game.screens.reader.set_beat import SetBeat
from game.screens.reader.store_away import StoreAway
from game.screens.reader.welcome import Welcome
from game.session.records import check, keep_guest
from game.store import StoreError, Unreachable
from game.ui.widgets import Canvas

SIZES = [(500, 400), (640, 480), (800, 480), (1024, 600), (1280, 720)]
LARGEST = (3840, 2160)  # three times the one before: but for the rounding it is laid out as that
LONG = "Maximiliane Theodora zu Hohenwolkenstein"  # forty letters, the most that can be typed
LONG_TITLE = "Minuet with many a turn, for hands that part and meet again"
LEVEL = "landmarks-upper"


class Visitor(Player):
    """Goes from page to page."""

    def __init__(self, app: App, name: str, title: str) -> None:
        super().__init__(app)
        self.name, self.title = name, title

    def look(self) -> None:
        self.screen.draw(self.stage.window.canvas)  # once: each page is drawn twice to measure it
        self.screen.shown(self.clock)

    def pages(self) -> Iterator[str]:
        """Each page, once it is in view."""
        yield from self.before_anybody_reads()
        yield from self.of_the_ladder()
        yield from self.of_rounds()
        yield from self.of_what_was_read()
        yield from self.of_troubles()

    def before_anybody_reads(self) -> Iterator[str]:
        app = self.app
        app.stage.go.show(Welcome(app.stage))
        yield "welcome"
        self.piano(61)
        yield "welcome, a wrong key"
        app.stage.go.show(Readers(app.stage))
        yield "readers, none"
        self.click_on("new")
        yield "a name is asked"
        app.stage.store.add_reader(self.name)
        for number in range(9):
            app.stage.store.add_reader(f"Reader {number}")
        app.stage.store.archive_reader(app.stage.store.add_reader("Gone").id)
        app.stage.go.show(Readers(app.stage))
        self.look()
        yield "readers"
        self.click_on("archive")
        yield "readers, asked"
        self.type(pygame.K_ESCAPE)
        yield "readers, Escape"
        self.click_on("archived")
        yield "archived readers"
        app.stage.notices.append("A round of Anna is not kept yet: the disk is full. " * 2)
        app.stage.go.show(Readers(app.stage))
        yield "readers, a notice"
        app.stage.notices.clear()
        app.stage.go.show(SameReader(app.stage, app.stage.store.readers()[0], self.name))
        yield "the same reader?"

    def of_the_ladder(self) -> Iterator[str]:
        app, rungs = self.app, self.app.stage.levels.ladder.rungs
        app.stage.rounds.greet(app.stage.store.readers()[0])
        self.look()
        yield "ladder, of a newcomer"
        in_time = next(r for r in rungs if r.level.time is not None)
        for rung in (*rungs[::9], in_time, rungs[-1]):
            app.stage.go.open_ladder(rung.level.id)
            self.look()
            yield f"ladder, {rung.level.id}"
            self.type(pygame.K_RIGHT)
            for way in range(5):
                yield f"ladder, {rung.level.id}, way {way}"
                self.click_on("way")
        app.stage.go.open_settings()
        yield "settings"
        self.type(pygame.K_END)
        yield "settings, the end"
        app.stage.go.open_help()
        yield "help"
        for _ in range(12):
            self.type(pygame.K_PAGEDOWN)
        yield "help, the end"
        app.stage.go.show(SetBeat(app.stage, app.stage.go.go_back))
        yield "set the beat"

    def begin(self, level_id: str, count: int = 3, **how: object) -> Play:
        self.app.stage.rounds.greet(self.app.stage.sitting.reader)
        rung = self.app.stage.levels.ladder.find(level_id)
        terms = Terms.counted(rung.level, rung.text, 3, count, self.app.stage.piano.compass, **how)
        self.app.stage.rounds.begin(terms)
        self.look()
        assert isinstance(self.screen, Play)
        return self.screen

    def of_rounds(self) -> Iterator[str]:
        app = self.app
        last = app.stage.levels.ladder.rungs[-1].level.id
        in_time = next(
            r for r in app.stage.levels.ladder.rungs if r.level.time is not None
        ).level.id
        for level_id in (LEVEL, "landmarks-upper", last, in_time, "own"):
            self.begin(level_id)
            yield f"ready, {level_id}"
            self.piano(60)
            yield f"play, {level_id}"
            self.wait(1.0)
            self.piano(61)
            yield f"a wrong key, {level_id}"
            self.screen.pause()
            yield f"paused, {level_id}"
            app.stage.rounds.greet(app.stage.sitting.reader)
            self.look()
            if self.screen.name == "resume":
                yield f"broken off, {level_id}"
                self.click_on("discard")
                yield f"broken off, asked, {level_id}"
                self.wait(1.0)
                self.click_on("discard")
        for wrong in (0, 1, 9):
            self.begin("own", count=10)
            self.piano(60)
            done = 0
            while isinstance(self.screen, Play):
                if done < wrong:
                    self.clock += 1.0
                    self.piano(self.right_keys()[0] + 1)
                    done += 1
                self.answer()
            assert isinstance(self.screen, Result)
            yield f"result, {wrong} wrong"
        app.stage.sitting.read_s = BREAK_AFTER_S
        app.stage.go.show(Result(app.stage, self.screen._live, None))
        yield "result, a break is due"
        self.click_on("replay")
        yield "replay"
        self.wait(2.0)
        yield "replay, on"
        self.click_on("save")
        yield "replay, saved"

    def of_what_was_read(self) -> Iterator[str]:
        app, reader = self.app, self.app.stage.sitting.reader
        app.stage.go.open_progress()
        yield "progress, little"
        for number in range(24):
            started = datetime.now(UTC) - timedelta(days=150 - 6 * number)
            record = robot_record(robot_terms(LEVEL, number), started=started)
            keep(app.stage.store, reader.id, record)
        guest = robot_record(robot_terms(LEVEL, 99), name=self.name, started=started)
        keep_guest(app.stage.store, check(guest, "a guest"))
        app.stage.sitting.profile = practised(
            app.stage.store, reader.id, datetime.now(UTC) - timedelta(days=9), days=9
        )
        app.stage.go.open_ladder(LEVEL)
        yield "ladder, much read"
        app.stage.go.show(HistoryPage(app.stage, LEVEL))
        self.look()
        for tab in ("time", "rounds", "weeks", "friends"):
            self.click_on(f"tab-{tab}")
            yield f"history, {tab}"
        app.stage.go.show(HistoryPage(app.stage, "own"))
        self.look()
        yield "history, own"
        app.stage.go.open_progress()
        self.look()
        for tab in ("staff", "time", "misreads"):
            self.click_on(f"tab-{tab}")
            yield f"progress, {tab}"
        app.stage.go.show(GuestPage(app.stage, guest))
        yield "guest"
        for rung in (app.stage.levels.ladder.find("own"), app.stage.levels.ladder.rungs[-2]):
            app.stage.go.show(PlacementResult(app.stage, rung))
            yield f"placed, {rung.level.id}"
        app.stage.rounds.find_level()
        self.look()
        self.piano(60)
        yield "placing"
        for name in ("ties.musicxml", "two-voices.musicxml"):
            with suppress(FileNotFoundError):
                app.stage.go.show(PieceOffer(app.stage, name, load_piece(PIECES / name)))
                yield f"piece, {name}"
        app.stage.go.show(
            PieceOffer(app.stage, f"{self.title}.mxl", None, "line 3: this is no music. " * 4)
        )
        yield "piece, trouble"

    def of_troubles(self) -> Iterator[str]:
        app = self.app
        place = "/home/somebody/.local/share/stavewise/stavewise.db"
        error = StoreError(place, "the disk is full", "Free some space, then try again.")
        app.stage.go.show(StoreAway(app.stage, error, lambda: error, lambda: None))
        yield "no store"
        away = Unreachable(
            "postgresql://teacher@a-server-with-a-long-name.example.org:5432/stavewise",
            "it does not answer",
            "Check the network, and whether the server runs.",
        )
        app.stage.go.show(StoreAway(app.stage, away, lambda: away, lambda: None))
        yield "no server"
        app.stage.go.show(NotKept(app.stage, self.screen))
        yield "not kept"


class AtSchool(Visitor, Teacher):
    """Goes from page to page of the class challenge."""

    def pages(self) -> Iterator[str]:
        yield from self.of_a_class()
        self.plug("Piano")
        self.app.stage.go.show(KeyRange(self.app.stage, self.app.stage.go.open_readers))
        yield "the keyboard's ends"
        self.press("Piano", 36)
        yield "the keyboard's lowest key"
        self.press("Piano", 96)
        yield "the keyboard's keys"

    def of_a_class(self) -> Iterator[str]:
        self.click_on("classes")
        yield "classes, none"
        for name in ("3a", self.title):
            self.click_on("new")
            yield "a class is named"
            self.say(name)
            self.type(pygame.K_ESCAPE)
        yield "classes"
        self.click_on("file")
        yield "class lists"
        self.type(pygame.K_ESCAPE)
        self.drop(PIECES / "torn.musicxml")
        yield "what is no class list"
        self.click_on(next(one for one in reversed(self.ids()) if one.startswith("class-")))
        yield "a class of nobody"
        self.click_on("add")
        yield "a name is asked"
        for member in (self.name, "Mia", *(f"Reader {n}" for n in range(20))):
            self.say(member)
        self.say("")
        yield "a class"
        self.click_on(next(one for one in self.ids() if one.startswith("member-")))
        yield "one of a class"
        self.type(pygame.K_ESCAPE)
        self.click_on("past")
        yield "past heats, none"
        self.type(pygame.K_ESCAPE)


@pytest.fixture
def app(request, tmp_path, monkeypatch):
    monkeypatch.setenv("STAVEWISE_MIDI", "none")
    monkeypatch.setenv("STAVEWISE_LEVELS", str(tmp_path / "own"))
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setattr("game.paper.saving.user_documents_path", lambda: tmp_path)
    (tmp_path / "own").mkdir()
    made = App(AppOptions(store=str(tmp_path / "store.db"), size=request.param))
    made.window.canvas = Canvas(Unpainted(request.param))
    yield made
    made.stage.store.close()
    made.stage.sounds.player.close()


@pytest.mark.parametrize("visits", [Visitor, AtSchool])
@pytest.mark.parametrize(
    ("app", "names"),
    [
        pytest.param(size, names, id="{}x{}-{}".format(*size, names))
        for size in (*SIZES, LARGEST)
        for names in ("short", "long")
        if (size, names) != (LARGEST, "short")
    ],
    indirect=["app"],
)
def test_all_that_is_said_has_its_room(app, names, visits, tmp_path):
    name, title = (LONG, LONG_TITLE) if names == "long" else ("Anna", "Minuet")
    text = level_text(id='"own"', title=f'"{title}"', stage='"Mine"')
    (tmp_path / "own" / "own.toml").write_text(text, encoding="utf-8")
    app.stage.levels.look_again()
    visitor, size, found = visits(app, name, title), app.stage.window.canvas.surface.get_size(), []
    seen = 0
    for page in visitor.pages():
        faults = drawn(visitor.screen, size).faults((LONG, LONG_TITLE))
        found += [f"{page}: {fault}" for fault in faults]
        seen += 1
    assert seen > 12
    assert not found, "\n".join(dict.fromkeys(found))
