# SPDX-License-Identifier: MIT
"""What the screens may ask of the running game."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from game.engraving import Engraver
from game.keyboards import ComputerKeyboard, Keyboards, RobotReader
from game.levels import Compass, Ladder, Rung
from game.reader import LevelSearch, Profile
from game.rounds import Pace, Round, Terms
from game.session.live_round import LiveRound
from game.session.options import Options
from game.session.records import SharedRound
from game.sound import SoundPlayer
from game.store import Reader, Record, Store, StoreError
from game.ui.widgets import Canvas

if TYPE_CHECKING:
    from game.screens.school.classroom import Classroom
    from game.ui.screen import Screen


@dataclass
class Visit:
    """Stateful: what this opening of the game is about.

    Args:
        reader: who plays; None until chosen.
        read_s: seconds of rounds read since a break was last suggested.
        robot: plays by itself instead of a person.
        notices: plain sentences to show on the start screen.
    """

    reader: Reader | None = None
    read_s: float = 0.0
    robot: RobotReader | None = None
    notices: list[str] = field(default_factory=list)


class Stage(Protocol):
    """The running game, as screens see it."""

    store: Store
    ladder: Ladder
    engraver: Engraver
    sound: SoundPlayer
    options: Options
    visit: Visit
    profile: Profile
    placed: str
    """Id of the level that the reader was found to be at; empty where none was looked for."""
    computer: ComputerKeyboard
    keyboards: Keyboards
    """The MIDI keyboards that there are."""

    canvas: Canvas
    classroom: Classroom

    def show(self, screen: Screen) -> None:
        """Go to a screen."""

    def open_readers(self) -> None:
        """Go to the list of readers."""

    def newcomer(self, reader: Reader, *, find: bool = False) -> None:
        """Somebody has found middle C for the first time, or reads already: let them read at once.

        Args:
            reader: who it is.
            find: their level is to be found, instead of beginning at the first.
        """

    def greet(self, reader: Reader) -> None:
        """A reader was chosen: offer an unfinished round, or open the ladder."""

    def open_ladder(self, level_id: str = "") -> None:
        """Go to the ladder, at a level."""

    def open_progress(self) -> None:
        """Go to the page that shows how the reader gets on."""

    def begin(self, terms: Terms) -> None:
        """Start a round."""

    def on_this_keyboard(self, live: LiveRound) -> LiveRound:
        """A round in time that waits for its first key, with the delay of the keyboard that was
        played now: itself, or another one in its place."""

    def restart(self, terms: Terms) -> None:
        """Begin a round on these terms anew, at once."""

    def pace_for(self, live: LiveRound) -> Pace | None:
        """What a round is read against; None for nothing."""

    def resume(self, record: Record) -> None:
        """Go on with an unfinished round."""

    def finish(self, live: LiveRound, pace: Pace | None = None) -> None:
        """A round has ended: keep its figures and show them, with how it stood to its pace."""

    def unkept(self, live: LiveRound) -> StoreError | None:
        """Why an ended round is not in the store yet; None when it is."""

    def keep_what_waits(self, *, at_once: bool = False) -> None:
        """Try again to keep what could not be written; now and then, unless `at_once`."""

    def practise(self, after: LiveRound | None = None) -> None:
        """Begin today's practice; what was missed in a round of it just played comes again."""

    def find_level(self) -> None:
        """Begin the search for the reader's level, or go on with it."""

    def searched(self, search: LevelSearch, ended: Round) -> None:
        """A prompt of the search was answered: learn from it, and keep how far it has come."""

    def open_placed(self, rung: Rung, *, clicked: bool) -> None:
        """Show the level that the search has found; `clicked` as in :class:`Placed`."""

    def open_replay(self, record: Record | SharedRound, caption: str) -> None:
        """Go through a round again; :meth:`go_back` returns."""

    def open_history(self, level_id: str) -> None:
        """Go to the reader's rounds on a level."""

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

    def now(self) -> float:
        """Seconds on the clock that stamps presses."""

    def look_for_levels(self) -> bool:
        """Read the ladder again if a level file has come, gone or changed; whether one has."""

    @property
    def today(self) -> str:
        """The date here, as ISO 8601 has it."""

    def new_seed(self) -> int:
        """A seed for a round on new notes."""

    def save_options(self, options: Options) -> None:
        """Keep and apply the settings."""

    def keep_shot(self, name: str) -> None:
        """Keep a picture of the window, if pictures were asked for."""

    def name_key(self, key: int) -> str:
        """A piano key's name in the reader's note names."""

    def press(self, key: int, velocity: int) -> None:
        """A key of the on-screen piano goes down."""

    def release(self, key: int) -> None:
        """It comes up."""

    def wrong_cue(self) -> None:
        """The quiet sound of a key that was not the one, unless sound is off."""

    def click(self, *, first: bool) -> None:
        """The sound of a beat, the first of its bar or another."""

    def beats(self, beats: Sequence[tuple[float, bool]]) -> None:
        """The sound of beats to come, in the place of any before: when on the game's clock, and
        whether it is the first of its bar."""

    @property
    def piano_connected(self) -> bool:
        """Whether a MIDI keyboard is there."""

    @property
    def playing_on(self) -> str:
        """The label of the keyboard that was played last, or of one that is there."""

    @property
    def keyboard_line(self) -> str:
        """One line: which keyboards, through which MIDI backend; or why none is heard."""

    @property
    def other_keyboard(self) -> str:
        """The keyboard that is there where the one that was chosen is not; empty otherwise."""

    def use_other_keyboard(self) -> None:
        """Listen to that one from now on."""

    @property
    def compass(self) -> Compass:
        """The keys that the reader's keyboard has."""
