# SPDX-License-Identifier: MIT
"""The running game, put together from its parts."""

from __future__ import annotations

import os
import sys
from dataclasses import replace

import pygame

from game.app.launch import AppOptions, RobotSettings
from game.app.loop import Loop
from game.app.navigator import Navigator
from game.app.rounds import Rounds
from game.app.shots import Shots
from game.app.window import NoDisplay, Window, check_display, is_seen
from game.engraving import Engraver
from game.keyboards import MidiKeyboards, PressQueue, RobotReader
from game.levels import Rung
from game.rounds import Terms
from game.screens.reader.contents import Contents
from game.screens.reader.help import Help
from game.screens.reader.readers import Readers
from game.screens.reader.settings import Settings
from game.screens.reader.store_away import StoreAway
from game.screens.reader.welcome import Welcome
from game.screens.school.classes import Classes
from game.screens.school.classroom import Classroom
from game.session.clock import Clock
from game.session.keeper import Keeper
from game.session.level_shelf import LevelShelf
from game.session.options import Options
from game.session.piano import Piano
from game.session.settings import SettingsInUse
from game.session.sitting import Sitting
from game.session.sounds import Sounds
from game.store import VARIABLE, Store, StoreError
from game.ui import theme
from game.ui.stage import Stage
from game.words.text import _

__all__ = ["App", "AppOptions", "NoDisplay", "RobotSettings", "run"]


class App:
    """Stateful: the game while its window is open."""

    def __init__(self, how: AppOptions) -> None:
        self._how = how
        check_display()  # before a store is made for a game that cannot be shown
        notices: list[str] = []
        clock, settings = Clock(), SettingsInUse(notices)
        self.trouble: StoreError | None = None  # there is no store yet, and why
        store = None
        try:
            store = self._open_store(settings)
        except StoreError as error:
            if how.robot is not None or not is_seen():
                raise  # there is nobody to ask
            self.trouble = error
        try:
            full = how.fullscreen or settings.now.full_screen
            self.window = Window(how.size, full, Shots(how.shots))
        except NoDisplay:
            if self.trouble is not None:
                raise self.trouble from None
            raise
        piano = Piano(settings, clock)
        self.stage = stage = Stage(
            clock=clock,
            notices=notices,
            window=self.window,
            settings=settings,
            piano=piano,
            sounds=Sounds(settings, clock),
            engraver=Engraver(),
            levels=LevelShelf(),
        )
        queue = PressQueue()
        self.midi = MidiKeyboards(queue, settings.now.keyboard or None)
        self.go = stage.go = Navigator(stage, self.window, self.midi)
        self.rounds = stage.rounds = Rounds(stage, self.go, how.piece)
        self.loop = Loop(stage, self.window, self.go, self.rounds, queue)
        settings.watch.append(self._changed)
        if store is None:
            assert self.trouble is not None
            self.go.screen = StoreAway(
                stage, self.trouble, self.open_store_again, self.play_unsaved
            )
        else:
            self._take_store(store)
            self.go.screen = Readers(stage)

    def _open_store(self, settings: SettingsInUse) -> Store:
        """Open the store, and take over the settings that are kept in it.

        Raises:
            StoreError: it cannot be opened, or not be read.
        """
        how = self._how
        unsaid = how.store is None and not os.environ.get(VARIABLE)
        store = Store.open("sqlite://" if how.robot and unsaid else how.store)
        try:
            settings.open(store)
        except StoreError:
            store.close()
            raise
        return store

    def _take_store(self, store: Store) -> None:
        stage, robot = self.stage, self._how.robot
        stage.notices.extend(store.notices)
        store.tell(stage.notices.append)
        stage.store = store
        stage.sitting = Sitting(
            store,
            stage.levels,
            stage.piano,
            stage.settings,
            stage.clock,
            stage.notices,
            None
            if robot is None
            else RobotReader(robot.seed, robot.speed_s, robot.spread, robot.error_rate),
        )
        stage.keeper = Keeper(store, stage.sitting, stage.clock, stage.notices)
        stage.classroom = Classroom(stage)

    def open_store_again(self) -> StoreError | None:
        """Go on into the game where the store can be opened now; else why it cannot."""
        try:
            store = self._open_store(self.stage.settings)
        except StoreError as error:
            self.trouble = error
            return error
        self.trouble = None
        self._take_store(store)
        self._begin()
        return None

    def play_unsaved(self) -> None:
        """Go on into a game whose store is in memory, and goes with the window."""
        self._how = replace(self._how, store="sqlite://")
        self.stage.notices.append(_("Nothing is saved: what you play goes when you quit."))
        self.open_store_again()

    def _changed(self, before: Options, now: Options) -> None:
        """The settings have changed."""
        if now.full_screen != before.full_screen:
            self.window.fill(now.full_screen)
        if now.keyboard != before.keyboard:
            self.midi.choose(now.keyboard or None)

    def run(self) -> int:
        """Play until the window is closed; the exit status."""
        try:
            if self._how.robot is None:  # nobody else's keys belong in a robot's round
                self.midi.start()
                self.loop.front.take()
            if self.trouble is None:
                self._begin()
            self.loop.run()
            self.go.screen.leave()
            if self.trouble is not None:  # the terminal is told too
                raise self.trouble
            return 0
        finally:
            if self.go.is_open:  # what was played comes first
                self.stage.store.close()
                if self.stage.store.waits is not None:  # and outlives this
                    print(f"stavewise: {self.stage.store.waits}", file=sys.stderr)
            self.stage.sounds.player.close()
            self.loop.front.leave()
            pygame.quit()
            self.midi.close()

    def _begin(self) -> None:
        """Show the first page; where a server has gone since, the readers' page says so."""
        try:
            self.first_screen()
        except StoreError as error:
            if self._how.robot is not None:
                raise
            self.go.failed(error)

    def first_screen(self) -> None:
        """Show the page that the game opens with, or begin the round that was asked for."""
        stage = self.stage
        stage.notices.extend(theme.missing_fonts)
        if self._how.rung is not None:
            self._first_round(self._how.rung)
            return
        new = self._new_here
        if self.rounds.piece is not None:
            words = (
                _("{file} is offered as soon as you have found middle C.")
                if new
                else _("{file}: choose who reads it.")
            )
            stage.notices.insert(0, words.format(file=self.rounds.piece.name))
        self.go.show(Welcome(stage) if new else Readers(stage))

    def _first_round(self, rung: Rung) -> None:
        stage, how = self.stage, self._how
        readers = stage.store.readers(include_archived=bool(how.robot))
        name = _("Reader {number}").format(number=1)
        if how.robot:  # in a store of people its round is not theirs
            name = "Robot"
            readers = tuple(reader for reader in readers if reader.name == name)
        stage.sitting.sit_down(readers[0] if readers else stage.store.add_reader(name))
        if how.shots is not None:
            self._tour()
        seed = stage.levels.new_seed() if how.seed is None else how.seed
        make = Terms.counted if how.seconds is None else Terms.timed
        length = how.count if how.seconds is None else how.seconds
        self.rounds.begin(make(rung.level, rung.text, seed, length, stage.piano.compass))

    @property
    def _new_here(self) -> bool:
        """Whether nobody reads here, and no teacher has a class here that reads without names."""
        store, school = self.stage.store, self.stage.store.school
        kept = store.readers(include_archived=True) or school.classes(include_archived=True)
        return not (kept or school.open_heats() or school.heats())

    def _tour(self) -> None:
        """Pass the pages that a robot's round does not, for their pictures."""
        from game.screens.reader.progress import ProgressPage

        stage, tour = self.stage, (Readers, Contents, ProgressPage.of, Settings, Help, Classes)
        for page in tour:
            screen = page(stage)
            screen.enter()
            screen.draw(self.window.canvas)
            self.window.flip(screen.name, stage.clock.now())


def run(how: AppOptions) -> int:
    """Open the window and play until it is closed.

    Raises:
        NoDisplay: there is no display to open a window on.
        StoreError: the store cannot be opened, and nobody could make it so.
        MissingResource: the installation lacks its levels.
    """
    return App(how).run()
