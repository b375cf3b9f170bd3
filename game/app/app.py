# SPDX-License-Identifier: MIT
"""The running game: from screen to screen."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

import pygame

from game.app.launch import AppOptions, RobotSettings
from game.app.loop import Loop
from game.app.window import NoDisplay
from game.engraving import EngravingError
from game.levels import EmptyPool, LevelFaults, Rung
from game.reader import PRACTICE_ID, LevelSearch, Profile
from game.rounds import Pace, Round, Terms
from game.screens.play.in_time import PlayInTime
from game.screens.play.not_kept import NotKept
from game.screens.play.placing import PlacementResult, Placing
from game.screens.play.play import Play
from game.screens.play.replay import ReplayScreen
from game.screens.play.result import Result
from game.screens.play.resume import ResumeOffer
from game.screens.reader.contents import Contents
from game.screens.reader.guest import GuestPage
from game.screens.reader.help import Help
from game.screens.reader.readers import Readers
from game.screens.reader.settings import Settings
from game.screens.reader.store_away import StoreAway
from game.screens.reader.welcome import Welcome
from game.screens.school.classes import Classes
from game.screens.school.classroom import Classroom
from game.screens.school.heat_screen import HeatScreen
from game.screens.school.told_page import MessagePage
from game.session.live_round import LiveRound
from game.session.paces import chosen_pace
from game.session.profiles import (
    keep_search,
    learn,
    learnt,
    profile_of,
    search_of,
    seen_before,
    todays_practice,
)
from game.session.records import SharedRound
from game.store import HeatTaken, Reader, Record, RoundTaken, StoreError
from game.ui import theme
from game.ui.offer import where_words
from game.ui.screen import Screen
from game.words.text import _

_RESULT_S = 2.0  # how long a robot leaves the result in view
_RETRY_S = 3.0  # from one try to keep what waits to the next
__all__ = ["App", "AppOptions", "NoDisplay", "RobotSettings", "run"]


@dataclass(frozen=True)
class Unkept:
    """An ended round whose end is not in the store yet, and why."""

    reader: Reader
    live: LiveRound
    trouble: StoreError

    @property
    def words(self) -> str:
        """For the start page."""
        return _("A round of {name} is not kept yet: {why}").format(
            name=self.reader.name, why=self.trouble
        )


class App(Loop):
    """Stateful: the game while its window is open. It is the stage of all screens."""

    def __init__(self, how: AppOptions) -> None:
        super().__init__(how)
        self.profile = Profile()
        self.placed = ""
        self._to_learn: list[Round] = []
        self._unkept: dict[int, Unkept] = {}  # by round
        self._retry_at = 0.0
        self.classroom = Classroom(self)
        self._behind: Screen | None = None
        self._piece = how.piece
        trouble = self.store_trouble
        self.screen: Screen = (
            Readers(self)
            if trouble is None
            else StoreAway(self, trouble, again=self.open_store_again)
        )

    def open_readers(self) -> None:
        for waiting in self._unkept.values():
            if waiting.words not in self.visit.notices:
                self.visit.notices.insert(0, waiting.words)
        self.show(Readers(self))

    def tell_no_music(self, error: EngravingError) -> None:
        self.show(MessagePage(self, _("The music can't be drawn"), [str(error)], Readers(self)))

    def newcomer(self, reader: Reader, *, find: bool = False) -> None:
        self.visit.reader, self.visit.read_s = reader, 0.0
        self.visit.notices.clear()
        self._recall(reader)
        piece, self._piece = self._piece, None
        if piece is not None:
            self._open_piece(piece)
        elif find:
            self.find_level()
        elif self.ladder.rungs:
            rung = self.ladder.rungs[0]
            self.begin(Terms.counted(rung.level, rung.text, self.new_seed(), None, self.compass))
            if isinstance(self.screen, Play):
                self.screen.start()  # they have just pressed a key: they are ready
        else:
            self.open_ladder()

    def greet(self, reader: Reader) -> None:
        self.visit.notices.clear()
        if self.visit.reader != reader:
            self.visit.reader, self.visit.read_s = reader, 0.0
            self._recall(reader)
        try:
            unfinished = self.store.open_rounds(reader.id)
        except StoreError as error:  # no reason to keep the reader from the ladder
            self.visit.notices.append(str(error))
            unfinished = ()
        for record in unfinished:
            try:
                state = record.terms.replay(record.events)
            except (LevelFaults, EmptyPool) as error:
                self.store.set_aside_round(record.id, error)
                continue
            if state.ended is None and not state.answered:
                continue  # it was never begun, or is in another window
            if state.ended is None:
                self.show(ResumeOffer(self, record, state))
                return
            live = LiveRound.resume(record, self.store, self.now())
            self._keep(reader, live)
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
        self.show(Contents(self, level_id))

    def _dropped(self, path: Path) -> None:
        """A file was dropped on the window: sheet music, for the reader who is chosen, or a
        record."""
        if self.screen.dropped(path):
            return
        if isinstance(self.screen, Play | HeatScreen):
            return  # a round is not left by accident
        if path.suffix.lower() == ".json":
            self.show(GuestPage(self, path))
            return
        if self.screen.takes_level is not None:
            self._open_piece(path, self.screen.takes_level)
        elif self.visit.reader is None:
            self._piece = path
            self.visit.notices.insert(0, _("{file}: choose who reads it.").format(file=path.name))
        else:
            self._open_piece(path)

    def _open_piece(self, path: Path, after: Callable[[str], None] | None = None) -> None:
        from game.pieces import PieceError, load_piece  # here: few visits need it
        from game.screens.reader.piece import PieceOffer

        def wait(taken_s: float) -> None:
            """A long piece: show that it is being read, and that the window lives."""
            self.canvas.clear()
            middle = self.canvas.width // 2, self.canvas.height // 2
            words = _("Reading {file} … {n} s").format(file=path.name, n=f"{taken_s:.0f}")
            self.canvas.text(words, middle, size=24, face="serif", anchor="center")
            self.canvas.flip()
            pygame.event.pump()

        try:
            self.show(PieceOffer(self, path.name, load_piece(path, wait=wait), after=after))
        except PieceError as error:
            trouble = str(error)
            if "--" in trouble:  # a choice that only the command offers
                trouble += _(". The command for it: stavewise levels from FILE")
            self.show(PieceOffer(self, path.name, None, trouble, after))

    def open_replay(self, record: Record | SharedRound, caption: str) -> None:
        self._behind = self.screen
        self.show(ReplayScreen(self, record, caption))

    def open_history(self, level_id: str) -> None:
        from game.screens.reader.history import HistoryPage  # here: few visits need it

        try:
            self.show(HistoryPage(self, level_id))
        except StoreError as error:
            self.visit.notices.insert(0, str(error))
            self.open_readers()

    def open_settings(self) -> None:
        self._behind = self.screen
        self.show(Settings(self))

    def open_help(self) -> None:
        self._behind = self.screen
        self.show(Help(self))

    def open_progress(self) -> None:
        from game.screens.reader.progress import ProgressPage  # here: few visits need it

        self.show(ProgressPage.of(self))

    def go_back(self) -> None:
        if self._behind is None:
            self.open_readers()
        else:
            self.show(self._behind)

    def begin(self, terms: Terms) -> None:
        live = self._begun(terms)
        if live is not None:
            self._play(live)

    def _begun(self, terms: Terms) -> LiveRound | None:
        """A new round on the keyboard that is played; None where another page says why not."""
        reader = self.visit.reader
        assert reader is not None
        terms = replace(terms, delay_s=self._delay_s if terms.level().time is not None else 0.0)
        try:
            known = terms.known or seen_before(self.store, reader.id, terms)
            terms = replace(terms, known=known)
            return LiveRound.begin(terms, reader.id, self.store, self.now())
        except EmptyPool:
            self.open_ladder(terms.level_id)  # the page says which keys are wanting
        except StoreError as error:
            self.visit.notices.insert(0, str(error))
            self.open_readers()
        return None

    @property
    def _delay_s(self) -> float:
        return self.options.delays.get(self.playing_on, 0.0)

    def on_this_keyboard(self, live: LiveRound) -> LiveRound:
        if live.round.started is not None or live.terms.delay_s == self._delay_s:
            return live
        other = self._begun(live.terms)
        if other is None:
            return live
        live.discard()
        return other

    def restart(self, terms: Terms) -> None:
        if terms.level_id == PRACTICE_ID:
            self.practise()
        else:
            same = terms.day or terms.known  # its notes are the point of it
            self.begin(terms if same else terms.afresh(self.new_seed(), self.compass))
        if isinstance(self.screen, Play):
            self.screen.start()

    def pace_for(self, live: LiveRound) -> Pace | None:
        reader = self.visit.reader
        if reader is None:
            return None
        return chosen_pace(self.store, reader.id, live.terms, live.round, self.options.pace)

    def resume(self, record: Record) -> None:
        # It may have been played on elsewhere since it was offered.
        self._play(LiveRound.resume(self.store.record(record.id), self.store, self.now()))

    def taken_over(self) -> None:
        target = self.screen.under_way
        try:
            sign = self.store.life.signs([target]).get(target)
        except StoreError:
            sign = None
        if isinstance(self.screen, HeatScreen):
            words = _("This heat goes on {where}. What was played here since is not counted.")
            self.screen.live.forsaken = True
            self.classroom.open(words.format(where=where_words(sign)))
        else:
            words = _("The round goes on {where}. What was played here since is not counted.")
            self.visit.notices.insert(0, words.format(where=where_words(sign)))
            self.open_readers()

    def _play(self, live: LiveRound) -> None:
        self.show(Play(self, live) if live.round.pulse is None else PlayInTime(self, live))

    def finish(self, live: LiveRound, pace: Pace | None = None) -> None:
        reader = self.visit.reader
        assert reader is not None
        before, compared = None, True
        try:
            before = self.store.best(reader.id, live.level.id, live.terms.kind)
        except StoreError as error:  # a server that is away: the round is kept all the same
            compared = False
            self.visit.notices.insert(0, str(error))
        self._keep(reader, live)
        self.visit.read_s += live.round.score.seconds
        self.show(Result(self, live, before, compared, pace))
        if self._how.robot is not None:
            self._closing_at = self.now() + _RESULT_S

    def _keep(self, reader: Reader, live: LiveRound) -> None:
        """Keep an ended round and learn from it; where that cannot be done now, later."""
        try:
            live.finish()
        except StoreError as error:
            self._unkept[live.record_id] = Unkept(reader, live, error)
            self._retry_at = self.now() + _RETRY_S
            return
        waited = self._unkept.pop(live.record_id, None)
        if waited is not None and waited.words in self.visit.notices:
            self.visit.notices.remove(waited.words)
        if reader == self.visit.reader:
            self._learn(reader, live.round)
            return
        try:
            learn(self.store, reader.id, profile_of(self.store, reader.id), [live.round])
        except StoreError as error:
            self.visit.notices.insert(0, str(error))

    def unkept(self, live: LiveRound) -> StoreError | None:
        found = self._unkept.get(live.record_id)
        return None if found is None else found.trouble

    @property
    def something_waits(self) -> bool:
        return self.store_trouble is None and bool(self._unkept or self.store.unsaved)

    def keep_what_waits(self, *, at_once: bool = False) -> None:
        if not self.something_waits or (not at_once and self.now() < self._retry_at):
            return
        self._retry_at = self.now() + _RETRY_S
        with suppress(RoundTaken, HeatTaken):  # it is told when the round or heat goes on
            self.store.try_again()
        if not self.store.pending:
            for waiting in tuple(self._unkept.values()):
                if not isinstance(waiting.trouble, RoundTaken):
                    self._keep(waiting.reader, waiting.live)

    def quit(self) -> None:
        self.keep_what_waits(at_once=True)
        waits = self.store_trouble is None and self.store.unsaved
        if not waits or self._how.robot is not None:
            self.close()
        elif not isinstance(self.screen, NotKept):
            if isinstance(self.screen, Play):
                self.screen.pause()
            self.show(NotKept(self, self.screen))

    def _learn(self, reader: Reader, ended: Round) -> None:
        """Learn from a round; what cannot be kept is learnt again with the next one."""
        self._to_learn.append(ended)
        try:
            self.profile = learn(self.store, reader.id, self.profile, self._to_learn)
            self._to_learn.clear()
        except StoreError as error:
            self.profile = learnt(self.profile, ended)
            self.visit.notices.insert(0, str(error))

    def practise(self, after: LiveRound | None = None) -> None:
        reader = self.visit.reader
        assert reader is not None
        passed, seed = self.store.pass_days(reader.id), self.new_seed()
        with suppress(EmptyPool):  # the level's own page says which keys are wanting
            self.begin(
                todays_practice(
                    self.profile, self.ladder, passed, seed, self.compass, self.placed, after
                )
            )

    def find_level(self) -> None:
        reader = self.visit.reader
        assert reader is not None
        try:
            kept, _level = search_of(self.store, reader.id)
            search = LevelSearch.begin(self.ladder, self.compass, kept)
            if search is not None:
                self.show(Placing(self, search))
        except StoreError as error:
            self.visit.notices.insert(0, str(error))
            self.open_readers()

    def searched(self, search: LevelSearch, ended: Round) -> None:
        reader = self.visit.reader
        assert reader is not None
        self._learn(reader, ended)
        self.visit.read_s += ended.score.seconds
        try:
            self.placed = keep_search(self.store, reader.id, search)
        except StoreError as error:
            self.visit.notices.insert(0, str(error))

    def open_placed(self, rung: Rung, *, clicked: bool) -> None:
        self.show(PlacementResult(self, rung, clicked=clicked))

    def first_screen(self) -> None:
        self.visit.notices.extend(theme.missing_fonts)
        rung = self._how.rung
        if rung is None:
            new = self._new_here
            if self._piece is not None:
                words = (
                    _("{file} is offered as soon as you have found middle C.")
                    if new
                    else _("{file}: choose who reads it.")
                )
                self.visit.notices.insert(0, words.format(file=self._piece.name))
            self.show(Welcome(self) if new else Readers(self))
            return
        readers = self.store.readers(include_archived=bool(self._how.robot))
        name = _("Reader {number}").format(number=1)
        if self._how.robot:  # in a store of people its round is not theirs
            name = "Robot"
            readers = tuple(reader for reader in readers if reader.name == name)
        self.visit.reader = readers[0] if readers else self.store.add_reader(name)
        self._recall(self.visit.reader)
        if self._how.shots is not None:
            self._tour()
        seed = self.new_seed() if self._how.seed is None else self._how.seed
        make = Terms.counted if self._how.seconds is None else Terms.timed
        length = self._how.count if self._how.seconds is None else self._how.seconds
        self.begin(make(rung.level, rung.text, seed, length, self.compass))

    @property
    def _new_here(self) -> bool:
        """Whether nobody reads here, and no teacher has a class here that reads without names."""
        school = self.store.school
        kept = self.store.readers(include_archived=True) or school.classes(include_archived=True)
        return not (kept or school.open_heats() or school.heats())

    def _tour(self) -> None:
        """Pass the screens that a robot's round does not, for their pictures."""
        from game.screens.reader.progress import ProgressPage

        pages = (Readers(self), Contents(self), ProgressPage.of(self), Settings(self), Help(self))
        for screen in (*pages, Classes(self)):
            screen.enter()
            screen.draw(self.canvas)
            self.canvas.flip()
            self._shots.passed(screen.name, self.canvas.surface)


def run(how: AppOptions) -> int:
    """Open the window and play until it is closed.

    Raises:
        NoDisplay: there is no display to open a window on.
        StoreError: the store cannot be opened, and nobody could make it so.
        MissingResource: the installation lacks its levels.
    """
    return App(how).run()
