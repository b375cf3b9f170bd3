# SPDX-License-Identifier: MIT
"""Set the beat: keys played along with clicks tell how late a keyboard's keys arrive."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from math import ceil, floor
from typing import TYPE_CHECKING

import pygame

from game.keyboards import KeyDown, KeyUp
from game.rounds import ON_SCREEN
from game.rounds.lateness import CLICK_S, CLICKS, COUNT_IN, FEWEST_KEYS, Lateness, lateness
from game.screens.play.in_time import draw_count
from game.ui import theme
from game.ui.list_page import row
from game.ui.screen import Screen
from game.ui.scroll import Scroll, stacked
from game.ui.widgets import FIRST_SPAN, Canvas, Control, PianoView, Rect
from game.words.text import _, thousandths

if TYPE_CHECKING:
    from game.ui.stage import Stage

_READY_S = 1.0  # from the start to the first click of the count-in
_BAR = 4
_FRAME_S = 1 / 30  # the computer's own keys are stamped between two drawings
_MOST_ROWS = 3  # seen at once


class SetBeat(Screen):
    """Stateful: the clicks under way, what was played to them, and what came of it.

    Args:
        stage: keeps the delays, in the settings.
        back: returns to where this page was opened.
    """

    name = "set beat"

    def __init__(self, stage: Stage, back: Callable[[], None]) -> None:
        super().__init__(stage)
        self._back = back
        self._first: float | None = None  # when the first of the sixteen clicks is; None: at rest
        self._played: list[tuple[float, str]] = []  # seconds from that click, and the keyboard
        self._found: tuple[Lateness, str] | None = None  # of the keyboard
        self._piano = PianoView(*FIRST_SPAN)
        (self._kept,) = self.lists = (Scroll(),)
        self.focus = "start"

    @property
    def plays_letters(self) -> bool:
        return self._first is not None

    @property
    def shows_focus(self) -> bool:
        return self._first is None

    # What is drawn

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        x, y = px(40), canvas.height - px(110)
        if self._first is not None:
            self._kept.place(canvas, (), Rect(0, 0, 0, 0), "")
            rect = Rect(canvas.width - px(130), px(16), px(100), px(34))
            return [Control("stop", rect, _("Stop"), self._stop, "quiet")]
        again = _("Start") if self._found is None else _("Again")
        kept = sorted(
            self.stage.settings.now.delays.items(), key=lambda item: item[0] != self._label
        )
        rows = []
        for label, delay in kept:
            words = _("Clear {name}").format(name=_named(label))
            clear = partial(self._keep, label, 0.0)
            value = _("{delay} taken off").format(delay=thousandths(delay))
            rows.append(row(f"clear {label}", words, clear, value))
        high = px(36) * min(_MOST_ROWS, len(rows))
        view = Rect(x, y - px(14) - high, canvas.width - 2 * x, high)
        return [
            *self._kept.place(canvas, stacked(rows, view, px(36)), view, self.focus),
            Control("start", Rect(x, y, px(200), px(50)), again, self._start, "primary"),
            Control("back", Rect(x + px(214), y, px(160), px(50)), _("Done"), self.back),
        ]

    def paint(self, canvas: Canvas) -> None:
        px, middle = canvas.px, canvas.width // 2
        canvas.text(_("Set the beat"), (px(40), px(40)), size=30, face="title", anchor="midleft")
        if self._first is not None:
            self._draw_clicks(canvas, (self.stage.clock.now() - self._first) / CLICK_S)
            return
        if self._found is None:
            words = _(
                "Keys can arrive late, as over Bluetooth or through a slow sound card. Play along "
                "with sixteen clicks, one key to each, on the keyboard that you read on: by what "
                "you hear, or by what you see."
            )
            y = canvas.paragraph(words, (px(40), px(84)), canvas.width - px(80), size=20)
            words = _(
                "By how much its keys are late is then taken off in levels read in time. Nothing "
                "else changes, and in a heat nothing is taken off."
            )
            canvas.paragraph(words, (px(40), y + px(10)), canvas.width - px(80), size=20)
        else:
            figure, words = _told(*self._found)
            wide, y = canvas.width - px(80), canvas.height // 3
            canvas.text(figure, (middle, y), size=44, face="title", anchor="center", width=wide)
            for number, line in enumerate(theme.wrapped(words, "text", px(20), wide)):
                at = middle, y + px(60) + number * px(28)
                canvas.text(line, at, size=20, anchor="center", width=wide)
        canvas.hints(self.menu_hints(), message=self.stage.piano.line)

    def _draw_clicks(self, canvas: Canvas, beat: float) -> None:
        """Sixteen dots in a row; a line passes over each of them as its click sounds."""
        px = canvas.px
        if beat >= -COUNT_IN:
            draw_count(canvas, beat, _BAR)
        middle, y, radius = canvas.width // 2, canvas.height // 2 - px(70), max(3, px(9))
        gap = (canvas.width - px(80)) // (CLICKS + 2 * COUNT_IN)
        left = middle - round((CLICKS - 1) / 2 * gap)
        for click in range(CLICKS):
            at = left + click * gap, y
            if click <= beat:
                pygame.draw.circle(canvas.surface, theme.INK, at, radius)
            else:
                pygame.draw.circle(canvas.surface, theme.MUTED, at, radius, max(1, px(1.5)))
        moves = self.stage.settings.now.motion == "full"
        here = beat if moves else floor(beat)
        line = Rect(0, 0, max(2, px(3)), px(60))
        line.center = (left + round(max(-COUNT_IN, here) * gap), y)
        canvas.surface.fill(theme.ACCENT, line)
        words = (
            _("Play one key to each click.") if beat > -1 else _("Listen: four clicks, then you.")
        )
        if not self._heard:
            words = _("Play one key each time that the line meets a dot.")
        canvas.text(words, (middle, y + px(70)), size=22, face="strong", anchor="center")
        if self._heard and not self.stage.sounds.player.available:
            words = _("No sound here: go by the line.")
            canvas.text(words, (middle, y + px(102)), size=18, anchor="center")
        choice = self.stage.settings.now.screen_piano
        if choice == "always" or (choice != "never" and not self.stage.piano.connected):
            computer = None if self.stage.piano.connected else self.stage.piano.computer
            self._piano.draw(canvas, self._piano.place(canvas), computer)

    @property
    def _heard(self) -> bool:
        """Whether the clicks are to be heard."""
        return self.stage.settings.now.beat != "never"

    # Time

    def wait(self, now: float) -> float | None:
        if self._first is None:
            return None
        if self.stage.settings.now.motion == "full":
            return _FRAME_S
        beat = (now - self._first) / CLICK_S
        return (ceil(beat + 1e-9) - beat) * CLICK_S

    def tick(self, now: float) -> None:
        if self._first is not None and now >= self._first + CLICKS * CLICK_S:
            self._stop()
            self.hands_off()
            self._judge()

    # What the reader does

    def piano(self, event: KeyDown | KeyUp) -> None:
        down = isinstance(event, KeyDown)
        (self._piano.down.add if down else self._piano.down.discard)(event.key)
        if self._first is None:
            super().piano(event)
        elif down:
            self._played.append((event.t - self._first, event.keyboard))

    def mouse(self, event: pygame.event.Event) -> None:
        if self._first is None or not self._piano.mouse(event, self.stage):
            super().mouse(event)

    def back(self) -> None:
        if self._first is None:
            self._back()
        else:
            self._stop()

    def leave(self) -> None:
        self._stop()

    def _start(self) -> None:
        lead = _READY_S + COUNT_IN * CLICK_S
        self._first = first = self.stage.clock.now() + lead
        self._played.clear()
        if self._heard:
            clicks = range(-COUNT_IN, CLICKS)
            self.stage.sounds.beats([(first + n * CLICK_S, n % _BAR == 0) for n in clicks])

    def _stop(self) -> None:
        self._first, self.focus = None, "start"
        self.stage.sounds.beats([])
        for key in tuple(self._piano.down):
            self.stage.piano.release(key)

    def _judge(self) -> None:
        """Work out how late the keys were of the keyboard that was played most, and keep it."""
        played = Counter(label for _t, label in self._played)
        label = played.most_common(1)[0][0] if played else self.stage.piano.playing_on
        found = lateness([t for t, by in self._played if by == label])
        self._found = found, label
        if found.told:
            self._keep(label, found.delay_s)

    @property
    def _label(self) -> str:
        return self.stage.piano.playing_on if self._found is None else self._found[1]

    def _keep(self, label: str, delay_s: float) -> None:
        options = self.stage.settings.now
        others = {name: delay for name, delay in options.delays.items() if name != label}
        delays = {**others, label: delay_s} if delay_s else others
        self.stage.settings.save(replace(options, delays=delays))
        self.focus = "start"  # not on the next one to clear


def _named(label: str) -> str:
    return _("the computer’s keys and mouse") if label == ON_SCREEN else label


def _told(found: Lateness, label: str) -> tuple[str, str]:
    """What came of the clicks: a figure, and what it means."""
    if found.keys < FEWEST_KEYS:
        words = _("Too few of the sixteen clicks had a key. Play one to each, and try again.")
        return _("{n} of {all}").format(n=found.keys, all=CLICKS), words
    about = f"± {thousandths(found.spread_s)}"
    if not found.told:
        return about, _("Too uneven to tell. Try again, as steadily as you can.")
    name = _named(label)
    if not found.delay_s:
        figure = _("{off} ahead of the clicks, {about}")
        words = _("The keys of {name} are not late, so nothing is taken off.")
    else:
        figure = _("{off} behind the clicks, {about}")
        words = _("From now on this is taken off in levels read in time, on {name}.")
    off = thousandths(abs(found.offset_s))
    return figure.format(off=off, about=about), words.format(name=name)
