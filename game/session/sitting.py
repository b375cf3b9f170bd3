# SPDX-License-Identifier: MIT
"""Somebody sits down to read: who, and what is known of them."""

from __future__ import annotations

from dataclasses import replace

from game.keyboards import RobotReader
from game.levels import EmptyPool
from game.reader import LevelSearch, Profile
from game.rounds import Pace, Round, Terms
from game.session.clock import Clock
from game.session.level_shelf import LevelShelf
from game.session.live_round import LiveRound
from game.session.paces import chosen_pace
from game.session.piano import Piano
from game.session.profiles import (
    keep_search,
    learn,
    learnt,
    profile_of,
    search_of,
    seen_before,
    todays_practice,
)
from game.session.settings import SettingsInUse
from game.store import Reader, Store, StoreError


class Sitting:
    """Stateful: the reader of this opening of the game, and their profile.

    Args:
        store: has their rounds.
        levels: what they read.
        piano: what they play.
        settings: as they are now.
        clock: the game's.
        notices: where it is told what could not be read or kept.
        robot: plays by itself instead of a person.
    """

    def __init__(
        self,
        store: Store,
        levels: LevelShelf,
        piano: Piano,
        settings: SettingsInUse,
        clock: Clock,
        notices: list[str],
        robot: RobotReader | None = None,
    ) -> None:
        self._store, self._levels, self._piano = store, levels, piano
        self._settings, self._clock, self._notices = settings, clock, notices
        self.robot = robot
        self.reader: Reader | None = None
        """None until chosen."""
        self.read_s = 0.0
        """Seconds of rounds read since a break was last suggested."""
        self.profile = Profile()
        self.placed = ""
        """Id of the level that the reader was found to be at; empty where none was looked for."""
        self._to_learn: list[Round] = []

    @property
    def _id(self) -> int:
        assert self.reader is not None
        return self.reader.id

    def sit_down(self, reader: Reader) -> None:
        """Somebody begins to read."""
        self.reader, self.read_s = reader, 0.0
        self._to_learn.clear()
        try:
            self.profile = profile_of(self._store, reader.id)
            self.placed = search_of(self._store, reader.id)[1]
        except StoreError as error:
            self.profile, self.placed = Profile(), ""
            self._notices.append(str(error))

    def begin(self, terms: Terms) -> LiveRound:
        """A new round on the keyboard that is played.

        Raises:
            EmptyPool: it has not the keys for it.
            StoreError: the store cannot be written.
        """
        timed = terms.level().time is not None
        terms = replace(terms, delay_s=self._delay_s if timed else 0.0)
        known = terms.known or seen_before(self._store, self._id, terms)
        terms = replace(terms, known=known)
        return LiveRound.begin(terms, self._id, self._store, self._clock.now())

    def on_this_keyboard(self, live: LiveRound) -> LiveRound:
        """A round in time that waits for its first key, with the delay of the keyboard that was
        played now: itself, or another one in its place."""
        if live.round.started is not None or live.terms.delay_s == self._delay_s:
            return live
        try:
            other = self.begin(live.terms)
        except (EmptyPool, StoreError):
            return live
        live.discard()
        return other

    @property
    def _delay_s(self) -> float:
        return self._settings.now.delays.get(self._piano.playing_on, 0.0)

    def pace_for(self, live: LiveRound) -> Pace | None:
        """What a round is read against; None for nothing."""
        if self.reader is None:
            return None
        choice = self._settings.now.pace
        return chosen_pace(self._store, self._id, live.terms, live.round, choice)

    def learn(self, ended: Round) -> None:
        """Learn from a round; what cannot be kept is learnt again with the next one."""
        self._to_learn.append(ended)
        try:
            self.profile = learn(self._store, self._id, self.profile, self._to_learn)
            self._to_learn.clear()
        except StoreError as error:
            self.profile = learnt(self.profile, ended)
            self._notices.insert(0, str(error))

    def practice(self, after: LiveRound | None = None) -> Terms:
        """Today's practice; what was missed in a round of it just played comes again.

        Raises:
            EmptyPool: nothing can be practised on this keyboard.
            StoreError: the store cannot be read.
        """
        passed, seed = self._store.pass_days(self._id), self._levels.new_seed()
        compass, ladder = self._piano.compass, self._levels.ladder
        return todays_practice(self.profile, ladder, passed, seed, compass, self.placed, after)

    def search(self) -> LevelSearch | None:
        """The search for the reader's level, begun or gone on with; None where nothing can be
        asked on this keyboard.

        Raises:
            StoreError: the store cannot be read.
        """
        kept, _level = search_of(self._store, self._id)
        return LevelSearch.begin(self._levels.ladder, self._piano.compass, kept)

    def searched(self, search: LevelSearch, ended: Round) -> None:
        """A prompt of the search was answered: learn from it, and keep how far it has come."""
        self.learn(ended)
        self.read_s += ended.score.seconds
        try:
            self.placed = keep_search(self._store, self._id, search)
        except StoreError as error:
            self._notices.insert(0, str(error))
