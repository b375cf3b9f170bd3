# SPDX-License-Identifier: MIT
"""The way through rounds: what begins them, and what follows."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pygame

from game.app.navigator import Navigator
from game.levels import EmptyPool, LevelFaults, Rung
from game.reader import PRACTICE_ID
from game.rounds import Pace, Terms
from game.screens.play.in_time import PlayInTime
from game.screens.play.placing import PlacementResult, Placing
from game.screens.play.play import Play
from game.screens.play.result import Result
from game.screens.play.resume import ResumeOffer
from game.screens.reader.guest import GuestPage
from game.screens.school.heat_screen import HeatScreen
from game.session.live_round import LiveRound
from game.store import Reader, Record, StoreError
from game.ui.offer import where_words
from game.ui.stage import Stage
from game.words.text import _

_RESULT_S = 2.0  # how long a robot leaves the result in view


class Rounds:
    """Stateful: the piece of sheet music that waits for a reader, and when a robot has done.

    Args:
        stage: as for all pages.
        go: the way from page to page.
        piece: a file of sheet music to make levels of, once the reader is chosen.
    """

    def __init__(self, stage: Stage, go: Navigator, piece: Path | None = None) -> None:
        self._stage, self._go = stage, go
        self.piece = piece
        self.closes_at: float | None = None

    def newcomer(self, reader: Reader, *, find: bool = False) -> None:
        stage = self._stage
        stage.notices.clear()
        stage.sitting.sit_down(reader)
        rungs = stage.levels.ladder.rungs
        if self._open_waiting_piece():
            return
        if find:
            self.find_level()
        elif rungs:
            level, text, seed = rungs[0].level, rungs[0].text, stage.levels.new_seed()
            self.begin(Terms.counted(level, text, seed, None, stage.piano.compass))
            self._start()  # they have just pressed a key: they are ready
        else:
            self._go.open_ladder()

    def _start(self) -> None:
        if isinstance(self._go.screen, Play):
            self._go.screen.start()

    def greet(self, reader: Reader) -> None:
        stage = self._stage
        stage.notices.clear()
        if stage.sitting.reader != reader:
            stage.sitting.sit_down(reader)
        try:
            unfinished = stage.store.open_rounds(reader.id)
        except StoreError as error:  # no reason to keep the reader from the ladder
            stage.notices.append(str(error))
            unfinished = ()
        for record in unfinished:
            try:
                state = record.terms.replay(record.events)
            except (LevelFaults, EmptyPool) as error:
                stage.store.set_aside_round(record.id, error)
                continue
            if state.ended is None and not state.answered:
                continue  # it was never begun, or is in another window
            if state.ended is None:
                self._go.show(ResumeOffer(stage, record, state))
                return
            live = LiveRound.resume(record, stage.store, stage.clock.now())
            stage.keeper.keep(reader, live)
        if not self._open_waiting_piece():
            self._go.open_ladder()

    def begin(self, terms: Terms) -> None:
        try:
            self._play(self._stage.sitting.begin(terms))
        except EmptyPool:
            self._go.open_ladder(terms.level_id)  # the page says which keys are wanting
        except StoreError as error:
            self._go.failed(error)

    def _play(self, live: LiveRound) -> None:
        page = Play if live.round.pulse is None else PlayInTime
        self._go.show(page(self._stage, live))

    def restart(self, terms: Terms) -> None:
        if terms.level_id == PRACTICE_ID:
            self.practise()
        elif terms.day or terms.known:  # its notes are the point of it
            self.begin(terms)
        else:
            seed = self._stage.levels.new_seed()
            self.begin(terms.afresh(seed, self._stage.piano.compass))
        self._start()

    def resume(self, record: Record) -> None:
        # It may have been played on elsewhere since it was offered.
        store, now = self._stage.store, self._stage.clock.now()
        self._play(LiveRound.resume(store.record(record.id), store, now))

    def finish(self, live: LiveRound, pace: Pace | None = None) -> None:
        stage, reader = self._stage, self._stage.sitting.reader
        assert reader is not None
        before, compared = None, True
        try:
            before = stage.store.best(reader.id, live.level.id, live.terms.kind)
        except StoreError as error:  # a server that is away: the round is kept all the same
            compared = False
            stage.notices.insert(0, str(error))
        stage.keeper.keep(reader, live)
        stage.sitting.read_s += live.round.score.seconds
        self._go.show(Result(stage, live, before, compared, pace))
        if stage.sitting.robot is not None:
            self.closes_at = stage.clock.now() + _RESULT_S

    def practise(self, after: LiveRound | None = None) -> None:
        with suppress(EmptyPool):  # the level's own page says which keys are wanting
            self.begin(self._stage.sitting.practice(after))

    def find_level(self) -> None:
        try:
            search = self._stage.sitting.search()
            if search is not None:
                self._go.show(Placing(self._stage, search))
        except StoreError as error:
            self._go.failed(error)

    def open_placed(self, rung: Rung, *, clicked: bool) -> None:
        self._go.show(PlacementResult(self._stage, rung, clicked=clicked))

    def taken_over(self) -> None:
        """Another copy of the game has gone on with what was under way here."""
        stage, screen = self._stage, self._go.screen
        try:
            sign = stage.store.life.signs([screen.under_way]).get(screen.under_way)
        except StoreError:
            sign = None
        if isinstance(screen, HeatScreen):
            words = _("This heat goes on {where}. What was played here since is not counted.")
            screen.live.forsaken = True
            stage.classroom.open(words.format(where=where_words(sign)))
        else:
            words = _("The round goes on {where}. What was played here since is not counted.")
            stage.notices.insert(0, words.format(where=where_words(sign)))
            self._go.open_readers()

    # Files

    def dropped(self, path: Path) -> None:
        """A file was dropped on the window: sheet music, for the reader who is chosen, or a
        record."""
        screen = self._go.screen
        if screen.dropped(path) or isinstance(screen, Play | HeatScreen):
            return  # the page's; and a round is not left by accident
        if path.suffix.lower() == ".json":
            self._go.show(GuestPage(self._stage, path))
        elif screen.takes_level is not None:
            self.open_piece(path, screen.takes_level)
        elif self._stage.sitting.reader is None:
            self.piece = path
            words = _("{file}: choose who reads it.").format(file=path.name)
            self._stage.notices.insert(0, words)
        else:
            self.open_piece(path)

    def _open_waiting_piece(self) -> bool:
        piece, self.piece = self.piece, None
        if piece is not None:
            self.open_piece(piece)
        return piece is not None

    def open_piece(self, path: Path, after: Callable[[str], None] | None = None) -> None:
        from game.pieces import PieceError, load_piece  # here: few visits need it
        from game.screens.reader.piece import PieceOffer

        def wait(taken_s: float) -> None:
            """A long piece: show that it is being read, and that the window lives."""
            canvas = self._stage.window.canvas
            canvas.clear()
            middle = canvas.width // 2, canvas.height // 2
            words = _("Reading {file} … {n} s").format(file=path.name, n=f"{taken_s:.0f}")
            canvas.text(words, middle, size=24, face="serif", anchor="center")
            canvas.flip()
            pygame.event.pump()

        try:
            offer = PieceOffer(self._stage, path.name, load_piece(path, wait=wait), after=after)
        except PieceError as error:
            trouble = str(error)
            if "--" in trouble:  # a choice that only the command offers
                trouble += _(". The command for it: stavewise levels from FILE")
            offer = PieceOffer(self._stage, path.name, None, trouble, after)
        self._go.show(offer)
