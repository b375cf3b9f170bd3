# SPDX-License-Identifier: MIT
"""The window and its loop: what is heard and seen goes to the screen in view, and back."""

from __future__ import annotations

import os
import secrets
import sys
import time
from abc import ABC, abstractmethod
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from math import ceil, inf
from pathlib import Path

import pygame

from game.app.front import Front
from game.app.launch import AppOptions
from game.app.shots import Shots
from game.app.window import NoDisplay, Window, check_display, is_seen
from game.engraving import Engraver, EngravingError
from game.files.resources import level_folders
from game.keyboards import (
    ComputerKeyboard,
    KeyboardEvent,
    Keyboards,
    KeyDown,
    KeyUp,
    MidiKeyboards,
    PressQueue,
    RobotReader,
)
from game.levels import Compass, Ladder, marks_of, read_ladder
from game.notation import likeliest
from game.rounds import BOUNCE_S, ON_SCREEN
from game.screens.play.play import Play
from game.session.options import Options
from game.sound import SoundPlayer
from game.store import VARIABLE, ContinuedElsewhere, Store, StoreError
from game.ui.clipboard import pastes
from game.ui.key_layout import by_place, combined, key_letters
from game.ui.screen import Screen
from game.ui.stage import Visit
from game.ui.text_input import TextInput
from game.words.text import _

_IDLE_S = 10.0  # longest sleep of the loop
_AT_ONCE = 500  # events of keyboards between two frames: the window lives whatever they send
_NAMED = 3  # keyboards whose names stand in a line; of more it says how many
_SOUND_AGAIN_S = 10.0  # a speaker may be connected meanwhile: it is looked for between pages
_ASLEEP_S = 5.0  # longer than it wished to wait: the computer was asleep
_FADE_S = 0.15  # one page gives way to another
_ANSWERS = (pygame.KEYDOWN, pygame.KEYUP, pygame.TEXTINPUT, pygame.MOUSEBUTTONDOWN)
"""What was done before there was a page to do it on is meant for none."""
_RESIZED = (pygame.VIDEORESIZE, pygame.WINDOWSIZECHANGED, pygame.WINDOWDISPLAYCHANGED)
_UNSEEN = pygame.WINDOWMINIMIZED, pygame.WINDOWHIDDEN
_SHIFTED = (pygame.WINDOWENTER, pygame.WINDOWMOVED, *_RESIZED)
"""The window may have come under a mouse that rests."""


class Loop(ABC):
    """Stateful: the window while it is open, with everything that the screens work with.

    Which screen follows which is :class:`game.app.app.App`'s.
    """

    screen: Screen

    def __init__(self, how: AppOptions) -> None:
        self._how = how
        self.now = time.perf_counter
        check_display()  # before a store is made for a game that cannot be shown
        robot = how.robot
        self.visit = Visit(
            robot=None
            if robot is None
            else RobotReader(robot.seed, robot.speed_s, robot.spread, robot.error_rate)
        )
        self.options = Options()  # until the store says otherwise
        self.store_trouble: StoreError | None = None  # there is no store yet, and why
        try:
            self._open_store()
        except StoreError as error:
            if robot is not None or not is_seen():
                raise  # there is nobody to ask
            self.store_trouble = error
        try:
            self._window = Window(how.size, how.fullscreen or self.options.full_screen)
        except NoDisplay:
            if self.store_trouble is not None:
                raise self.store_trouble from None
            raise
        self.canvas = self._window.canvas
        self._wake = pygame.event.custom_type()
        self._woken = False
        self._queue = PressQueue(on_arrival=self._wake_loop)
        self._midi = MidiKeyboards(self._queue, self.options.keyboard or None)
        self.keyboards = Keyboards()
        self._front = Front()
        self._played_on = ""  # the label of a keyboard
        self.engraver = Engraver()
        self.sound = SoundPlayer.open(self.options.volume / 100)
        self._sound_again_at = self.now() + _SOUND_AGAIN_S
        self._text_input = TextInput()
        self._letters = key_letters()
        self.computer = ComputerKeyboard().lettered(self._letters)
        self._downs: dict[tuple[str, int], tuple[float, bool]] = {}  # when last, and if judged
        self._pressed: dict[int, int] = {}  # scancode -> piano key, until it comes up
        self._level_files = marks_of(*level_folders())
        self.ladder: Ladder = read_ladder(*level_folders())
        self._shots = Shots(how.shots)
        self._running = True
        self._opening = True  # nothing has been seen yet
        self._closing_at: float | None = None
        self._ticked_at = self.now()
        self._mouse_at: tuple[int, int] | None = None  # as far as is known
        self._fading: tuple[pygame.Surface, float] | None = None

    def run(self) -> int:
        """Play until the window is closed; the exit status."""
        try:
            if self._how.robot is None:  # nobody else's keys belong in a robot's round
                self._midi.start()
                self._front.take()
            if self.store_trouble is None:
                self._begin()
            self._loop()
            self.screen.leave()
            if self.store_trouble is not None:  # the terminal is told too
                raise self.store_trouble
            return 0
        finally:
            if self.store_trouble is None:  # what was played comes first
                self.store.close()
                if self.store.waits is not None:  # and outlives this
                    print(f"stavewise: {self.store.waits}", file=sys.stderr)
            self.sound.close()
            self._front.leave()
            pygame.quit()
            self._midi.close()

    def _open_store(self) -> None:
        """Open the store, and take over what is kept in it.

        Raises:
            StoreError: it cannot be opened, or not be read.
        """
        how = self._how
        unsaid = how.store is None and not os.environ.get(VARIABLE)
        store = Store.open("sqlite://" if how.robot and unsaid else how.store)
        try:
            self.options = Options.from_kept(store.get_setting("options", {}))
        except StoreError:
            store.close()
            raise
        self.store = store
        self.visit.notices.extend(store.notices)
        store.tell(self.visit.notices.append)

    def open_store_again(self) -> StoreError | None:
        """Go on into the game where the store can be opened now; else why it cannot."""
        try:
            self._open_store()
        except StoreError as error:
            self.store_trouble = error
            return error
        self.store_trouble = None
        if self.options.full_screen and not self._how.fullscreen:
            self._fill_screen(True)
        self._midi.choose(self.options.keyboard or None)
        self.sound.set_volume(self.options.volume / 100)
        self._begin()
        return None

    def _begin(self) -> None:
        """Show the first page; where a server has gone since, the readers' page says so."""
        try:
            self.first_screen()
        except StoreError as error:
            if self._how.robot is not None:
                raise
            self.visit.notices.insert(0, str(error))
            self.open_readers()

    def _loop(self) -> None:
        while self._running:
            try:
                self.screen.draw(self.canvas)
                self._take_letters()
                self._fade()
                self.canvas.flip()
                if self._opening:
                    self._opening = False
                    pygame.event.clear(_ANSWERS)
                self.screen.shown(self.now())
                if self._fading is None:
                    self._shots.passed(self.screen.name, self.canvas.surface)
                happened = self._wait()
                self._hear(happened)
                if self.store_trouble is None:
                    self.store.life.check()
                self._ticked_at = self.now()
                self.screen.tick(self._ticked_at)
                if self._between_rounds:
                    self.keep_what_waits()
            except ContinuedElsewhere:
                self.taken_over()
            except StoreError as error:
                self.visit.notices.insert(0, str(error))
                self.open_readers()
            except EngravingError as error:
                self.tell_no_music(error)
            if self._closing_at is not None and self.now() >= self._closing_at:
                self.quit()

    def _take_letters(self) -> None:
        """Letters are typed where the page has a field for them, and nowhere else."""
        field = self.screen.types_at
        if field is None:
            self.screen.composing = ""
        self._text_input.follow(field and self._window.placed(field))

    def _fade(self) -> None:
        """Let the page before show through for a moment."""
        if self._fading is None:
            return
        page, start = self._fading
        passed = (self.now() - start) / _FADE_S
        if passed >= 1 or page.get_size() != self.canvas.surface.get_size():
            self._fading = None
            return
        page.set_alpha(round(255 * (1 - passed)))
        self.canvas.surface.blit(page, (0, 0))

    def _wait(self) -> list[pygame.event.Event]:
        """Sleep until something happens or the screen is due.

        What was due since it ticked last, as a beat while it was drawn, is due now.
        """
        now = self.now()
        wait = self.screen.wait(self._ticked_at)
        wait = _IDLE_S if wait is None else wait - (now - self._ticked_at)
        if self._fading is not None:
            wait = 1 / 60
        if self.something_waits:
            wait = min(wait, 1.0)
        if self._closing_at is not None:
            wait = min(wait, max(0.0, self._closing_at - now))
        first = pygame.event.wait(max(1, ceil(wait * 1000)))
        if self.now() - now > wait + _ASLEEP_S:
            self._slept(now)
        return [first, *pygame.event.get()]

    def _slept(self, since: float) -> None:
        """The computer was asleep since then, its clock was not: what is timed stops at that
        moment, for a closed lid is no reading time."""
        awake, self.now = self.now, lambda: since
        try:
            self.screen.stop_clock(_("The computer was asleep. Its time doesn't count."))
        finally:
            self.now = awake

    def _hear(self, events: list[pygame.event.Event]) -> None:
        self._woken = False
        for event in self._queue.drain(_AT_ONCE):
            self._from_queue(event)
        if not self._queue.empty:
            self._wake_loop()
        for happened in events:
            self._from_window(happened)

    def _from_queue(self, event: KeyboardEvent) -> None:
        if isinstance(event, Keyboards):
            self.keyboards = event.settled
            self.screen.keyboards_changed(event)
        elif not self._front.here:
            words = _("The piano plays in the other Stavewise window. Click here to play on.")
            self.screen.stop_clock(words)
        else:
            event = replace(event, key=event.key + self.options.shift)
            if not 0 <= event.key <= 127 or (isinstance(event, KeyDown) and self._bounces(event)):
                return
            if self.options.sound == "always":
                self._sound(event)
            self._played_on = event.keyboard
            self.screen.piano(event)

    def _bounces(self, event: KeyDown) -> bool:
        """Whether it is the bounce of a key that has just worked a menu. Those of a round's own
        keys are in its record, and judged there."""
        which = event.keyboard, event.key
        t, judged = self._downs.get(which, (-inf, True))
        bounces = not judged and 0 < event.t - t <= BOUNCE_S
        self._downs[which] = event.t, self.screen.judges and not bounces
        return bounces

    def _from_window(self, event: pygame.event.Event) -> None:
        if event.type == pygame.QUIT:
            self.quit()
        elif event.type in _UNSEEN:
            self.screen.stop_clock(_("The window was out of sight."))
        elif event.type == pygame.WINDOWFOCUSGAINED:
            self._front.take()
        elif event.type == pygame.WINDOWFOCUSLOST:
            self._turned_from()
        elif event.type in _SHIFTED:
            self._mouse_at = None
            if event.type in _RESIZED:
                self._window.hold()
                self.canvas = self._window.canvas
        elif event.type == pygame.MOUSEMOTION:
            self._mouse_moved(self._window.pointed(event))
        elif event.type in (pygame.KEYDOWN, pygame.KEYUP):
            self._computer_key(event)
        elif event.type == pygame.KEYMAPCHANGED:
            self._letters = key_letters()
            self.computer = self.computer.lettered(self._letters)
        elif event.type == pygame.DROPFILE:
            self._dropped(Path(event.file))
        elif event.type == pygame.TEXTEDITING:
            self.screen.composing = event.text
        elif event.type == pygame.TEXTINPUT:
            self.screen.composing = ""
            self.screen.text_typed(event.text)
        elif event.type in (
            pygame.MOUSEBUTTONDOWN,
            pygame.MOUSEBUTTONUP,
            pygame.MOUSEWHEEL,
        ):
            self.screen.mouse(self._window.pointed(event))

    def _turned_from(self) -> None:
        """Somebody turned to another window, or locked the screen: a round of one's own stops. A
        heat goes on, since teachers have other things to look at."""
        focused = pygame.key.get_focused()  # again, where the window only fills the screen now
        if isinstance(self.screen, Play) and self._how.robot is None and not focused:
            self.screen.stop_clock(_("Another window came to the front."))

    def _mouse_moved(self, event: pygame.event.Event) -> None:
        """A resting mouse moves nothing: the first place that is told of it, after the window has
        come under it, is only where it lies."""
        before, self._mouse_at = self._mouse_at, event.pos
        if before not in (None, event.pos):
            self.screen.mouse(event)

    def _computer_key(self, event: pygame.event.Event) -> None:
        """Some keys are the game's, some a piano's while a round is on, the rest the screen's."""
        event = by_place(event, self._letters)
        down = event.type == pygame.KEYDOWN
        playing = self.screen.plays_letters
        if down and self.screen.composing:
            return  # it is the input method's, which chooses or gives up by it
        if down and combined(event):
            if pastes(event):
                self.screen.key(event)
        elif down and event.key == pygame.K_F11 and self.store_trouble is None:
            self.save_options(self.options.cycled("full_screen", 1))
        elif down and playing and event.key in (pygame.K_PAGEUP, pygame.K_PAGEDOWN):
            self.computer = self.computer.shifted(1 if event.key == pygame.K_PAGEUP else -1)
        elif not down:
            if event.scancode in self._pressed:
                self.release(self._pressed.pop(event.scancode))
        elif playing and (key := self.computer.key_for(event.scancode)) is not None:
            self._pressed[event.scancode] = key
            self.press(key)
        else:
            self.screen.key(event)

    # What the screens ask for

    def press(self, key: int, velocity: int = 80) -> None:
        self._local(KeyDown(self.now(), key, velocity, ON_SCREEN))

    def release(self, key: int) -> None:
        self._local(KeyUp(self.now(), key, ON_SCREEN))

    def _local(self, event: KeyDown | KeyUp) -> None:
        if self.options.sound != "never":
            self._sound(event)
        self._played_on = event.keyboard
        self.screen.piano(event)

    def _sound(self, event: KeyDown | KeyUp) -> None:
        if isinstance(event, KeyDown):
            self.sound.play(event.key, event.velocity)
        else:
            self.sound.release(event.key)

    def wrong_cue(self) -> None:
        if self.options.sound != "never":
            self.sound.wrong()

    def click(self, *, first: bool) -> None:
        self.sound.click(first=first)

    def beats(self, beats: Sequence[tuple[float, bool]]) -> None:
        now = self.now()
        self.sound.beats([(t - now, first) for t, first in beats])

    @property
    def piano_connected(self) -> bool:
        return bool(self.keyboards.heard)

    @property
    def playing_on(self) -> str:
        there = self.keyboards.heard
        if self._played_on in (*there, ON_SCREEN):
            return self._played_on
        return there[0] if there else ON_SCREEN

    @property
    def keyboard_line(self) -> str:
        heard, reached = self.keyboards.heard, self.keyboards.reached
        if self.other_keyboard:
            words = _("Listening to {chosen}, which isn't plugged in. Plugged in: {names}")
            there = ", ".join(self.keyboards.there)
            return words.format(chosen=self.options.keyboard, names=there)
        if self.keyboards.refused:
            held = ", ".join(self.keyboards.refused)
            return _("{name}: another program uses it. Close that program.").format(name=held)
        names = ", ".join(sorted(heard))
        if len(heard) > _NAMED:
            names = _("{n} keyboards").format(n=len(heard))
        if reached.startswith("none: "):
            return names or _("MIDI cannot be reached here: ‘stavewise keyboards’ says why")
        names = names or _("no MIDI keyboard yet")
        return f"{names} · MIDI: {reached}" if reached else names

    @property
    def other_keyboard(self) -> str:
        chosen, there = self.options.keyboard, self.keyboards.there
        return there[0] if chosen and there and chosen not in there else ""

    def use_other_keyboard(self) -> None:
        self.save_options(replace(self.options, keyboard=self.other_keyboard))

    @property
    def compass(self) -> Compass:
        return self.options.compass(self.playing_on)

    def name_key(self, key: int) -> str:
        return self.options.names.name(likeliest(key), octave=True)

    def look_for_levels(self) -> bool:
        found = marks_of(*level_folders())
        if found == self._level_files:
            return False
        self._level_files, self.ladder = found, read_ladder(*level_folders())
        return True

    @property
    def today(self) -> str:
        return date.today().isoformat()

    def new_seed(self) -> int:
        return secrets.randbelow(1_000_000)

    def keep_shot(self, name: str) -> None:
        self._shots.soon(name)

    def close(self) -> None:
        self._running = False

    @property
    def _between_rounds(self) -> bool:
        """Whether nobody's clock runs, so that writing may take its time."""
        return not self.screen.plays_letters

    def save_options(self, options: Options) -> None:
        before, self.options = self.options, options
        if options.full_screen != before.full_screen:
            self._fill_screen(options.full_screen)
        if options.keyboard != before.keyboard:
            self._midi.choose(options.keyboard or None)
        self.sound.set_volume(options.volume / 100)
        try:
            self.store.set_setting("options", options.kept())
        except StoreError as error:
            self.visit.notices.insert(0, str(error))

    def _fill_screen(self, full: bool) -> None:
        self._window.fill(full)
        pygame.event.clear(
            _UNSEEN
        )  # another window took its place, which nobody is out of sight of
        self.canvas = self._window.canvas

    def show(self, screen: Screen) -> None:
        self.screen.leave()
        if not self.sound.available and self.now() >= self._sound_again_at:
            self.sound = SoundPlayer.open(self.options.volume / 100)
            self._sound_again_at = self.now() + _SOUND_AGAIN_S
        if screen.hears_all is not self.screen.hears_all:
            self._midi.choose(None if screen.hears_all else self.options.keyboard or None)
        # A round is never faded in: its clock starts with the first full view of the staff.
        if self.options.motion == "full" and not isinstance(screen, Play):
            self._fading = (self.canvas.surface.copy(), self.now())
        else:
            self._fading = None
        self.screen = screen
        if self.store_trouble is None:
            self.store.life.hold(screen.under_way)
        screen.enter()

    def _wake_loop(self) -> None:
        # Posting is the one pygame call that is safe from the MIDI thread. One event wakes the
        # loop, however many presses come meanwhile: SDL's queue is not endless.
        if not self._woken and pygame.display.get_init():
            self._woken = True
            with suppress(pygame.error):  # the window is just being closed
                pygame.event.post(pygame.event.Event(self._wake))

    # What the game adds

    @abstractmethod
    def quit(self) -> None:
        """Close the window, or ask first where something would be lost."""

    @property
    @abstractmethod
    def something_waits(self) -> bool:
        """Whether something that was played is not kept yet."""

    @abstractmethod
    def keep_what_waits(self) -> None:
        """Try again, now and then, to keep it."""

    @abstractmethod
    def first_screen(self) -> None:
        """Show the page that the game opens with."""

    @abstractmethod
    def tell_no_music(self, error: EngravingError) -> None:
        """Say why no music can be drawn; what was played is in the store."""

    @abstractmethod
    def taken_over(self) -> None:
        """Another copy of the game has gone on with what was under way here."""

    @abstractmethod
    def open_readers(self) -> None:
        """Go to the list of readers."""

    @abstractmethod
    def _dropped(self, path: Path) -> None:
        """A file was dropped on the window."""
