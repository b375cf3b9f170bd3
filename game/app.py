# SPDX-License-Identifier: MIT
"""The running game: one window, one loop, and the parts that the screens work with."""

from __future__ import annotations

import secrets
import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import pygame

from game.engraving import Engraver
from game.keyboards import (
    ComputerKeyboard,
    Connected,
    Disconnected,
    KeyDown,
    KeyUp,
    MidiPorts,
    PressQueue,
    RobotReader,
)
from game.launch import AppOptions, RobotSettings
from game.levels import Compass, EmptyPool, Ladder, LevelFaults, Rung, marks_of, read_ladder
from game.notation import likeliest
from game.paces import chosen_pace
from game.profiles import keep_search, learn, learnt, profile_of, search_of
from game.reader import LevelSearch, Profile
from game.resources import level_folders
from game.rounds import Event, Pace, Round, Terms
from game.screens import theme
from game.screens.classroom import Classroom
from game.screens.contents import Contents
from game.screens.guest import GuestPage
from game.screens.heat_screen import HeatScreen
from game.screens.help import Help
from game.screens.in_time import PlayInTime
from game.screens.options import Options
from game.screens.placing import Placed, Placing
from game.screens.play import Play
from game.screens.readers import Readers
from game.screens.replay import ReplayScreen
from game.screens.result import Result
from game.screens.resume import ResumeOffer
from game.screens.screen import Screen
from game.screens.settings import Settings
from game.screens.shots import Shots
from game.screens.stage import Visit
from game.screens.text import _, note_name
from game.screens.welcome import Welcome
from game.screens.widgets import Canvas
from game.sound import SoundPlayer
from game.store import LiveRound, Reader, Record, Store, StoreError
from game.window import NoDisplay, check_display, open_window

_RESULT_S = 2.0  # how long a robot leaves the result in view
__all__ = ["App", "AppOptions", "NoDisplay", "RobotSettings", "run"]

_AT_ONCE = 500  # events of keyboards between two frames: the window lives whatever they send
_IDLE_S = 10.0  # longest sleep of the loop
_FADE_S = 0.15  # one page gives way to another


class App:
    """Stateful: the game while its window is open. It is the stage of all screens."""

    def __init__(self, how: AppOptions) -> None:
        self._how = how
        self.now = time.perf_counter
        check_display()  # before a store is made for a game that cannot be shown
        self.store = Store.open("sqlite://" if how.robot and not how.store else how.store)
        self.options = Options.from_kept(self.store.get_setting("options", {}))
        self.canvas = Canvas(open_window(how.size, how.fullscreen or self.options.full_screen))
        self._wake = pygame.event.custom_type()
        self._woken = False
        self._queue = PressQueue(on_arrival=self._wake_loop)
        self._ports = MidiPorts(self._queue, chosen=self.options.keyboard or None)
        self._pianos: set[str] = set()
        self.engraver = Engraver()
        self.sound = SoundPlayer.open(self.options.volume / 100)
        self.computer = ComputerKeyboard()
        self.classroom = Classroom(self)
        self._pressed: dict[int, int] = {}  # scancode -> piano key, until it comes up
        robot = how.robot
        self.visit = Visit(
            robot=None
            if robot is None
            else RobotReader(robot.seed, robot.speed_s, robot.spread, robot.error_rate),
            notices=list(self.store.notices),
        )
        self._level_files = marks_of(*level_folders())
        self.profile = Profile()
        self.placed = ""
        self._to_learn: list[Round] = []
        self.ladder: Ladder = read_ladder(*level_folders())
        self._shots = Shots(how.shots)
        self._running = True
        self._behind: Screen | None = None
        self._piece = how.piece
        self.screen: Screen = Readers(self)
        self._closing_at: float | None = None
        self._fading: tuple[pygame.Surface, float] | None = None

    def run(self) -> int:
        """Play until the window is closed; the exit status."""
        try:
            if self._how.robot is None:  # nobody else's keys belong in a robot's round
                self._ports.start()
            self._first_screen()
            self._loop()
            return 0
        finally:
            self._ports.close()
            self.sound.close()
            pygame.quit()
            self.store.close()

    def _loop(self) -> None:
        while self._running:
            self.screen.draw(self.canvas)
            self._fade()
            pygame.display.flip()
            try:
                self.screen.shown(self.now())
                if self._fading is None:
                    self._shots.passed(self.screen.name, self.canvas.surface)
                happened = self._wait()
                self._hear(happened)
                self.screen.tick(self.now())
            except StoreError as error:
                self.visit.notices.insert(0, str(error))
                self.open_readers()
            if self._closing_at is not None and self.now() >= self._closing_at:
                self.quit()

    def _fade(self) -> None:
        """Let the page before show through for a moment."""
        if self._fading is None:
            return
        page, start = self._fading
        passed = (self.now() - start) / _FADE_S
        if passed >= 1 or page.get_size() != self.canvas.surface.get_size():
            self._fading = None
            return
        page.set_alpha(round(255 * (1 - passed)))
        self.canvas.surface.blit(page, (0, 0))

    def _wait(self) -> list[pygame.event.Event]:
        """Sleep until something happens or the screen is due."""
        now = self.now()
        wait = self.screen.wait(now)
        wait = _IDLE_S if wait is None else wait
        if self._fading is not None:
            wait = 1 / 60
        if self._closing_at is not None:
            wait = min(wait, max(0.0, self._closing_at - now))
        first = pygame.event.wait(max(1, int(wait * 1000)))
        return [first, *pygame.event.get()]

    def _hear(self, events: list[pygame.event.Event]) -> None:
        self._woken = False
        for event in self._queue.drain(_AT_ONCE):
            self._from_queue(event)
        if not self._queue.empty:
            self._wake_loop()
        for happened in events:
            self._from_window(happened)

    def _from_queue(self, event: KeyDown | KeyUp | Connected | Disconnected) -> None:
        if isinstance(event, Connected | Disconnected):
            connected = isinstance(event, Connected)
            (self._pianos.add if connected else self._pianos.discard)(event.keyboard)
            self.screen.keyboards_changed(connected, event.keyboard)
        else:
            event = replace(event, key=event.key + self.options.shift)
            if not 0 <= event.key <= 127:
                return
            if self.options.sound == "always":
                self._sound(event)
            self.screen.piano(event)

    def _from_window(self, event: pygame.event.Event) -> None:
        if event.type == pygame.QUIT:
            self.quit()
        elif event.type == pygame.VIDEORESIZE:
            self.canvas = Canvas(pygame.display.get_surface())
        elif event.type in (pygame.KEYDOWN, pygame.KEYUP):
            self._computer_key(event)
        elif event.type == pygame.DROPFILE:
            self._dropped(Path(event.file))
        elif event.type == pygame.TEXTINPUT:
            self.screen.text_typed(event.text)
        elif event.type in (
            pygame.MOUSEMOTION,
            pygame.MOUSEBUTTONDOWN,
            pygame.MOUSEBUTTONUP,
            pygame.MOUSEWHEEL,
        ):
            self.screen.mouse(event)

    def _computer_key(self, event: pygame.event.Event) -> None:
        """Some keys are the game's, some a piano's while a round is on, the rest the screen's."""
        down = event.type == pygame.KEYDOWN
        playing = self.screen.plays_letters
        if down and event.key == pygame.K_F11:
            self.save_options(self.options.cycled("full_screen", 1))
        elif down and playing and event.key in (pygame.K_PAGEUP, pygame.K_PAGEDOWN):
            self.computer = self.computer.shifted(1 if event.key == pygame.K_PAGEUP else -1)
        elif not down:
            if event.scancode in self._pressed:
                self.release(self._pressed.pop(event.scancode))
        elif playing and (key := self.computer.key_for(event.scancode)) is not None:
            self._pressed[event.scancode] = key
            self.press(key)
        else:
            self.screen.key(event)

    # What the screens ask for

    def press(self, key: int, velocity: int = 80) -> None:
        self._local(KeyDown(self.now(), key, velocity, "screen"))

    def release(self, key: int) -> None:
        self._local(KeyUp(self.now(), key, "screen"))

    def _local(self, event: KeyDown | KeyUp) -> None:
        if self.options.sound != "never":
            self._sound(event)
        self.screen.piano(event)

    def _sound(self, event: KeyDown | KeyUp) -> None:
        if isinstance(event, KeyDown):
            self.sound.play(event.key, event.velocity)
        else:
            self.sound.release(event.key)

    def wrong_cue(self) -> None:
        if self.options.sound != "never":
            self.sound.wrong()

    def click(self, *, first: bool) -> None:
        self.sound.click(first=first)

    @property
    def piano_connected(self) -> bool:
        return bool(self._pianos)

    @property
    def keyboard_names(self) -> tuple[str, ...]:
        return self._ports.names()

    @property
    def keyboard_line(self) -> str:
        names = ", ".join(sorted(self._pianos)) or _("no MIDI keyboard yet")
        return f"{names} · MIDI: {self._ports.backend_name}"

    @property
    def compass(self) -> Compass:
        return self.options.compass

    def name_key(self, key: int) -> str:
        return note_name(self.options.note_names, likeliest(key), octave=True)

    def look_for_levels(self) -> bool:
        found = marks_of(*level_folders())
        if found == self._level_files:
            return False
        self._level_files, self.ladder = found, read_ladder(*level_folders())
        return True

    @property
    def today(self) -> str:
        return date.today().isoformat()

    def new_seed(self) -> int:
        return secrets.randbelow(1_000_000)

    def keep_shot(self, name: str) -> None:
        self._shots.soon(name)

    def quit(self) -> None:
        self._running = False

    def save_options(self, options: Options) -> None:
        before, self.options = self.options, options
        if options.full_screen != before.full_screen:
            self.canvas = Canvas(open_window(self._how.size, options.full_screen))
        if options.keyboard != before.keyboard:
            self._ports.choose(options.keyboard or None)
        self.sound.set_volume(options.volume / 100)
        try:
            self.store.set_setting("options", options.kept())
        except StoreError as error:
            self.visit.notices.insert(0, str(error))

    def hear_all(self, every: bool) -> None:
        self._ports.choose(None if every else self.options.keyboard or None)

    # From screen to screen

    def show(self, screen: Screen) -> None:
        self._show(screen)

    def _show(self, screen: Screen) -> None:
        self.screen.leave()
        # A round is never faded in: its clock starts with the first full view of the staff.
        if self.options.motion == "full" and not isinstance(screen, Play):
            self._fading = (self.canvas.surface.copy(), self.now())
        else:
            self._fading = None
        self.screen = screen
        screen.enter()

    def open_readers(self) -> None:
        self._show(Readers(self))

    def newcomer(self, reader: Reader) -> None:
        self.visit.reader, self.visit.began = reader, None
        self._recall(reader)
        self.visit.notices.clear()
        piece, self._piece = self._piece, None
        if piece is not None:
            self._open_piece(piece)
        elif self.ladder.rungs:
            rung = self.ladder.rungs[0]
            self.begin(Terms.counted(rung.level, rung.text, self.new_seed(), None, self.compass))
            if isinstance(self.screen, Play):
                self.screen.start()  # they have just pressed a key: they are ready
        else:
            self.open_ladder()

    def greet(self, reader: Reader) -> None:
        if self.visit.reader != reader:
            self.visit.reader, self.visit.began = reader, None
            self._recall(reader)
        self.visit.notices.clear()
        try:
            unfinished = self.store.open_rounds(reader.id)
        except StoreError as error:  # no reason to keep the reader from the ladder
            self.visit.notices.append(str(error))
            unfinished = ()
        for record in unfinished:
            try:
                state = record.terms.replay(record.events)
            except (LevelFaults, EmptyPool):  # kept all the same, but it cannot go on
                self.store.discard(record.id)
                continue
            if state.ended is None:
                self._show(ResumeOffer(self, record, len(state.results)))
                return
            LiveRound.resume(record, self.store, self.now()).finish()
        piece, self._piece = self._piece, None
        if piece is None:
            self.open_ladder()
        else:
            self._open_piece(piece)

    def _recall(self, reader: Reader) -> None:
        self._to_learn.clear()
        try:
            self.profile = profile_of(self.store, reader.id)
            self.placed = search_of(self.store, reader.id)[1]
        except StoreError as error:
            self.profile, self.placed = Profile(), ""
            self.visit.notices.append(str(error))

    def open_ladder(self, level_id: str = "") -> None:
        self._show(Contents(self, level_id))

    def _dropped(self, path: Path) -> None:
        """A file was dropped on the window: sheet music, for the reader who is chosen, or a
        record."""
        if self.screen.dropped(path):
            return
        if isinstance(self.screen, Play | HeatScreen):
            return  # a round is not left by accident
        if path.suffix.lower() == ".json":
            self._show(GuestPage(self, path))
            return
        if self.visit.reader is None:
            self._piece = path
            self.visit.notices.insert(0, _("{file}: choose who reads it.").format(file=path.name))
        else:
            self._open_piece(path)

    def _open_piece(self, path: Path) -> None:
        from game.pieces import PieceError, load_piece  # here: few visits need it
        from game.screens.piece import PieceOffer

        def wait(taken_s: float) -> None:
            """A long piece: show that it is being read, and that the window lives."""
            self.canvas.clear()
            middle = self.canvas.width // 2, self.canvas.height // 2
            words = _("Reading {file} … {n} s").format(file=path.name, n=f"{taken_s:.0f}")
            self.canvas.text(words, middle, size=24, face="serif", anchor="center")
            pygame.display.flip()
            pygame.event.pump()

        try:
            self._show(PieceOffer(self, path.name, load_piece(path, wait=wait)))
        except PieceError as error:
            trouble = str(error)
            if "--" in trouble:  # a choice that only the command offers
                trouble += _(". The command for it: stavewise levels from FILE")
            self._show(PieceOffer(self, path.name, None, trouble))

    def open_replay(self, terms: Terms, events: Sequence[Event], caption: str) -> None:
        self._behind = self.screen
        self._show(ReplayScreen(self, terms, events, caption))

    def open_history(self, level_id: str) -> None:
        from game.screens.history import HistoryPage  # here: few visits need it

        try:
            self._show(HistoryPage(self, level_id))
        except StoreError as error:
            self.visit.notices.insert(0, str(error))
            self.open_readers()

    def open_settings(self) -> None:
        self._behind = self.screen
        self._show(Settings(self))

    def open_help(self) -> None:
        self._behind = self.screen
        self._show(Help(self))

    def open_progress(self) -> None:
        from game.screens.progress import ProgressPage  # here: few visits need it

        self._show(ProgressPage.of(self))

    def go_back(self) -> None:
        if self._behind is None:
            self.open_readers()
        else:
            self._show(self._behind)

    def begin(self, terms: Terms) -> None:
        reader = self.visit.reader
        assert reader is not None
        try:
            live = LiveRound.begin(terms, reader.id, self.store, self.now())
        except EmptyPool:
            self.open_ladder(terms.level_id)  # the page says which keys are wanting
            return
        except StoreError as error:
            self.visit.notices.insert(0, str(error))
            self.open_readers()
            return
        self._play(live)

    def pace_for(self, live: LiveRound) -> Pace | None:
        reader = self.visit.reader
        if reader is None:
            return None
        return chosen_pace(self.store, reader.id, live.terms, live.round, self.options.pace)

    def resume(self, record: Record) -> None:
        self._play(LiveRound.resume(record, self.store, self.now()))

    def _play(self, live: LiveRound) -> None:
        if self.visit.began is None:
            self.visit.began = self.now()
        self._show(Play(self, live) if live.round.pulse is None else PlayInTime(self, live))

    def finish(self, live: LiveRound) -> None:
        reader = self.visit.reader
        assert reader is not None
        before, compared = None, True
        try:
            before = self.store.best(reader.id, live.level.id, live.terms.kind)
        except StoreError as error:  # a server that is away: the round is kept all the same
            compared = False
            self.visit.notices.insert(0, str(error))
        try:
            live.finish()
        except StoreError as error:
            self.visit.notices.insert(0, str(error))
        self._learn(reader, live.round)
        self._show(Result(self, live, before, compared))
        if self._how.robot is not None:
            self._closing_at = self.now() + _RESULT_S

    def _learn(self, reader: Reader, ended: Round) -> None:
        """Learn from a round; what cannot be kept is learnt again with the next one."""
        self._to_learn.append(ended)
        try:
            self.profile = learn(self.store, reader.id, self.profile, self._to_learn)
            self._to_learn.clear()
        except StoreError as error:
            self.profile = learnt(self.profile, ended)
            self.visit.notices.insert(0, str(error))

    def find_level(self) -> None:
        reader = self.visit.reader
        assert reader is not None
        try:
            kept, _level = search_of(self.store, reader.id)
            search = LevelSearch.begin(self.ladder, self.compass, kept)
            if search is not None:
                self._show(Placing(self, search))
        except StoreError as error:
            self.visit.notices.insert(0, str(error))
            self.open_readers()

    def searched(self, search: LevelSearch, ended: Round) -> None:
        reader = self.visit.reader
        assert reader is not None
        self._learn(reader, ended)
        try:
            self.placed = keep_search(self.store, reader.id, search)
        except StoreError as error:
            self.visit.notices.insert(0, str(error))

    def open_placed(self, rung: Rung) -> None:
        self._show(Placed(self, rung))

    def _first_screen(self) -> None:
        self.visit.notices.extend(theme.missing_fonts)
        rung = self._how.rung
        if rung is None:
            first = not self.store.readers(include_archived=True)
            self._show(Welcome(self) if first else Readers(self))
            return
        readers = self.store.readers()
        name = "Robot" if self._how.robot else _("Reader {number}").format(number=1)
        self.visit.reader = readers[0] if readers else self.store.add_reader(name)
        self._recall(self.visit.reader)
        if self._how.shots is not None:
            self._tour()
        seed = self.new_seed() if self._how.seed is None else self._how.seed
        make = Terms.counted if self._how.seconds is None else Terms.timed
        length = self._how.count if self._how.seconds is None else self._how.seconds
        self.begin(make(rung.level, rung.text, seed, length, self.compass))

    def _tour(self) -> None:
        """Pass the screens that a robot's round does not, for their pictures."""
        from game.screens.progress import ProgressPage

        pages = (Readers(self), Contents(self), ProgressPage.of(self), Settings(self), Help(self))
        for screen in pages:
            screen.draw(self.canvas)
            pygame.display.flip()
            self._shots.passed(screen.name, self.canvas.surface)

    def _wake_loop(self) -> None:
        # Posting is the one pygame call that is safe from the MIDI thread. One event wakes the
        # loop, however many presses come meanwhile: SDL's queue is not endless.
        if not self._woken and pygame.display.get_init():
            self._woken = True
            pygame.event.post(pygame.event.Event(self._wake))


def run(how: AppOptions) -> int:
    """Open the window and play until it is closed.

    Raises:
        NoDisplay: there is no display to open a window on.
        StoreError: the store cannot be opened.
        MissingResource: the installation lacks its levels.
    """
    return App(how).run()
