# SPDX-License-Identifier: MIT
"""What a heat is to be: level, length, how the readers play, and who is here."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from functools import partial
from itertools import chain, zip_longest
from typing import TYPE_CHECKING, Any, TypeVar

from game.heats import Forms, HeatSetup, PlayMode, Seat, form_of
from game.heats.setup import MOST_SEATS
from game.heats.standings import Shows
from game.levels import EmptyPool, LevelFaults, Rung
from game.screens.school.heat_best import best_before
from game.screens.school.here_today import away_today, keep_away
from game.screens.school.pick_pages import Here, PickLength, PickLevel
from game.screens.school.seat_keys import SeatKeys
from game.session.live_heat import HeatOptions, LiveHeat
from game.store import Member, SchoolClass, StoreError
from game.ui.list_page import ListPage
from game.ui.widgets import Control
from game.words.text import _, plural

if TYPE_CHECKING:
    from game.ui.stage import Stage

_T = TypeVar("_T")
_PROMPTS = (6, 8, 12, 16, 24, 32, 48)
_SECONDS = (30, 60, 90, 120, 180, 300)
_KEPT = "heat choices"
_MUCH = 1000  # seconds of all seats, whose notes take long enough to deal to say so


@dataclass(frozen=True)
class Choices:
    """What was chosen last; kept in the store's settings.

    Args:
        level: its id.
        prompts: how many; 0 for a timed heat.
        seconds: how long; 0 for a counted one.
        manner, forms, shows, pulled: as in HeatSetup and HeatOptions.
    """

    level: str = ""
    prompts: int = 12
    seconds: int = 0
    manner: str = PlayMode.IN_TURN
    forms: str = Forms.OWN
    shows: str = Shows.PODIUM
    pulled: bool = True

    @classmethod
    def from_kept(cls, kept: object) -> Choices:
        """From what the store kept; anything unknown is left out."""
        if not isinstance(kept, dict):
            return cls()
        usual, good = cls(), dict[str, Any]()
        for field in fields(cls):
            if type(kept.get(field.name)) is type(_plain(getattr(usual, field.name))):
                good[field.name] = kept[field.name]
        made = cls(**good)
        sound = (
            made.manner in tuple(PlayMode)
            and made.forms in tuple(Forms)
            and made.shows in tuple(Shows)
            and (made.prompts, made.seconds) in _lengths()
        )
        return made if sound else cls(level=made.level)


def _plain(value: object) -> object:
    return str(value) if isinstance(value, str) else value


def _lengths() -> list[tuple[int, int]]:
    return [(n, 0) for n in _PROMPTS] + [(0, n) for n in _SECONDS]


class HeatChoices(ListPage):
    """Stateful: a heat being prepared."""

    name = "heat-choices"
    narrow = 820

    def __init__(self, stage: Stage, one: SchoolClass, members: Sequence[Member]) -> None:
        super().__init__(stage)
        self.one, self.members = one, tuple(members)
        self.here = {member.id for member in members} - away_today(stage, one.id)
        try:
            kept = stage.store.get_setting(_KEPT, {})
        except StoreError:
            kept = {}
        self.choices = Choices.from_kept(kept)
        self.rung: Rung | None = None
        self.choose_level(self.choices.level)

    def enter(self) -> None:
        if self.stage.levels.look_again() or self.rung is None:
            self.choose_level(self.choices.level)

    def choose_level(self, level_id: str) -> None:
        """The heat reads this level; an unknown one is the ladder's first."""
        rungs = self.stage.levels.ladder.rungs
        found = [rung for rung in rungs if rung.level.id == level_id]
        self.rung = next(iter(found or rungs), None)
        if self.rung is not None:
            self.choices = replace(self.choices, level=self.rung.level.id)

    @property
    def takes_level(self) -> Callable[[str], None]:
        return self._made

    def _made(self, level_id: str) -> None:
        """A piece that was dropped here has become a level."""
        if level_id:
            self.choose_level(level_id)
        self.stage.go.show(self)

    # The page

    @property
    def title(self) -> str:
        return _("A heat for {name}").format(name=self.one.name)

    @property
    def below_title(self) -> str:
        if self.rung is None:
            return _("There is no level to read.")
        return self.rung.level.about

    def rows(self) -> list[Control]:
        now = self.choices
        here, all_ = len(self.here), len(self.members)
        rows = [
            self.row("level", _("Level"), self._pick_level, self._level_words(), adjust=self._level)
        ]
        length = _length_words(now.prompts, now.seconds)
        rows.append(self.row("length", _("Length"), self._pick_length, length, adjust=self._length))
        manner = {
            PlayMode.IN_TURN: _("in turn, on one keyboard"),
            PlayMode.TOGETHER: _("together, a keyboard each"),
        }
        rows.append(self._turned("manner", _("They play"), manner))
        forms = {
            Forms.OWN: _("their own notes, equally hard"),
            Forms.SAME: _("all the same notes"),
        }
        rows.append(self._turned("forms", _("They read"), forms))
        shows = {
            Shows.ALL: _("everybody's place"),
            Shows.PODIUM: _("the first three and the class's total"),
            Shows.CLASS: _("the class against its own best"),
        }
        rows.append(self._turned("shows", _("The projector shows"), shows))
        pulled = {True: _("everybody waits"), False: _("the others go on")}
        rows.append(self._turned("pulled", _("A keyboard pulled out"), pulled))
        if now.manner != PlayMode.TOGETHER:  # the row stays, so that none moves under the pointer
            rows[-1].enabled, rows[-1].value, rows[-1].adjust = False, pulled[True], None
        value = _("{here} of {all}").format(here=here, all=all_)
        rows.append(self.row("here", _("Who is here today"), self._pick_here, value))
        return rows

    def feet(self) -> list[Control]:
        words = _("Keyboards") if self.choices.manner == PlayMode.TOGETHER else _("Begin")
        return [
            self.button("on", words, self._on, "primary"),
            self.button("back", _("Back"), self.back),
        ]

    def leave_page(self) -> None:
        self.stage.classroom.open_class(self.one)

    def _level_words(self) -> str:
        return _("none") if self.rung is None else self.rung.level.title

    def _turned(self, field: str, label: str, words: Mapping[Any, str]) -> Control:
        """A row of a few choices: choosing it goes round them, the arrows stop at the ends."""
        values, now = list(words), getattr(self.choices, field)
        place = values.index(now)

        def arrow(by: int) -> None:
            self._change(**{field: _beside(values, place, by)})

        def act() -> None:
            self._change(**{field: values[(place + 1) % len(values)]})

        return self.row(field, label, act, words[now], adjust=arrow)

    # What is changed

    def _change(self, **values: Any) -> None:
        self.choices, self.note = replace(self.choices, **values), ""

    def _level(self, by: int) -> None:
        ids = [rung.level.id for rung in self.stage.levels.ladder.rungs]
        if self.choices.level in ids:
            self.note = ""
            self.choose_level(_beside(ids, ids.index(self.choices.level), by))

    def _length(self, by: int) -> None:
        lengths = _lengths()
        place = lengths.index((self.choices.prompts, self.choices.seconds))
        self._take_length(*_beside(lengths, place, by))

    def _take_length(self, prompts: int, seconds: int) -> None:
        self._change(prompts=prompts, seconds=seconds)

    def _pick_length(self) -> None:
        now = self.choices.prompts, self.choices.seconds
        two = zip_longest([(n, 0) for n in _PROMPTS], [(0, n) for n in _SECONDS])
        offers = [
            (_length_words(*one), partial(self._take_length, *one), one == now)
            for one in chain.from_iterable(two)  # a column of prompts, a column of seconds
            if one is not None
        ]
        self.stage.go.show(PickLength(self.stage, self, offers))

    def _pick_level(self) -> None:
        self.stage.go.show(PickLevel(self.stage, self))

    def _pick_here(self) -> None:
        self.stage.go.show(Here(self.stage, self))

    def keep_here(self) -> None:
        """Who is here is remembered for the day."""
        away = [member.id for member in self.members if member.id not in self.here]
        complaint = keep_away(self.stage, self.one.id, away)
        if complaint:
            self.say(complaint)

    # On

    def setup(self) -> HeatSetup:
        """The heat that was chosen, under a new seed.

        Raises:
            ValueError: nobody is here, or too many are.
        """
        assert self.rung is not None
        here = [member for member in self.members if member.id in self.here]
        if not here:
            raise ValueError(_("Nobody is here today: choose at least one reader."))
        if len(here) > MOST_SEATS:
            words = _(
                "A heat has at most {most} seats, and {here} are here. Play in {times} heats: "
                "under Who is here today choose who plays in this one (a range will do)."
            )
            times = -(-len(here) // MOST_SEATS)
            raise ValueError(words.format(most=MOST_SEATS, here=len(here), times=times))
        level, now, stage = self.rung.level, self.choices, self.stage
        compass = stage.settings.now.compass(*stage.piano.keyboards.heard)
        return HeatSetup(
            level.id,
            level.title,
            self.rung.text,
            stage.levels.new_seed(),
            now.prompts or None,
            now.seconds or None,
            PlayMode(now.manner),
            Forms(now.forms),
            seats_of(here),
            compass.low,
            compass.high,
        )

    def _on(self) -> None:
        if self.rung is None:
            return
        try:
            setup = self.setup()
            form_of(setup, setup.seats[0])
            self.stage.store.set_setting(_KEPT, asdict(self.choices))
            best = best_before(self.stage.store.school, self.one.id, setup)
        except EmptyPool:
            self.say(_("Your keys have fewer than two of the level's notes: see the settings."))
            return
        except (LevelFaults, StoreError, ValueError) as error:
            self.say(str(error))
            return
        manners = HeatOptions(Shows(self.choices.shows), self.choices.pulled, self.one.name, best)
        if setup.manner is PlayMode.TOGETHER:
            self.stage.go.show(SeatKeys(self.stage, setup, manners, self))
        else:
            self.begin(setup, manners)

    def begin(self, setup: HeatSetup, manners: HeatOptions) -> None:
        """Go to the heat."""
        stage = self.stage
        if (setup.seconds or 0) * len(setup.seats) > _MUCH:
            canvas = stage.window.canvas
            canvas.clear()
            middle = canvas.width // 2, canvas.height // 2
            canvas.text(_("Dealing the notes …"), middle, size=24, face="serif", anchor="center")
            canvas.flip()
        try:
            live = LiveHeat.begin(
                setup, manners, stage.store.school, stage.clock.now(), self.one.id
            )
        except EmptyPool:
            self.say(_("A seat's keys have fewer than two of the level's notes."))
            stage.go.show(self)
        except (LevelFaults, StoreError, ValueError) as error:
            self.say(str(error))
            stage.go.show(self)
        else:
            late = [member for member in self.members if member.id not in self.here]
            stage.classroom.open_heat(live, seats_of(late, after=len(setup.seats)))


def seats_of(members: Sequence[Member], after: int = 0) -> tuple[Seat, ...]:
    """The members as seats of a heat: on their own seat where they have one, else numbered on."""
    own = [member.seat for member in members if member.seat is not None]
    taken = {seat for seat in own if own.count(seat) == 1 and seat > after}
    seats, number = [], after
    for member in members:
        if member.seat in taken:
            seats.append(Seat(member.seat, member.name, str(member.id)))
            continue
        number += 1
        while number in taken:
            number += 1
        seats.append(Seat(number, member.name, str(member.id)))
    return tuple(sorted(seats, key=lambda seat: seat.number))


def _beside(choices: Sequence[_T], place: int, by: int) -> _T:
    """The one before or after; at an end, the end itself."""
    return choices[max(0, min(len(choices) - 1, place + by))]


def _length_words(prompts: int, seconds: int) -> str:
    if seconds:
        return _("{n} seconds").format(n=seconds)
    return plural("{n} prompt each", "{n} prompts each", prompts).format(n=prompts)
