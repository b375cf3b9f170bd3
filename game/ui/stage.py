# SPDX-License-Identifier: MIT
"""The parts of the running game that pages work with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from game.engraving import Engraver
from game.levels import Rung
from game.rounds import Pace, Terms
from game.session.clock import Clock
from game.session.keeper import Keeper
from game.session.level_shelf import LevelShelf
from game.session.live_round import LiveRound
from game.session.piano import Piano
from game.session.records import SharedRound
from game.session.settings import SettingsInUse
from game.session.sitting import Sitting
from game.session.sounds import Sounds
from game.store import Reader, Record, Store
from game.ui.widgets import Canvas

if TYPE_CHECKING:
    from game.screens.school.classroom import Classroom
    from game.ui.screen import Screen


class Surroundings(Protocol):
    """The window, as pages see it."""

    @property
    def canvas(self) -> Canvas:
        """What is drawn on, as large as the window is now."""

    def keep_shot(self, name: str) -> None:
        """Keep a picture of the window, if pictures were asked for."""


class Ways(Protocol):
    """The way from page to page."""

    def show(self, screen: Screen) -> None:
        """Go to a page."""

    def open_readers(self) -> None:
        """Go to the list of readers."""

    def open_ladder(self, level_id: str = "") -> None:
        """Go to the ladder, at a level."""

    def open_progress(self) -> None:
        """Go to the page that shows how the reader gets on."""

    def open_history(self, level_id: str) -> None:
        """Go to the reader's rounds on a level."""

    def open_replay(self, record: Record | SharedRound, caption: str) -> None:
        """Go through a round again; :meth:`go_back` returns."""

    def open_settings(self) -> None:
        """Go to the settings; :meth:`go_back` returns."""

    def open_help(self) -> None:
        """Go to the help page; :meth:`go_back` returns."""

    def go_back(self) -> None:
        """Return from the settings, the help page or a replay."""

    def quit(self) -> None:
        """Close the game, or ask first where something would be lost."""

    def close(self) -> None:
        """Close the game, whatever is lost."""


class RoundWays(Protocol):
    """The way through rounds: what begins them, and what follows."""

    def newcomer(self, reader: Reader, *, find: bool = False) -> None:
        """Somebody has found middle C for the first time, or reads already: let them read at once.

        Args:
            reader: who it is.
            find: their level is to be found, instead of beginning at the first.
        """

    def greet(self, reader: Reader) -> None:
        """A reader was chosen: offer an unfinished round, or open the ladder."""

    def open_piece(self, path: Path, after: Callable[[str], None] | None = None) -> None:
        """Read sheet music, and offer to make levels of it.

        Args:
            path: the file.
            after: called with the id of the level, or with nothing; else the ladder is opened.
        """

    def begin(self, terms: Terms) -> None:
        """Start a round."""

    def restart(self, terms: Terms) -> None:
        """Begin a round on these terms anew, at once."""

    def resume(self, record: Record) -> None:
        """Go on with an unfinished round."""

    def finish(self, live: LiveRound, pace: Pace | None = None) -> None:
        """A round has ended: keep its figures and show them, with how it stood to its pace."""

    def practise(self, after: LiveRound | None = None) -> None:
        """Begin today's practice; what was missed in a round of it just played comes again."""

    def find_level(self) -> None:
        """Begin the search for the reader's level, or go on with it."""

    def open_placed(self, rung: Rung, *, clicked: bool) -> None:
        """Show the level that the search has found; `clicked` as in the page that shows it."""


@dataclass
class Stage:
    """The running game, as pages see it: parts, and nothing of its own.

    Those without a value here come once the store is open.
    """

    clock: Clock
    notices: list[str]
    """Plain sentences to show on the first page."""
    window: Surroundings
    settings: SettingsInUse
    piano: Piano
    sounds: Sounds
    engraver: Engraver
    levels: LevelShelf
    go: Ways = field(init=False)
    rounds: RoundWays = field(init=False)
    store: Store = field(init=False)
    sitting: Sitting = field(init=False)
    keeper: Keeper = field(init=False)
    classroom: Classroom = field(init=False)
