# SPDX-License-Identifier: MIT
"""What every screen is: it draws itself, and it is worked by mouse, keys or piano alike."""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from pathlib import Path
from typing import TYPE_CHECKING

import pygame

from game.keyboards import Keyboards, KeyDown, KeyUp
from game.ui.arrows import toward
from game.ui.scroll import Scroll
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage

# The keys of the piano that work a menu; all lie on a 25-key instrument.
PIANO_BACK, PIANO_BEFORE, PIANO_YES, PIANO_AFTER = 55, 59, 60, 62  # G3 B3 C4 D4
PIANO_PAGE_BEFORE, PIANO_PAGE_AFTER = 57, 64  # A3 E4

HANDS_OFF_S = 1.0  # hands that still play on choose nothing on a page that has just come up
_HANDS_STILL_S = 0.5  # nor while they go on playing

_ARROWS = {
    pygame.K_UP: (0, -1),
    pygame.K_DOWN: (0, 1),
    pygame.K_LEFT: (-1, 0),
    pygame.K_RIGHT: (1, 0),
}

_PAGES = {pygame.K_PAGEUP: -1, pygame.K_PAGEDOWN: 1}
_ENDS = {pygame.K_HOME: -1, pygame.K_END: 1}
_NOTCH = 3  # lines that a list is scrolled by a notch of the wheel

MENU_KEYS = (pygame.K_TAB, *_ARROWS)
"""The computer keys that move the focus."""


class Screen:
    """Stateful: one page of the game. A subclass gives its controls and draws the rest."""

    name = "screen"
    hears_all = False  # whether every MIDI keyboard is heard, whatever the settings say

    def __init__(self, stage: Stage) -> None:
        self.stage = stage
        self.focus = ""
        self.controls: list[Control] = []
        self.lists: tuple[Scroll, ...] = ()  # those of the page, the one that is scrolled first
        self._pointer = 0, 0  # the mouse, as far as is known
        self.composing = ""  # letters that an input method is putting together, not typed yet
        self._hands_off_until = -inf

    @property
    def plays_letters(self) -> bool:
        """Whether letters of the computer keyboard are keys of a piano here."""
        return False

    @property
    def judges(self) -> bool:
        """Whether keys of a piano are a round's here, and work no menu."""
        return False

    def hands_off(self) -> None:
        """The page comes up under playing hands: for a moment the piano works no menu."""
        self._hands_off_until = self.stage.clock.now() + HANDS_OFF_S

    @property
    def under_way(self) -> str:
        """What is played here, as the store's signs of life name it; empty for nothing."""
        return ""

    def enter(self) -> None:
        """The screen comes into view."""

    def leave(self) -> None:
        """The screen goes out of view."""

    @property
    def shows_focus(self) -> bool:
        """Whether the focused control is marked."""
        return True

    def layout(self, canvas: Canvas) -> list[Control]:
        """The controls, in reading order, for this size of window."""
        return []

    def paint(self, canvas: Canvas) -> None:
        """Everything but the controls."""

    def back(self) -> None:
        """What Escape, and G3 on the piano, do."""

    def draw(self, canvas: Canvas) -> None:
        """Draw the whole page."""
        canvas.clear()
        for one in self.lists:
            one.clear()
        self.controls = self.layout(canvas)
        self._refocus()
        self.paint(canvas)
        for control in self.controls:
            if control.seen:
                canvas.surface.set_clip(control.view)
                canvas.control(control, focused=self.shows_focus and control.id == self.focus)
        canvas.surface.set_clip(None)
        for one in self.lists:
            one.draw(canvas)

    def _refocus(self) -> None:
        """The focus is on something that can be chosen, if anything can."""
        here = self.focused
        if here is not None and not here.enabled:
            self._sequence(1)
        elif here is None and self.controls:
            can = [item for item in self.controls if item.enabled]
            self.focus = (can or self.controls)[0].id

    def shown(self, now: float) -> None:
        """The last drawing became visible at `now`, seconds."""

    def wait(self, now: float) -> float | None:
        """Seconds until the screen wants to be drawn again; None: not before an event."""
        return None

    def tick(self, now: float) -> None:
        """Called when :meth:`wait` has passed, and after every event."""

    @property
    def focused(self) -> Control | None:
        """The control that has the focus."""
        return next((item for item in self.controls if item.id == self.focus), None)

    def mouse(self, event: pygame.event.Event) -> None:
        """A mouse event."""
        if event.type == pygame.MOUSEWHEEL:
            self._wheel(event.y)
            return
        self._pointer = event.pos
        held = next((one for one in self.lists if one.mouse(event)), None)
        hit = self._hit(event.pos)
        if held is not None:
            self._rolled(held)
        elif hit is None or not hit.enabled:
            return
        elif event.type == pygame.MOUSEMOTION:
            self.focus = hit.id
        elif event.type == pygame.MOUSEBUTTONDOWN and event.button == 1:
            self.focus = hit.id
            if hit.adjust is not None and hit.before.collidepoint(event.pos):
                hit.adjust(-1)
            else:
                self._choose(hit)

    def _wheel(self, up: int) -> None:
        """Scroll the list that the mouse is over, or else the first that is long."""
        found = [one for one in self.lists if one.long]
        found.sort(key=lambda one: not one.covers(self._pointer))
        if found:
            found[0].roll(-up * _NOTCH)
            self._rolled(found[0])

    def _rolled(self, scroll: Scroll) -> None:
        """A list was scrolled by hand: the focus stays among what is seen of it."""
        self.focus = scroll.near(self.focus)

    def turn_page(self, by: int) -> None:
        """A page on (1) or back in the list that has the focus, or else the first."""
        here = self._list_here
        if here is not None:
            self.focus = here.paged(self.focus, by)

    def to_end(self, by: int) -> None:
        """To the first row (-1) or the last."""
        here = self._list_here
        if here is not None:
            self.focus = here.end(self.focus, by)

    @property
    def _list_here(self) -> Scroll | None:
        found = [one for one in self.lists if one.rows]
        found.sort(key=lambda one: all(item.id != self.focus for item in one.rows))
        return next(iter(found), None)

    def key(self, event: pygame.event.Event) -> None:
        """A key of the computer keyboard went down."""
        control = self.focused
        if event.key == pygame.K_ESCAPE:
            self.back()
        elif event.key in (pygame.K_RETURN, pygame.K_KP_ENTER, pygame.K_SPACE):
            if control is not None:
                self._choose(control)
        elif event.key == pygame.K_TAB:
            self._sequence(-1 if event.mod & pygame.KMOD_SHIFT else 1)
        elif event.key in _PAGES:
            self.turn_page(_PAGES[event.key])
        elif event.key in _ENDS:
            self.to_end(_ENDS[event.key])
        elif event.key in _ARROWS:
            dx, dy = _ARROWS[event.key]
            if dx and control is not None and control.adjust is not None:
                control.adjust(dx)
            else:
                self._toward(dx, dy)

    @property
    def types_at(self) -> pygame.Rect | None:
        """The field that letters are typed into, where it was drawn; None where none are taken."""
        return None

    def text_typed(self, words: str) -> None:
        """Characters typed, where the screen takes them."""

    def piano(self, event: KeyDown | KeyUp) -> None:
        """A key of a piano: by default it works the menu."""
        if isinstance(event, KeyUp):
            return
        if event.t < self._hands_off_until:
            self._hands_off_until = max(self._hands_off_until, event.t + _HANDS_STILL_S)
        elif event.key == PIANO_YES and self.focused is not None:
            self._choose(self.focused)
        elif event.key == PIANO_BEFORE:
            self._sequence(-1)
        elif event.key == PIANO_AFTER:
            self._sequence(1)
        elif event.key in (PIANO_PAGE_BEFORE, PIANO_PAGE_AFTER):
            self.turn_page(-1 if event.key == PIANO_PAGE_BEFORE else 1)
        elif event.key == PIANO_BACK and self.backs_by_piano:
            self.back()

    @property
    def takes_level(self) -> Callable[[str], None] | None:
        """What is done with the id of a level made of sheet music that was dropped here, empty
        where none was made; None where it is for the reader's ladder."""
        return None

    def dropped(self, path: Path) -> bool:
        """A file was dropped on the window; whether it was for this screen."""
        return False

    def stop_clock(self, reason: str) -> None:
        """Nobody can play now, for this reason: what is timed pauses."""

    def keyboards_changed(self, event: Keyboards) -> None:
        """Keyboards were plugged in or pulled; `stage.piano` already has what is so now."""

    def other_keyboard(self, rect: Rect, then: Callable[[], None] | None = None) -> list[Control]:
        """A row or button that goes on with the keyboard that is there, where that is not the one
        that was chosen.

        Args:
            rect: where it lies.
            then: what else it does; None for nothing, and for a row.
        """
        name = self.stage.piano.other

        def act() -> None:
            self.stage.piano.use_other()
            if then is not None:
                then()

        label = _("Listen to {name} instead") if then is None else _("Go on with {name}")
        kind, mark = ("row", "›") if then is None else ("primary", "")
        found = Control("keyboard", rect, label.format(name=name), act, kind, mark=mark)
        return [found] if name else []

    def menu_hints(self) -> list[tuple[str, str]]:
        """The keys that work this menu, for the foot of the page; a piano's come first."""
        piano = self.piano_hints()
        return [
            *piano,
            *([(_("Computer:"), "")] if piano else []),
            ("↑ ↓ ← →", _("move")),
            *([(_("Page Up/Down"), self.turns)] if self.turns else []),
            (_("Enter"), _("choose")),
            (_("Esc"), self.back_says),
        ]

    @property
    def turns(self) -> str:
        """What Page Up and Page Down go through, in a word; empty where they do nothing."""
        return _("page") if any(one.long for one in self.lists) else ""

    @property
    def back_says(self) -> str:
        """What Escape, and G3 on the piano, do, in a word."""
        return _("back")

    @property
    def backs_by_piano(self) -> bool:
        """Whether G3 on the piano does what Escape does."""
        return True

    def piano_hints(self) -> list[tuple[str, str]]:
        """The keys of the piano that work every menu, where there is one."""
        if not self.stage.piano.connected:
            return []
        names = self.stage.piano.name_key
        pages = f"{names(PIANO_PAGE_BEFORE)} {names(PIANO_PAGE_AFTER)}"
        return [
            (_("Piano:"), ""),
            (names(PIANO_YES), _("yes")),
            (names(PIANO_AFTER), _("next")),
            (names(PIANO_BEFORE), _("previous")),
            *([(names(PIANO_BACK), self.back_says)] if self.backs_by_piano else []),
            *([(pages, self.turns)] if self.turns else []),
        ]

    def _choose(self, control: Control) -> None:
        if control.enabled:
            control.act()

    def _hit(self, position: tuple[int, int]) -> Control | None:
        hits = [
            item
            for item in self.controls
            if item.seen and item.style != "drawn" and item.rect.collidepoint(position)
        ]
        return hits[-1] if hits else None

    def _sequence(self, by: int) -> None:
        """Move the focus along the controls, past those that cannot be chosen."""
        ids = [item.id for item in self.controls]
        place = ids.index(self.focus) if self.focus in ids else 0
        for step in range(1, len(ids) + 1):
            item = self.controls[(place + by * step) % len(ids)]
            if item.enabled:
                if item.id == self.focus:
                    self._read_on(by)
                self.focus = item.id
                return

    def _toward(self, dx: int, dy: int) -> None:
        """Move the focus to the nearest control in a direction; what its list does not show is
        reached from within the list alone. Where an arrow leads nowhere, a text is scrolled."""
        here = self.focused
        if here is None:
            return
        near = [item for item in self.controls if item.seen or item.view is here.view]
        found = toward(here, near, dx, dy)
        if found is not None:
            self.focus = found.id
        elif dy:
            self._read_on(dy)

    def _read_on(self, by: int) -> None:
        """Scroll by a line what is only to be read."""
        for one in self.lists:
            if one.long and not any(item.enabled for item in one.rows):
                one.roll(by)
