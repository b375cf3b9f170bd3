# SPDX-License-Identifier: MIT
"""What is heard and seen goes to the page in view, and its drawing to the screen."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from math import ceil, inf
from pathlib import Path

import pygame

from game.app.front import Front
from game.app.navigator import Navigator
from game.app.rounds import Rounds
from game.app.window import UNSEEN, Window
from game.engraving import EngravingError
from game.keyboards import KeyboardEvent, Keyboards, KeyDown, KeyUp, PressQueue
from game.rounds import BOUNCE_S
from game.screens.play.play import Play
from game.screens.reader.readers import Readers
from game.screens.school.told_page import MessagePage
from game.store import ContinuedElsewhere, StoreError
from game.ui.clipboard import pastes
from game.ui.key_layout import by_place, combined, key_letters
from game.ui.stage import Stage
from game.ui.text_input import TextInput
from game.words.text import _

_IDLE_S = 10.0  # longest sleep
_AT_ONCE = 500  # events of keyboards between two frames: the window lives whatever they send
_ASLEEP_S = 5.0  # longer than it wished to wait: the computer was asleep
_ANSWERS = (pygame.KEYDOWN, pygame.KEYUP, pygame.TEXTINPUT, pygame.MOUSEBUTTONDOWN)
"""What was done before there was a page to do it on is meant for none."""
_RESIZED = (pygame.VIDEORESIZE, pygame.WINDOWSIZECHANGED, pygame.WINDOWDISPLAYCHANGED)
_SHIFTED = (pygame.WINDOWENTER, pygame.WINDOWMOVED, *_RESIZED)
"""The window may have come under a mouse that rests."""
_MOUSE = pygame.MOUSEBUTTONDOWN, pygame.MOUSEBUTTONUP, pygame.MOUSEWHEEL


class Loop:
    """Stateful: the keys and the mouse, as far as they are held down or known.

    Args:
        stage: the parts of the game.
        window: what is drawn on.
        go: has the page in view.
        rounds: what follows from files that are dropped, and when a robot has done.
        queue: what comes from MIDI keyboards.
    """

    def __init__(
        self, stage: Stage, window: Window, go: Navigator, rounds: Rounds, queue: PressQueue
    ) -> None:
        self._stage, self._window, self._go, self._rounds = stage, window, go, rounds
        self._wake = pygame.event.custom_type()
        self._woken = False
        self._queue = queue
        queue.on_arrival = self._wake_loop
        self.front = Front()
        self._text_input = TextInput()
        self._learn_letters()
        self._downs: dict[tuple[str, int], tuple[float, bool]] = {}  # when last, and if judged
        self._pressed: dict[int, int] = {}  # scancode -> piano key, until it comes up
        self._opening = True  # nothing has been seen yet
        self._ticked_at = stage.clock.now()
        self._mouse_at: tuple[int, int] | None = None  # as far as is known
        stage.piano.played = self._played_here

    def run(self) -> None:
        """Go on until the window is closed."""
        stage, go = self._stage, self._go
        while go.running:
            try:
                self._turn()
            except ContinuedElsewhere:
                self._rounds.taken_over()
            except StoreError as error:
                go.failed(error)
            except EngravingError as error:
                title = _("The music can't be drawn")
                go.show(MessagePage(stage, title, [str(error)], Readers(stage)))
            closes_at = self._rounds.closes_at
            if closes_at is not None and stage.clock.now() >= closes_at:
                go.quit()

    def _turn(self) -> None:
        stage, go = self._stage, self._go
        go.screen.draw(self._window.canvas)
        self._take_letters()
        self._window.flip(go.screen.name, stage.clock.now())
        if self._opening:
            self._opening = False
            pygame.event.clear(_ANSWERS)
        go.screen.shown(stage.clock.now())
        happened = self._wait()
        self._hear(happened)
        if go.is_open:
            stage.store.life.check()
        self._ticked_at = stage.clock.now()
        go.screen.tick(self._ticked_at)
        if go.is_open and not go.screen.plays_letters:  # nobody's clock runs
            stage.keeper.try_again()

    def _take_letters(self) -> None:
        """Letters are typed where the page has a field for them, and nowhere else."""
        field = self._go.screen.types_at
        if field is None:
            self._go.screen.composing = ""
        self._text_input.follow(field and self._window.placed(field))

    def _wait(self) -> list[pygame.event.Event]:
        """Sleep until something happens or the page is due.

        What was due since it ticked last, as a beat while it was drawn, is due now.
        """
        clock, closes_at = self._stage.clock, self._rounds.closes_at
        now = clock.now()
        wait = self._go.screen.wait(self._ticked_at)
        wait = _IDLE_S if wait is None else wait - (now - self._ticked_at)
        if self._window.fades:
            wait = 1 / 60
        if self._go.is_open and self._stage.keeper.something_waits:
            wait = min(wait, 1.0)
        if closes_at is not None:
            wait = min(wait, max(0.0, closes_at - now))
        first = pygame.event.wait(max(1, ceil(wait * 1000)))
        if clock.now() - now > wait + _ASLEEP_S:
            self._slept(now)
        return [first, *pygame.event.get()]

    def _slept(self, since: float) -> None:
        """The computer was asleep since then, its clock was not: what is timed stops at that
        moment, for a closed lid is no reading time."""
        clock = self._stage.clock
        awake, clock.seconds = clock.seconds, lambda: since
        try:
            self._go.screen.stop_clock(_("The computer was asleep. Its time doesn't count."))
        finally:
            clock.seconds = awake

    def _wake_loop(self) -> None:
        # Posting is the one pygame call that is safe from the MIDI thread. One event wakes the
        # loop, however many presses come meanwhile: SDL's queue is not endless.
        if not self._woken and pygame.display.get_init():
            self._woken = True
            with suppress(pygame.error):  # the window is just being closed
                pygame.event.post(pygame.event.Event(self._wake))

    def _hear(self, events: list[pygame.event.Event]) -> None:
        self._woken = False
        for event in self._queue.drain(_AT_ONCE):
            self.from_queue(event)
        if not self._queue.empty:
            self._wake_loop()
        for happened in events:
            self.from_window(happened)

    def from_queue(self, event: KeyboardEvent) -> None:
        """A MIDI keyboard was played, or has come or gone."""
        stage = self._stage
        if isinstance(event, Keyboards):
            stage.piano.keyboards = event.settled
            self._go.screen.keyboards_changed(event)
            return
        if not self.front.here:
            words = _("The piano plays in the other Stavewise window. Click here to play on.")
            self._go.screen.stop_clock(words)
            return
        event = replace(event, key=event.key + stage.settings.now.shift)
        if not 0 <= event.key <= 127 or (isinstance(event, KeyDown) and self._bounces(event)):
            return
        self._played(event, midi=True)

    def _played_here(self, event: KeyDown | KeyUp) -> None:
        self._played(event, midi=False)

    def _played(self, event: KeyDown | KeyUp, *, midi: bool) -> None:
        self._stage.sounds.key(event, midi=midi)
        self._stage.piano.playing_on = event.keyboard
        self._go.screen.piano(event)

    def _bounces(self, event: KeyDown) -> bool:
        """Whether it is the bounce of a key that has just worked a menu. Those of a round's own
        keys are in its record, and judged there."""
        which = event.keyboard, event.key
        t, judged = self._downs.get(which, (-inf, True))
        bounces = not judged and 0 < event.t - t <= BOUNCE_S
        self._downs[which] = event.t, self._go.screen.judges and not bounces
        return bounces

    def from_window(self, event: pygame.event.Event) -> None:
        """Something happened to the window, or in it."""
        screen = self._go.screen
        if event.type == pygame.QUIT:
            self._go.quit()
        elif event.type in UNSEEN:
            screen.stop_clock(_("The window was out of sight."))
        elif event.type == pygame.WINDOWFOCUSGAINED:
            self.front.take()
        elif event.type == pygame.WINDOWFOCUSLOST:
            self._turned_from()
        elif event.type in _SHIFTED:
            self._mouse_at = None
            if event.type in _RESIZED:
                self._window.hold()
        elif event.type == pygame.MOUSEMOTION:
            self._mouse_moved(self._window.pointed(event))
        elif event.type in (pygame.KEYDOWN, pygame.KEYUP):
            self._computer_key(event)
        elif event.type == pygame.KEYMAPCHANGED:
            self._learn_letters()
        elif event.type == pygame.DROPFILE:
            self._rounds.dropped(Path(event.file))
        elif event.type == pygame.TEXTEDITING:
            screen.composing = event.text
        elif event.type == pygame.TEXTINPUT:
            screen.composing = ""
            screen.text_typed(event.text)
        elif event.type in _MOUSE:
            screen.mouse(self._window.pointed(event))

    def _turned_from(self) -> None:
        """Somebody turned to another window, or locked the screen: a round of one's own stops. A
        heat goes on, since teachers have other things to look at."""
        focused = pygame.key.get_focused()  # again, where the window only fills the screen now
        screen = self._go.screen
        if isinstance(screen, Play) and self._stage.sitting.robot is None and not focused:
            screen.stop_clock(_("Another window came to the front."))

    def _learn_letters(self) -> None:
        self._letters = key_letters()
        self._stage.piano.computer = self._stage.piano.computer.lettered(self._letters)

    def _mouse_moved(self, event: pygame.event.Event) -> None:
        """A resting mouse moves nothing: the first place that is told of it, after the window has
        come under it, is only where it lies."""
        before, self._mouse_at = self._mouse_at, event.pos
        if before not in (None, event.pos):
            self._go.screen.mouse(event)

    def _computer_key(self, event: pygame.event.Event) -> None:
        """Some keys are the game's, some a piano's while a round is on, the rest the page's."""
        event = by_place(event, self._letters)
        piano, settings, screen = self._stage.piano, self._stage.settings, self._go.screen
        down = event.type == pygame.KEYDOWN
        if down and screen.composing:
            return  # it is the input method's, which chooses or gives up by it
        if down and combined(event):
            if pastes(event):
                screen.key(event)
        elif down and event.key == pygame.K_F11 and self._go.is_open:
            settings.save(settings.now.cycled("full_screen", 1))
        elif down and screen.plays_letters and event.key in (pygame.K_PAGEUP, pygame.K_PAGEDOWN):
            piano.computer = piano.computer.shifted(1 if event.key == pygame.K_PAGEUP else -1)
        elif not down:
            if event.scancode in self._pressed:
                piano.release(self._pressed.pop(event.scancode))
        elif screen.plays_letters and (key := piano.computer.key_for(event.scancode)) is not None:
            self._pressed[event.scancode] = key
            piano.press(key)
        else:
            screen.key(event)
