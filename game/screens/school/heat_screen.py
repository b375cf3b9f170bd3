# SPDX-License-Identifier: MIT
"""A heat under way: one clock, what the teacher does, and the readers' presses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil, inf
from typing import TYPE_CHECKING

import pygame

from game.heats import (
    Chair,
    CountIn,
    Disqualify,
    End,
    HeatEvent,
    HeatPhase,
    HeatStep,
    Join,
    Redo,
    Reinstate,
    Seat,
    SeatFlip,
    Start,
)
from game.keyboards import KeyDown, KeyUp
from game.rounds import Pause, Resume, Stop, Tick
from game.screens.school.called import called, called_at
from game.screens.school.heat_asks import HeatAsks
from game.screens.school.heat_board import Board, board
from game.screens.school.heat_clicks import HeatClicks
from game.screens.school.heat_controls import KEYS, Does, controls, foot_hints
from game.screens.school.heat_strip import STRIP, task_words, time_words
from game.screens.school.latecomers import Latecomers
from game.screens.school.seat_staff import SeatStaff, SeatStage
from game.session.live_heat import LiveHeat
from game.store import heat_target
from game.ui.asked_twice import HASTE_S
from game.ui.screen import Screen
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage


class HeatScreen(Screen):
    """Stateful: the projector's view of a heat, led from the computer's keyboard or mouse."""

    name = "heat"
    judges = True

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
        self.clicks = HeatClicks(stage)
        self.asks = HeatAsks(stage.clock.now, lambda: self.live.heat, lambda: self.chosen)
        self._board: tuple[object, Board] | None = None
        self.rooms: dict[int, tuple[int, int]] = {}  # seat -> where its staff is drawn, pixels
        self._prepares = False

    @property
    def under_way(self) -> str:
        return heat_target(self.live.name)

    def leave(self) -> None:
        self.live.leave(self.stage.clock.now())

    @property
    def shows_focus(self) -> bool:
        return False

    @property
    def heat_time(self) -> float:
        """Now, on the heat's clock."""
        return self.live.time(self.stage.clock.now())

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
            self.asks.run_over()
        number = done.seat
        if number in self.staves:
            self.staves[number].worth(done)
        now = self.stage.clock.now()
        for chair in done.heat.chairs:
            staff = self.staves.get(chair.seat.number)
            if staff is None:
                staff = self.staves[chair.seat.number] = SeatStaff(self.stage.engraver, chair)
            staff.follow(chair, now)
        return done

    def shown(self, now: float) -> None:
        heat = self.live.heat
        if heat.phase is not HeatPhase.RUNNING or heat.paused is not None:
            return
        for number, staff in self.staves.items():
            round = self.chair(number).round
            if staff.moment is SeatStage.READING and round is not None and round.since is None:
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
            self.clicks.begin()
            self.feed(Start(t))
        elif due is not None:
            self.clicks.count(ceil(due - t))
        elif heat.phase is HeatPhase.RUNNING and heat.paused is None:
            self.feed(Tick(t))
        for number, staff in self.staves.items():
            staff.tick(self.chair(number).round, now)
        self.clicks.beat(self.live.heat, self.staves, t)
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
            if staff.moment is SeatStage.SETTLING
        ]
        if self.asks.left is not None:
            waits.append(self.asks.left)
        due = heat.start_due
        if due is not None:
            waits.append((due - t) % 1.0 + 0.001)
        elif heat.phase is HeatPhase.RUNNING and heat.paused is None:
            passed = t - (heat.since or 0.0)
            left = heat.left(t)
            waits.append((1.0 - passed % 1.0 if left is None else left % 1.0) + 0.001)
            for number, staff in self.staves.items():
                round = self.chair(number).round
                beat = staff.beat(round, t)
                if round is not None and beat is not None:
                    waits.append(staff.next_beat_s(round, beat))
        return max(0.0, min(waits)) if waits else None

    # What the teacher does

    def layout(self, canvas: Canvas) -> list[Control]:
        return controls(canvas, self.does, self._do)

    @property
    def does(self) -> list[Does]:
        """What the teacher can do now, in order."""
        heat = self.live.heat
        if self.late.choosing:
            return self.late.does(self.take_in)
        runs = heat.phase in (HeatPhase.RUNNING, HeatPhase.COUNT_IN)
        out = self.chair(self.chosen).disqualified
        found = [self._main()]
        if heat.turn is not None:
            found.append(Does(_("Next"), "N", self.next_turn))
        found.append(Does(_("Redo"), "R", self.redo))
        found.append(Does(_("Counts again") if out else _("Not counted"), "X", self.disqualify))
        found.append(Does(_("Late"), "+", self.join))
        if runs:
            found.append(Does(_("Cut short"), "C", self.cut))
        if not heat.done:
            found.append(Does(_("Results"), "Q", self.results))
        if heat.paused is not None or not runs:
            found.append(Does(_("Leave"), "Esc", self.back))
        return [
            replace(one, label=_("Sure? {what}").format(what=one.label))
            if self.asks.asked(one.key)
            else one
            for one in found
        ]

    def _main(self) -> Does:
        heat, ready = self.live.heat, not self.held
        if heat.paused is not None:
            return Does(_("Go on"), _("Space"), self.go_on, ready)
        if heat.phase in (HeatPhase.RUNNING, HeatPhase.COUNT_IN):
            return Does(_("Pause"), _("Space"), self.pause)
        if heat.done:
            return Does(_("Results"), _("Space"), self.results)
        return Does(_("Start"), _("Space"), self.start, ready)

    @property
    def held(self) -> bool:
        """Whether the clock must not run now."""
        return False

    def _do(self, one: Does) -> None:
        """Do it, or ask first; whatever else was asked is answered with no."""
        if not one.enabled:
            return
        if not self.asks.asked(one.key):
            self.asks.drop()
        one.act()

    @property
    def clock_runs(self) -> bool:
        """Whether the clock of the seats is running, or counted in."""
        heat = self.live.heat
        return heat.phase in (HeatPhase.RUNNING, HeatPhase.COUNT_IN) and heat.paused is None

    def start(self) -> None:
        """Count in."""
        self.feed(CountIn(self.heat_time))

    def pause(self, reason: str = "") -> None:
        """The clock of all stops."""
        self.feed(Pause(self.heat_time))
        self.pause_reason, self.mended = reason, ""
        self.clicks.begin()

    def stop_clock(self, reason: str) -> None:
        if self.clock_runs:
            self.pause(reason)

    def go_on(self) -> None:
        """It goes on."""
        self.feed(Resume(self.heat_time))
        self.pause_reason = self.mended = ""

    def next_turn(self) -> None:
        """In turn, the turn passes on."""

    def redo(self) -> None:
        """The chosen seat plays again, on new notes."""
        if self.asks.sure("R"):
            self.feed(Redo(self.heat_time, self.chosen))

    _turned_at = -inf  # when a seat was last made to count no more, or again

    def disqualify(self) -> None:
        """The chosen seat counts no more, or again. A double press is one."""
        now = self.stage.clock.now()
        if now - self._turned_at < HASTE_S:
            return
        make = Reinstate if self.chair(self.chosen).disqualified else Disqualify
        if make is Disqualify and not self.asks.sure("X"):
            return
        self._turned_at = now
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
        """The run ends here for everybody."""
        if not self.asks.sure("C"):
            return
        self.feed(Stop(self.heat_time))
        self.pause_reason = ""

    def results(self) -> None:
        """Close the heat, and show how it came out."""
        if not self.asks.sure("Q"):
            return
        self.feed(End(self.heat_time))
        self.live.keep()
        self.stage.classroom.finish(self.live)

    def back(self) -> None:
        """Escape stops the clock; then it leaves, and the heat is offered again."""
        if self.asks.open:
            self.asks.drop()
        elif self.clock_runs:
            self.pause()
        else:
            self.live.keep()
            self.stage.classroom.open()

    def choose(self, by: int) -> None:
        """Choose the seat that the teacher's keys are about."""
        self.asks.drop()
        numbers = [chair.seat.number for chair in self.live.heat.chairs]
        self.chosen = numbers[(numbers.index(self.chosen) + by) % len(numbers)]

    def key(self, event: pygame.event.Event) -> None:
        if self.late.choosing:
            self.late.key(event, self.take_in)
        elif event.key == pygame.K_ESCAPE:
            self.back()
        elif event.key in (pygame.K_RIGHT, pygame.K_LEFT, pygame.K_DOWN, pygame.K_UP):
            self.choose(1 if event.key in (pygame.K_RIGHT, pygame.K_DOWN) else -1)
        elif event.key == pygame.K_SPACE:  # not Enter, which has just taken somebody in
            self._do(self.does[0])
        else:
            self._key(KEYS.get(event.key, ""))

    def _key(self, name: str) -> None:
        """A key of the foot, by its name."""
        one = next((one for one in self.does if one.key == name), None)
        if one is not None:
            self._do(one)
        elif name == "Q":  # once all have played, the foot has it under another
            self.results()
        else:
            self.asks.drop()

    @property
    def types_at(self) -> Rect | None:
        canvas = self.stage.window.canvas
        return Rect(0, 0, canvas.width, canvas.px(STRIP)) if self.late.typing else None

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
        return time_words(self.live.heat, self.heat_time)

    def count_in_left(self) -> int | None:
        """The number that is counted now; None outside a count-in that runs."""
        due = self.live.heat.start_due
        return None if due is None else max(1, min(ceil(due - self.heat_time), _MOST_COUNTED))

    def said(self) -> tuple[Sequence[str], bool]:
        """What stands beside the clock, and whether somebody must do something about it."""
        heat = self.live.heat
        if self.late.choosing:
            words, complaint = self.late.said(self.composing)
            return (words,), complaint
        if self.asks.open:
            return (self.asks.words,), True
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
        return task_words(heat.setup), False

    def _shifted(self, chair: Chair) -> bool:
        return chair.playing and self.staves[chair.seat.number].octaves.tells

    def foot(self, canvas: Canvas) -> None:
        """The teacher's line."""
        store, seat = self.stage.store, called(self.chair(self.chosen).seat)
        foot_hints(canvas, seat, store.pending, store.unsaved)


_MOST_COUNTED = 99
