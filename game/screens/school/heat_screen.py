# SPDX-License-Identifier: MIT
"""A heat under way: one clock, what the teacher does, and the readers' presses."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor
from typing import TYPE_CHECKING

import pygame

from game.heats import (
    Chair,
    CountIn,
    Disqualify,
    End,
    HeatEvent,
    HeatStep,
    Join,
    NextSeat,
    Phase,
    Redo,
    Reinstate,
    Seat,
    SeatFlip,
    Start,
)
from game.keyboards import KeyDown, KeyUp
from game.live_heat import LiveHeat
from game.rounds import Pause, Resume, Stop, Tick
from game.screens.school.called import called, called_at
from game.screens.school.heat_board import Board, board
from game.screens.school.heat_controls import KEYS, Does, controls, foot_hints
from game.screens.school.latecomers import Latecomers
from game.screens.school.seat_staff import Moment, SeatStaff
from game.screens.screen import Screen
from game.screens.text import _, clock, plural
from game.screens.widgets import Canvas, Control

if TYPE_CHECKING:
    from game.screens.stage import Stage


class HeatScreen(Screen):
    """Stateful: the projector's view of a heat, led from the computer's keyboard or mouse."""

    name = "heat"

    def __init__(self, stage: Stage, live: LiveHeat, late: Sequence[Seat] = ()) -> None:
        super().__init__(stage)
        self.live = live
        self.staves = {
            chair.seat.number: SeatStaff(stage.engraver, chair) for chair in live.heat.chairs
        }
        self.chosen = live.heat.turn or live.heat.chairs[0].seat.number
        self.late = Latecomers(tuple(late), self._enrol)
        self.pause_reason = ""
        self.mended = ""  # that what stopped the clock is over
        self._counted: int | None = None  # the last second of the count-in that sounded
        self._beats: dict[int, int] = {}
        self._asks: tuple[str, int] | None = None  # what is asked twice, and the seat chosen then
        self._board: tuple[object, Board] | None = None
        self.rooms: dict[int, tuple[int, int]] = {}  # seat -> where its staff is drawn, pixels
        self._prepares = False

    def leave(self) -> None:
        self.live.leave(self.stage.now())

    @property
    def shows_focus(self) -> bool:
        return False

    @property
    def heat_time(self) -> float:
        """Now, on the heat's clock."""
        return self.live.time(self.stage.now())

    def chair(self, number: int) -> Chair:
        """A seat as it is now."""
        chair = self.live.heat.chair(number)
        assert chair is not None
        return chair

    @property
    def board(self) -> Board:
        """The standings as they may be shown; worked out once a state."""
        heat = self.live.heat
        if self._board is None or self._board[0] is not heat:
            self._board = heat, board(heat, self.live.manners)
        return self._board[1]

    # Events

    def feed(self, event: HeatEvent) -> HeatStep:
        """Take in an event, and follow what it did."""
        phase = self.live.heat.phase
        done = self.live.feed(event)
        if done.heat.phase is not phase:
            self._asks = None  # it was asked of what is over
        number = done.seat
        if number in self.staves:
            self.staves[number].worth(done)
        now = self.stage.now()
        for chair in done.heat.chairs:
            staff = self.staves.get(chair.seat.number)
            if staff is None:
                staff = self.staves[chair.seat.number] = SeatStaff(self.stage.engraver, chair)
            staff.follow(chair, now)
        return done

    def shown(self, now: float) -> None:
        heat = self.live.heat
        if heat.phase is not Phase.RUNNING or heat.paused is not None:
            return
        for number, staff in self.staves.items():
            round = self.chair(number).round
            if staff.moment is Moment.READING and round is not None and round.since is None:
                self.feed(SeatFlip(self.live.time(now), number))
        self.live.keep()
        self._prepares = self._prepare()

    def _prepare(self) -> bool:
        """Engrave one of the prompts that come next; whether there may be more to do.

        One at a time, so that no press waits long.
        """
        for number, room in self.rooms.items():
            round = self.chair(number).round
            read = round is not None and round.since is not None
            if round is not None and read and self.staves[number].engrave_next(round, *room):
                return True
        return False

    def tick(self, now: float) -> None:
        t, heat = self.live.time(now), self.live.heat
        due = heat.start_due
        if due is not None and t >= due:
            self._counted = None
            self.feed(Start(t))
        elif due is not None:
            self._count(ceil(due - t))
        elif heat.phase is Phase.RUNNING and heat.paused is None:
            self.feed(Tick(t))
        for number, staff in self.staves.items():
            staff.tick(self.chair(number).round, now)
        self._sound_beats(t)
        self.settled(now)
        self.live.keep()

    def settled(self, now: float) -> None:
        """Everything that was due has been done: what follows from it."""

    def wait(self, now: float) -> float | None:
        if self._prepares:
            return 0.0
        heat, t = self.live.heat, self.live.time(now)
        waits = [
            staff.settle_until - now
            for staff in self.staves.values()
            if staff.moment is Moment.SETTLING
        ]
        due = heat.start_due
        if due is not None:
            waits.append((due - t) % 1.0 + 0.001)
        elif heat.phase is Phase.RUNNING and heat.paused is None:
            passed = t - (heat.since or 0.0)
            left = heat.left(t)
            waits.append((1.0 - passed % 1.0 if left is None else left % 1.0) + 0.001)
            for number, staff in self.staves.items():
                round = self.chair(number).round
                beat = staff.beat(round, t)
                if round is not None and beat is not None:
                    waits.append(staff.next_beat_s(round, beat))
        return max(0.0, min(waits)) if waits else None

    def _count(self, left: int) -> None:
        """A second of the count-in: seen in large, and heard."""
        if left != self._counted:
            self._counted = left
            self.stage.click(first=left == 1)

    def _sound_beats(self, t: float) -> None:
        """The beat of phrases that are read in time: that of the first seat which has one."""
        for number, staff in self.staves.items():
            beat = staff.beat(self.chair(number).round, t)
            if beat is None:
                self._beats.pop(number, None)
                continue
            if floor(beat) != self._beats.get(number):
                self._beats[number] = floor(beat)
                bar = self.beats_in_bar(staff)
                heard = self.stage.options.beat
                if heard == "always" or (heard == "count-in only" and beat < 0):
                    self.stage.click(first=floor(beat) % bar == 0)
            return

    @staticmethod
    def beats_in_bar(staff: SeatStaff) -> int:
        """Of the prompt that a seat has before it."""
        prompt = staff.prompt
        return round((prompt.bar_quarters or 4) / (prompt.beat_quarters or 1))

    # What the teacher does

    def layout(self, canvas: Canvas) -> list[Control]:
        return controls(canvas, self.does)

    @property
    def does(self) -> list[Does]:
        """What the teacher can do now, in order."""
        heat = self.live.heat
        if self.late.choosing:
            return self.late.does(self.take_in)
        found = [self._main()]
        if heat.turn is not None:
            found.append(Does(_("Next"), "N", self.next_turn))
        out = self.chair(self.chosen).disqualified
        redo = _("Sure? Redo") if self._asked("R") else _("Redo")
        found.append(Does(redo, "R", self.redo))
        found.append(Does(_("Counts again") if out else _("Not counted"), "X", self.disqualify))
        found.append(Does(_("Late"), "+", self.join))
        if heat.phase in (Phase.RUNNING, Phase.COUNT_IN):
            cut = _("Sure? Cut short") if self._asked("C") else _("Cut short")
            found.append(Does(cut, "C", self.cut))
            return found
        if not heat.done:
            sure = _("Sure? End it") if self._asked("Q") else _("Results")
            found.append(Does(sure, "Q", self.results))
        return [*found, Does(_("Leave"), "Esc", self.back)]

    def _main(self) -> Does:
        heat = self.live.heat
        if heat.paused is not None:
            return Does(_("Go on"), _("Space"), self.go_on)
        if heat.phase in (Phase.RUNNING, Phase.COUNT_IN):
            return Does(_("Pause"), _("Space"), self.pause)
        if heat.done:
            return Does(_("Results"), _("Space"), self.results)
        return Does(_("Start"), _("Space"), self.start)

    def _asked(self, key: str) -> bool:
        """Whether the next press of a key does what cannot be taken back, for this seat."""
        return self._asks == (key, self.chosen)

    def _sure(self, key: str) -> bool:
        """Whether this is the second press of such a key; the first one only asks."""
        sure = self._asked(key)
        self._asks = None if sure else (key, self.chosen)
        return sure

    def start(self) -> None:
        """Count in."""
        self.feed(CountIn(self.heat_time))

    def pause(self, reason: str = "") -> None:
        """The clock of all stops."""
        self.feed(Pause(self.heat_time))
        self.pause_reason, self.mended, self._counted = reason, "", None

    def go_on(self) -> None:
        """It goes on."""
        self.feed(Resume(self.heat_time))
        self.pause_reason = self.mended = ""

    def next_turn(self) -> None:
        """In turn: to the chosen seat, or to the next that has still to play."""
        turn = self.live.heat.turn
        if turn is None:
            return
        self.feed(NextSeat(self.heat_time, None if self.chosen == turn else self.chosen))
        self.chosen = self.live.heat.turn or self.chosen

    def redo(self) -> None:
        """The chosen seat plays again, on new notes; asked twice where a try would be lost."""
        chair = self.chair(self.chosen)
        if chair.round is not None and not self._sure("R"):
            return
        self.feed(Redo(self.heat_time, self.chosen))

    def disqualify(self) -> None:
        """The chosen seat counts no more, or again."""
        make = Reinstate if self.chair(self.chosen).disqualified else Disqualify
        self.feed(make(self.heat_time, self.chosen))

    def join(self) -> None:
        """Somebody is late: choose who."""
        self.late.choose([chair.seat for chair in self.live.heat.chairs])

    def take_in(self) -> None:
        """The latecomer has a seat."""
        seat = self.late.take()
        if seat is not None:
            self.joined(seat)

    def _enrol(self, name: str) -> str | None:
        """Somebody who is not in the class comes into it."""
        if self.live.class_id is None:
            return None
        done = self.live.school.import_members(self.live.class_id, [(name, None)])
        (member,) = (*done.added, *done.kept)
        return str(member.id)

    def joined(self, seat: Seat) -> None:
        """Give a latecomer the seat."""
        self.feed(Join(self.heat_time, seat))

    def cut(self) -> None:
        """The run ends here for everybody; asked twice."""
        if not self._sure("C"):
            return
        self.feed(Stop(self.heat_time))
        self.pause_reason = ""

    def results(self) -> None:
        """Close the heat, and show how it came out; asked twice while somebody has to play."""
        if not self.live.heat.done and not self._sure("Q"):
            return
        self.feed(End(self.heat_time))
        self.live.keep()
        self.stage.classroom.finish(self.live)

    def back(self) -> None:
        """Escape stops the clock; then it leaves, and the heat is offered again."""
        heat = self.live.heat
        if self._asks is not None:
            self._asks = None
        elif heat.phase in (Phase.RUNNING, Phase.COUNT_IN) and heat.paused is None:
            self.pause()
        else:
            self.live.keep()
            self.stage.classroom.open()

    def choose(self, by: int) -> None:
        """Choose the seat that the teacher's keys are about."""
        self._asks = None
        numbers = [chair.seat.number for chair in self.live.heat.chairs]
        self.chosen = numbers[(numbers.index(self.chosen) + by) % len(numbers)]

    def key(self, event: pygame.event.Event) -> None:
        if self.late.choosing:
            self.late.key(event, self.take_in)
        elif event.key == pygame.K_ESCAPE:
            self.back()
        elif event.key in (pygame.K_RIGHT, pygame.K_LEFT, pygame.K_DOWN, pygame.K_UP):
            self.choose(1 if event.key in (pygame.K_RIGHT, pygame.K_DOWN) else -1)
        elif event.key in (pygame.K_RETURN, pygame.K_KP_ENTER, pygame.K_SPACE):
            self._asks = None
            self.does[0].act()
        else:
            name = KEYS.get(event.key)
            if self._asks is not None and self._asks[0] != name:
                self._asks = None
            for one in self.does[1:]:
                if one.key == name:
                    one.act()

    def text_typed(self, words: str) -> None:
        self.late.text_typed(words)

    def piano(self, event: KeyDown | KeyUp) -> None:
        if isinstance(event, KeyDown):
            self.pressed(event)

    def pressed(self, event: KeyDown) -> None:
        """A key went down: a reader's, never the teacher's."""

    # What is drawn

    def clock_words(self) -> str:
        """The one clock."""
        heat, t = self.live.heat, self.heat_time
        left = heat.left(t)
        if left is not None:
            return clock(left)
        if heat.phase is Phase.RUNNING and heat.since is not None:
            passed = (t if heat.paused is None else heat.paused) - heat.since
            return f"{int(passed) // 60}:{int(passed) % 60:02d}"
        if heat.setup.seconds is not None:
            return clock(0.0 if heat.done else heat.setup.seconds)
        return ""

    def count_in_left(self) -> int | None:
        """The number that is counted now; None outside a count-in that runs."""
        due = self.live.heat.start_due
        return None if due is None else max(1, min(ceil(due - self.heat_time), _MOST_COUNTED))

    def said(self) -> tuple[Sequence[str], bool]:
        """What stands beside the clock, and whether somebody must do something about it."""
        heat = self.live.heat
        if self.late.choosing:
            words, complaint = self.late.said()
            return (words,), complaint
        question = self.question()
        if question:
            return (question,), True
        if heat.paused is not None:
            if self.mended:
                return (_("{what}. Space goes on").format(what=self.mended),), False
            return (self.pause_reason or _("Paused"),), bool(self.pause_reason)
        shifted = [called_at(chair.seat) for chair in heat.chairs if self._shifted(chair)]
        if shifted:
            words = _("Keyboard shifted by octaves? {names}")
            return (words.format(names=", ".join(shifted)),), True
        if self.board.parts:
            return self.board.parts, False
        setup = heat.setup
        words = plural("{n} prompt each", "{n} prompts each", setup.prompts or 0)
        length = _("{n} seconds").format(n=setup.seconds) if setup.seconds else words
        return (setup.level_title, length.format(n=setup.prompts)), False

    def _shifted(self, chair: Chair) -> bool:
        return chair.playing and self.staves[chair.seat.number].octaves.tells

    def question(self) -> str:
        """What is asked before it is done; empty where nothing is."""
        if self._asked("R"):
            name = called(self.chair(self.chosen).seat)
            return _("Redo {name}? R again: this try is lost").format(name=name)
        if self._asked("C"):
            turn = self.live.heat.turn
            if turn is None:
                return _("End this run for all? C again")
            return _("End {name}'s run? C again").format(name=called(self.chair(turn).seat))
        return ""

    def foot(self, canvas: Canvas) -> None:
        """The teacher's line."""
        foot_hints(canvas, called(self.chair(self.chosen).seat), self.stage.store.pending)


_MOST_COUNTED = 99
