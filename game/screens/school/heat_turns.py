# SPDX-License-Identifier: MIT
"""A heat in turn on one keyboard: the next name in large letters, then that reader's staff."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, inf
from typing import TYPE_CHECKING

import pygame

from game.heats import CountIn, HeatEvent, HeatPhase, HeatStep, NextSeat, Seat, SeatPress
from game.heats.standings import Shows
from game.keyboards import Keyboards, KeyDown, KeyUp
from game.screens.school.called import called, called_at
from game.screens.school.heat_board import done_words
from game.screens.school.heat_clicks import beats_in_bar
from game.screens.school.heat_controls import FOOT
from game.screens.school.heat_queue import Turn, queue
from game.screens.school.heat_screen import HeatScreen
from game.screens.school.heat_strip import STRIP, strip
from game.screens.school.seat_keys import fitting
from game.screens.school.seat_staff import SeatStaff, SeatStage
from game.screens.school.seat_tile import LEAST_TEXT, announce
from game.session.live_heat import LiveHeat
from game.ui import theme
from game.ui.asked_twice import AskedTwice
from game.ui.screen import PIANO_YES
from game.ui.widgets import Canvas, PianoView, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage

_NAME, _SMALLEST_NAME = 120, LEAST_TEXT
_PIANO = 96
_CALLED = 266  # height of a name that is called out, with the lines above and below it

_NOBODY = 0  # no seat has this number: a press of it is kept, and is nobody's

REST_S, STILL_S = 2.0, 1.0
"""Seconds for which keys are nobody's after a turn, and at least after each key that was pressed in
them: hands that still play do not count the next in."""


class HeatTurns(HeatScreen):
    """Stateful: whose turn it is, and what they read."""

    def __init__(self, stage: Stage, live: LiveHeat, late: Sequence[Seat] = ()) -> None:
        super().__init__(stage, live, late)
        keys = [
            key
            for chair in live.heat.chairs
            for prompt in chair.form
            for slot in prompt.slots
            for key in slot.keys
        ]
        compass = stage.piano.compass
        low = max(compass.low, min([60, *keys]) // 12 * 12)
        high = min(compass.high, -(-(max([72, *keys]) + 1) // 12) * 12)
        self._piano = PianoView(low, high)
        self._had = False  # a MIDI keyboard has been connected
        self._twice = AskedTwice(stage.clock.now)  # whether the piano is to show the results
        self._theirs = ""  # the keyboard that said "ready", while its reader plays
        self._stays: int | None = None  # the seat that stays chosen until the next one begins

    def enter(self) -> None:
        self._had = self.stage.piano.connected

    @property
    def plays_letters(self) -> bool:
        return not (self.stage.piano.connected or self.out or self.late.typing)

    @property
    def out(self) -> bool:
        """Whether the heat was played on a MIDI keyboard, and none is connected now."""
        return self._had and not self.stage.piano.connected

    @property
    def held(self) -> bool:
        return self.out

    @property
    def turn(self) -> int:
        """Whose turn it is."""
        assert self.live.heat.turn is not None
        return self.live.heat.turn

    @property
    def staff(self) -> SeatStaff:
        """Theirs."""
        return self.staves[self.turn]

    # What happens

    def pressed(self, event: KeyDown) -> None:
        if self._rests(event.t):
            self._rests_until = max(self._rests_until, event.t + STILL_S)
            return
        leads = self._over and event.key == PIANO_YES and not self.late.choosing
        if leads and self._twice.sure("results"):
            self.results()
            return
        waits = self.live.heat.phase is HeatPhase.WAITING
        strange = not waits and self._has_theirs and event.keyboard != self._theirs
        seat, was_ready = _NOBODY if strange else None, self.chair(self.turn).ready
        t = self.live.time(event.t)
        self.feed(SeatPress(t, seat, event.key, event.velocity, event.keyboard))
        if waits and not was_ready and self.chair(self.turn).ready:
            self._theirs = event.keyboard

    def feed(self, event: HeatEvent) -> HeatStep:
        ran = self.live.heat.phase is HeatPhase.RUNNING
        step = super().feed(event)
        if ran and step.heat.phase is not HeatPhase.RUNNING:
            self._rests_until = self.stage.clock.now() + REST_S
        return step

    @property
    def _over(self) -> bool:
        """Whether all have played, and the last verdict has been seen."""
        shown = self.staff.moment in (SeatStage.DONE, SeatStage.NOTHING)
        return self.live.heat.done and shown

    @property
    def _has_theirs(self) -> bool:
        """Whether the reader has a keyboard of their own; else any that is there plays for them."""
        return self._theirs in self.stage.piano.keyboards.heard

    def piano(self, event: KeyDown | KeyUp) -> None:
        if isinstance(event, KeyUp):
            self._piano.down.discard(event.key)
        else:
            self._piano.down.add(event.key)
        super().piano(event)

    def settled(self, now: float) -> None:
        """Who is ready is counted in; who has played gives way to the next."""
        heat = self.live.heat
        if heat.phase is not HeatPhase.WAITING or self.late.choosing:
            return
        chair = self.chair(self.turn)
        if chair.ready and chair.to_play and not self.out:
            self._count_in(self.live.time(now))
            return
        played = chair.round is not None and self.staff.moment is SeatStage.DONE
        # Once a try: where the teacher goes back to somebody, they stay there.
        if played and heat.to_play and self._passed_on != (self.turn, chair.attempt):
            self._passed_on = self.turn, chair.attempt
            words = _("{name}: not counted") if chair.disqualified else _("{name}: done")
            self._played, self._rests_until = words.format(name=called(chair.seat)), now + REST_S
            self.feed(NextSeat(self.live.time(now)))
            if self.asks.open or (chair.disqualified and self.chosen == chair.seat.number):
                self._stays = self.chosen  # whom the same key once more would be about
            else:
                self.chosen = self.turn

    def start(self) -> None:
        if not self.chair(self.turn).ready:
            self._theirs = ""  # nobody knows on which one they will play
        self._count_in(self.heat_time)

    def _count_in(self, t: float) -> None:
        if self.chosen == self._stays:
            self.chosen = self.turn
        self._stays = None
        self.feed(CountIn(t))

    _passed_on: tuple[int, int] | None = None
    _played, _rests_until = "", -inf  # how the turn before ended, and when keys count again

    def _rests(self, now: float) -> bool:
        return now < self._rests_until

    def next_turn(self) -> None:
        """To the seat that the teacher has chosen, or to the next that has still to play."""
        if self.asks.sure("N"):
            meant = None if self.chosen in (self.turn, self._stays) else self.chosen
            self.feed(NextSeat(self.heat_time, meant))
            self.chosen, self._stays, self._rests_until = self.turn, None, -inf

    def wait(self, now: float) -> float | None:
        waits = super().wait(now)
        if self._twice.left is not None:
            waits = self._twice.left if waits is None else min(waits, self._twice.left)
        if not self._rests(now):
            return waits
        left = self._rests_until - now
        return left if waits is None else min(waits, left)

    def keyboards_changed(self, event: Keyboards) -> None:
        heat = self.live.heat
        if self._theirs in event.gone and self._theirs in event.came:
            self._theirs = ""  # what has its name now may be another one
        if event.came:
            self._had = True
            if self.pause_reason and heat.paused is not None:
                self.mended = _("The keyboard is back")
            return
        if not event.gone or self._has_theirs or heat.phase is HeatPhase.WAITING:
            return  # the reader's own is there, or they will play on another
        if heat.paused is None:
            self.pause(self._out_words)
        else:
            self.pause_reason, self.mended = self._out_words, ""
        self.live.keep()

    @property
    def _out_words(self) -> str:
        return _("The keyboard is out: {name}").format(name=called_at(self.chair(self.turn).seat))

    def said(self) -> tuple[Sequence[str], bool]:
        if self.out and not (self.late.choosing or self.asks.open or self.live.heat.done):
            return (self._out_words,), True
        return super().said()

    def mouse(self, event: pygame.event.Event) -> None:
        shown = self._piano_rect(self.stage.window.canvas) is not None
        free = event.type == pygame.MOUSEBUTTONUP or (
            event.type == pygame.MOUSEBUTTONDOWN and self._hit(event.pos) is None
        )
        if not (shown and free and self._piano.mouse(event, self.stage)):
            super().mouse(event)

    # What is drawn

    def paint(self, canvas: Canvas) -> None:
        heat = self.live.heat
        chair = self.chair(self.turn)
        reading = self.staff.moment in (SeatStage.READING, SeatStage.SETTLING)
        parts, alarm = self.said()
        if reading and heat.paused is None and not self.late.choosing and not alarm:
            parts = (called(chair.seat),)
        verdict = self.staff.last if reading and heat.paused is None else None
        strip(canvas, self.clock_words(), parts, alarm=alarm, verdict=verdict)
        piano = self._piano_rect(canvas)
        bottom = (piano.top if piano else canvas.height - canvas.px(FOOT)) - canvas.px(6)
        room = Rect(0, canvas.px(STRIP), canvas.width, bottom - canvas.px(STRIP))
        if self._over:
            if self.live.manners.shows is Shows.ALL:  # else who has no place to show is not named
                room = self._queue(canvas, room)
            once, name = self._twice.open is not None, self.stage.piano.name_key(PIANO_YES)
            words = (
                _("Middle C ({name}) again: the results")
                if once
                else _("Middle C ({name}) twice: the results")
            )
            self._call(canvas, room, done_words(heat), "", words.format(name=name))
        elif heat.paused is not None:
            self._call(canvas, room, called(chair.seat), "", _("The clock is stopped."))
        elif reading:
            self._read(canvas, room)
        else:
            self._announce(canvas, room)
        if piano is not None:
            self._piano.draw(canvas, piano, self.stage.piano.computer)
        self.foot(canvas)

    def _announce(self, canvas: Canvas, room: Rect) -> None:
        chair = self.chair(self.turn)
        counted = self.count_in_left()
        if counted is not None:
            top = Rect(room.x, room.y, room.width, room.height * 2 // 5)
            self._call(canvas, top, called(chair.seat), "", "")
            rest = Rect(room.x, top.bottom, room.width, room.bottom - top.bottom)
            announce(canvas, str(counted), rest)
            return
        room = self._queue(canvas, room)
        above = _("Next")
        if chair.disqualified:
            below = _("Not counted")
        elif not chair.to_play:
            below = _("Has played")
        elif self.out:
            below = _("The keyboard is out")
        elif self._rests(self.stage.clock.now()):
            below = self._played
        else:
            name = self.stage.piano.name_key(60)
            below = _("Play middle C ({name}) when you are ready").format(name=name)
        self._call(canvas, room, called(chair.seat), above, below)

    def _queue(self, canvas: Canvas, room: Rect) -> Rect:
        """The list of who plays, in the lower part of a room; what is left above it."""
        heat, marks = self.live.heat, self.board.marks
        if len(heat.chairs) == 1:
            return room
        turns = []
        for chair in heat.chairs:
            number = chair.seat.number
            now, over = number == self.turn and not heat.done, not chair.to_play
            sign = "›" if now else "–" if chair.disqualified else "✓" if over else ""
            turns.append(Turn(called(chair.seat), marks.get(number, sign), now, over and not now))
        px, high = canvas.px, min(canvas.px(_CALLED), room.height // 2)
        left = Rect(room.x, room.y, room.width, high)
        below = Rect(px(40), left.bottom, room.width - px(80), room.bottom - left.bottom)
        queue(canvas, below, turns)
        return left

    def _call(self, canvas: Canvas, room: Rect, name: str, above: str, below: str) -> None:
        """A name as large as it fits, with a line above and below it."""
        px, wide = canvas.px, canvas.width - canvas.px(80)
        size = fitting(name, canvas, wide, _NAME, _SMALLEST_NAME)
        x, y = room.centerx, room.centery - px(10)
        canvas.text(name, (x, y), size=size, face="title", anchor="center", width=wide)
        gap = px(size) // 2
        canvas.text(
            above,
            (x, y - gap - px(34)),
            size=44,
            face="serif",
            colour=theme.MUTED,
            anchor="center",
        )
        canvas.text(
            below, (x, y + gap + px(44)), size=42, colour=theme.MUTED, anchor="center", width=wide
        )

    def _read(self, canvas: Canvas, room: Rect) -> None:
        """The staff as large as it fits, and below it how far its reader is."""
        px, staff, chair = canvas.px, self.staff, self.chair(self.turn)
        inner = room.inflate(-px(48), 0)
        inner.height -= px(18)
        if staff.asks:
            inner.height -= px(LEAST_TEXT + 12)
            canvas.text(
                staff.question(chair.round)[1],
                (room.centerx, inner.bottom + px(LEAST_TEXT) // 2),
                size=LEAST_TEXT,
                anchor="center",
                width=inner.width,
            )
        staff.draw_in(canvas.surface, inner)
        self.rooms = {self.turn: inner.size}
        round = chair.round
        if round is None:
            return
        beat = staff.beat(round, self.heat_time)
        if beat is not None:
            self._beat(canvas, room, floor(beat), beats_in_bar(staff), beat < 0)
        if self.live.heat.setup.seconds is None:
            asked = sum(1 for prompt in chair.form for slot in prompt.slots if slot.keys)
            line = Rect(px(24), room.bottom - px(10), canvas.width - px(48), px(7))
            canvas.surface.fill(theme.RULE, line)
            line.width = round_share(line.width, len(round.results), asked)
            canvas.surface.fill(theme.MUTED, line)

    def _beat(self, canvas: Canvas, room: Rect, beat: int, count: int, before: bool) -> None:
        """The beats of the bar in figures, that of now in ink."""
        px, gap = canvas.px, canvas.px(56)
        for one in range(1, count + 1):
            now = one == beat % count + 1
            canvas.text(
                str(one),
                (
                    room.centerx + round((one - (count + 1) / 2) * gap),
                    px(STRIP) // 2,
                ),
                size=LEAST_TEXT + (8 if now else 0),
                face="strong" if now else "text",
                colour=(theme.ACCENT if before else theme.INK) if now else theme.MUTED,
                anchor="center",
            )

    def _piano_rect(self, canvas: Canvas) -> Rect | None:
        """The on-screen piano, where there is no keyboard."""
        never = self.stage.settings.now.screen_piano == "never"
        if never or self.stage.piano.connected or self.out:
            return None
        keys = self._piano.high - self._piano.low + 1
        height = canvas.px(_PIANO)
        width = min(canvas.width - canvas.px(40), round(height * 0.16 * keys))
        top = canvas.height - canvas.px(FOOT + 8) - height
        return Rect((canvas.width - width) // 2, top, width, height)


def round_share(width: int, done: int, whole: int) -> int:
    """So much of a width as is done of a whole."""
    return round(width * min(1.0, done / max(1, whole)))
