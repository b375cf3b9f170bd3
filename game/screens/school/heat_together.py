# SPDX-License-Identifier: MIT
"""A heat that all play together: a tile for each seat, which is also what it reads from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import floor
from typing import TYPE_CHECKING

import pygame

from game.heats import Bound, HeatPhase, Join, Seat, SeatPress
from game.heats.seats import Bindings, Heard, ask, heard
from game.keyboards import Keyboards, KeyDown
from game.screens.school.called import called, called_at
from game.screens.school.heat_clicks import beats_in_bar
from game.screens.school.heat_controls import FOOT
from game.screens.school.heat_screen import HeatScreen
from game.screens.school.heat_strip import STRIP, strip
from game.screens.school.seat_staff import SeatStaff, SeatStage
from game.screens.school.seat_tile import Face, SeatTile, staff_room, tile_rooms
from game.session.live_heat import LiveHeat
from game.ui.widgets import Canvas, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage


class HeatTogether(HeatScreen):
    """Stateful: the seats, their keyboards, and their tiles."""

    hears_all = True

    def __init__(
        self, stage: Stage, live: LiveHeat, late: Sequence[Seat] = (), *, resumed: bool = False
    ) -> None:
        super().__init__(stage, live, late)
        seats = [chair.seat for chair in live.heat.chairs]
        # What was connected before the window was closed may have other names now.
        self.bindings = Bindings.begin(seats, () if resumed else stage.piano.keyboards.heard)
        self.joining: Seat | None = None
        self._lost: list[int] = []  # seats whose keyboards were out since the clock stopped
        self._tiles: dict[int, SeatTile] = {}
        self._places: dict[int, Rect] = {}
        self._columns: tuple[object, int] | None = None  # of these seats in this room
        self._grid: tuple[tuple[int, int], list[Rect]] | None = None  # the room, and its places

    def enter(self) -> None:
        self._heard(self.stage.piano.keyboards)

    # Keyboards

    def pressed(self, event: KeyDown) -> None:
        number = self._heard(event).seat
        t = self.live.time(event.t)
        self.feed(SeatPress(t, number, event.key, event.velocity, event.keyboard))

    def _heard(self, event: KeyDown | Keyboards) -> Heard:
        """What a keyboard's event does to the bindings."""
        done = heard(self.bindings, event)
        self.bindings = done.bindings
        t = self.heat_time
        if self._lost and not self.bindings.missing:
            names = ", ".join(called_at(self.chair(number).seat) for number in self._lost)
            if self.live.heat.paused is None:
                self._lost = []
            else:
                self.mended = _("Back: {names}").format(names=names)
        for number in done.bound:
            binding = done.bindings.binding(number)
            assert binding is not None
            if self.joining is not None and number == self.joining.number:
                self.feed(Join(t, replace(self.joining, binding=binding)))
                self.joining = None
            elif self.chair(number).seat.binding != binding:
                self.feed(Bound(t, number, binding))
        return done

    def keyboards_changed(self, event: Keyboards) -> None:
        lost = self._heard(event).lost
        if lost and self.clock_runs and self.live.manners.pulled:
            self.pause()
        if lost:
            self.mended = ""
            self._lost += [number for number in lost if number not in self._lost]
            self.live.keep()

    def go_on(self) -> None:
        super().go_on()
        self._lost = [*self.bindings.missing]

    def said(self) -> tuple[Sequence[str], bool]:
        if self.asks.open:
            return super().said()
        missing, asked = self.bindings.missing, self.bindings.asked
        if self.joining is not None and not self.late.choosing:
            return (_("{name}: play any key").format(name=called(self.joining)),), False
        if missing and not self.late.choosing:
            # One at a time is asked: the next keyboard that is played is taken for theirs.
            first = next((number for number in asked if number in missing), None)
            if first is not None:
                words, names = _("{names}: play any key"), [first]
            else:
                words, names = _("Keyboard out: {names}"), [*missing]
            said = ", ".join(called_at(self.chair(number).seat) for number in names)
            return (words.format(names=said),), True
        parts, alarm = super().said()
        heat = self.live.heat
        if heat.phase is HeatPhase.WAITING and heat.to_play and not (alarm or self.late.choosing):
            ready = sum(chair.ready for chair in heat.chairs if chair.to_play)
            words = _("{n} of {all} ready").format(n=ready, all=len(heat.to_play))
            return (words, *parts), False
        return parts, alarm

    def back(self) -> None:
        if self.joining is None:
            super().back()
        else:
            asked = tuple(seat for seat in self.bindings.asked if seat != self.joining.number)
            self.joining, self.bindings = None, replace(self.bindings, asked=asked)

    def joined(self, seat: Seat) -> None:
        """A latecomer plays a key on a keyboard that is nobody's; only then they are in."""
        self.joining = seat
        self.bindings = ask(self.bindings, seat.number)

    # What is drawn

    def paint(self, canvas: Canvas) -> None:
        parts, alarm = self.said()
        strip(canvas, self.clock_words(), parts, alarm=alarm)
        for number, rect in self._layout(canvas).items():
            self._tile(number).draw(canvas, rect, self._face(number))
        self.foot(canvas)

    def _tile(self, number: int) -> SeatTile:
        if number not in self._tiles:
            self._tiles[number] = SeatTile(self.staves[number])
        return self._tiles[number]

    def _face(self, number: int) -> Face:
        chair, heat = self.chair(number), self.live.heat
        staff, round = self.staves[number], chair.round
        marks = self.board.marks
        words, blank = "", False
        if number in self.bindings.missing:
            asked = self.bindings.asked[:1] == (number,)
            words = _("Play any key") if asked else _("Keyboard out")
        elif number in self.bindings.asked:
            words = _("Play any key")
        elif heat.paused is not None and chair.playing:
            words = _("Paused")
        elif staff.moment is SeatStage.NOTHING:
            if heat.phase is HeatPhase.COUNT_IN:
                words = str(self.count_in_left()) if chair.to_play else _("Waits")
            else:
                words = _("Ready") if chair.ready else _("Any key: ready")
            if chair.disqualified:
                words = _("Not counted")
        elif staff.moment is SeatStage.DONE:
            words = _("Not counted") if chair.disqualified else _("Done")
        share, count = None, None
        if round is not None:
            asked_for = sum(1 for prompt in chair.form for slot in prompt.slots if slot.keys)
            if heat.setup.seconds is None:
                share = len(round.results) / max(1, asked_for)
            else:
                count = len(round.results)
        elif heat.setup.seconds is None:
            share = 0.0
        beat = staff.beat(round, self.heat_time)
        bar = beats_in_bar(staff) if beat is not None else 1
        return Face(
            called(chair.seat),
            marks.get(number, ""),
            staff.last if staff.moment in (SeatStage.READING, SeatStage.SETTLING) else None,
            words,
            blank,
            share,
            count,
            number == self.chosen,
            chair.disqualified,
            None if beat is None else (floor(beat) % bar + 1, bar),
            staff.question(round)[0],
        )

    def _layout(self, canvas: Canvas) -> dict[int, Rect]:
        """The tiles, as many columns as make the staves largest.

        While a run lasts nobody's place is given to another: who comes late has a free one, or a
        part of one.
        """
        px = canvas.px
        numbers = [chair.seat.number for chair in self.live.heat.chairs]
        area = Rect(px(10), px(STRIP), canvas.width - px(20), canvas.height - px(STRIP + FOOT + 6))
        gap = px(8)
        runs = self.live.heat.phase in (HeatPhase.COUNT_IN, HeatPhase.RUNNING)
        if self._grid is None or self._grid[0] != area.size or not (runs and self._places):
            self._lay_all(canvas, area, numbers, gap)
        for number in numbers:
            if number not in self._places:
                self._squeeze_in(canvas, number, gap)
        counts = self.live.heat.setup.seconds is not None
        self.rooms = {
            number: tile_rooms(canvas, self.staves[number], *rect.size, counts=counts)[0].size
            for number, rect in self._places.items()
        }
        return self._places

    def _lay_all(self, canvas: Canvas, area: Rect, numbers: Sequence[int], gap: int) -> None:
        """Place all the seats, in order of their numbers."""
        looks = (area.size, tuple(numbers))
        if self._columns is None or self._columns[0] != looks:
            staves = [self.staves[number] for number in numbers]
            self._columns = looks, best_columns(canvas, area, staves, gap)
        self._grid = area.size, cells(area, self._columns[1], len(numbers), gap)
        self._places = dict(zip(numbers, self._grid[1], strict=False))

    def _squeeze_in(self, canvas: Canvas, number: int, gap: int) -> None:
        """Place one more: where nobody is, else beside the last of those with the most room."""
        assert self._grid is not None
        taken = list(self._places.values())
        free = [cell for cell in self._grid[1] if cell.collidelist(taken) < 0]
        if free:
            self._places[number] = free[0]
            return
        gives = max(reversed(self._places), key=lambda n: self._places[n].w * self._places[n].h)
        whole = self._places[gives]
        columns = best_columns(canvas, whole, [self.staves[gives], self.staves[number]], gap)
        self._places[gives], self._places[number] = cells(whole, columns, 2, gap)

    def mouse(self, event: pygame.event.Event) -> None:
        if event.type == pygame.MOUSEBUTTONDOWN and event.button == 1:
            for number, rect in self._places.items():
                if rect.collidepoint(event.pos):
                    self.chosen = number
                    return
        super().mouse(event)


def cells(area: Rect, columns: int, count: int, gap: int) -> list[Rect]:
    """The places of a grid for so many, line by line; also those that are left over."""
    rows = -(-count // columns)
    width = (area.width - gap * (columns - 1)) // columns
    height = (area.height - gap * (rows - 1)) // rows
    return [
        Rect(area.x + x * (width + gap), area.y + y * (height + gap), width, height)
        for y in range(rows)
        for x in range(columns)
    ]


def best_columns(canvas: Canvas, area: Rect, staves: Sequence[SeatStaff], gap: int) -> int:
    """The number of columns with which the smallest staff is largest."""

    def smallest(columns: int) -> tuple[int, int]:
        rows = -(-len(staves) // columns)
        width = (area.width - gap * (columns - 1)) // columns
        height = (area.height - gap * (rows - 1)) // rows
        room = staff_room(canvas, width, height, asks=staves[0].asks)
        if room.height <= 0:
            return 0, 0
        space = min(staff.space(staff.prompt, room.width, room.height) for staff in staves)
        return space, -(columns * rows - len(staves))

    return max(range(1, len(staves) + 1), key=lambda columns: (*smallest(columns), -columns))
