# SPDX-License-Identifier: MIT
"""From page to page."""

from __future__ import annotations

from game.app.window import Window
from game.keyboards import MidiKeyboards
from game.screens.play.not_kept import NotKept
from game.screens.play.play import Play
from game.screens.play.replay import ReplayScreen
from game.screens.reader.contents import Contents
from game.screens.reader.help import Help
from game.screens.reader.readers import Readers
from game.screens.reader.settings import Settings
from game.session.records import SharedRound
from game.store import Record, StoreError
from game.ui.screen import Screen
from game.ui.stage import Stage


class Navigator:
    """Stateful: the page in view, and the one that is returned to."""

    screen: Screen

    def __init__(self, stage: Stage, window: Window, midi: MidiKeyboards) -> None:
        self._stage, self._window, self._midi = stage, window, midi
        self._behind: Screen | None = None
        self.running = True

    @property
    def is_open(self) -> bool:
        """Whether there is a store."""
        return hasattr(self._stage, "store")

    def show(self, screen: Screen) -> None:
        before = self.screen
        before.leave()
        self._stage.sounds.look_again()
        if screen.hears_all is not before.hears_all:
            chosen = self._stage.settings.now.keyboard
            self._midi.choose(None if screen.hears_all else chosen or None)
        # A round is never faded in: its clock starts with the first full view of the staff.
        fades = self._stage.settings.now.motion == "full" and not isinstance(screen, Play)
        self._window.turn_over(self._stage.clock.now() if fades else None)
        self.screen = screen
        if self.is_open:
            self._stage.store.life.hold(screen.under_way)
        screen.enter()

    def open_readers(self) -> None:
        self._stage.keeper.tell()
        self.show(Readers(self._stage))

    def open_ladder(self, level_id: str = "") -> None:
        self.show(Contents(self._stage, level_id))

    def open_progress(self) -> None:
        from game.screens.reader.progress import ProgressPage  # here: few visits need it

        self.show(ProgressPage.of(self._stage))

    def open_history(self, level_id: str) -> None:
        from game.screens.reader.history import HistoryPage  # here: few visits need it

        try:
            self.show(HistoryPage(self._stage, level_id))
        except StoreError as error:
            self.failed(error)

    def open_replay(self, record: Record | SharedRound, caption: str) -> None:
        self._go_into(ReplayScreen(self._stage, record, caption))

    def open_settings(self) -> None:
        self._go_into(Settings(self._stage))

    def open_help(self) -> None:
        self._go_into(Help(self._stage))

    def _go_into(self, screen: Screen) -> None:
        self._behind = self.screen
        self.show(screen)

    def go_back(self) -> None:
        if self._behind is None:
            self.open_readers()
        else:
            self.show(self._behind)

    def failed(self, error: StoreError) -> None:
        """The store does not do what a page needs: the readers' page says so."""
        self._stage.notices.insert(0, str(error))
        self.open_readers()

    def quit(self) -> None:
        waits = 0
        if self.is_open:
            self._stage.keeper.try_again(at_once=True)
            waits = self._stage.store.unsaved
        if not waits or self._stage.sitting.robot is not None:
            self.close()
        elif not isinstance(self.screen, NotKept):
            if isinstance(self.screen, Play):
                self.screen.pause()
            self.show(NotKept(self._stage, self.screen))

    def close(self) -> None:
        self.running = False
