# SPDX-License-Identifier: MIT
"""The very first page: middle C is on the staff, and pressing it begins the first round."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import pygame

from game.keyboards import KeyDown, KeyUp
from game.levels import UPPER, Note, Prompt, Slot
from game.notation import Clef, KeySignature, Pitch
from game.reader import spelled
from game.reader.names import free_name
from game.rounds import ON_SCREEN
from game.screens.play.prompt_view import PromptView
from game.screens.reader.key_range import KeyRange, ends_unknown
from game.store import StoreError
from game.ui import theme
from game.ui.button_row import at_head, button
from game.ui.last_exit import LastExit
from game.ui.screen import MENU_KEYS
from game.ui.widgets import FIRST_SPAN, Canvas, Control, PianoView, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage

MIDDLE_C = 60
SHOWN_S = 0.8  # the tick is in view before the first round begins
INSIST = 3  # times in a row that another C is pressed until it is taken as middle C


class Welcome(LastExit):
    """Stateful: middle C is asked for, so as to know the keyboard and its octave."""

    name = "welcome"
    plays_letters = True

    def __init__(self, stage: Stage) -> None:
        super().__init__(stage)
        note = Note("c", Pitch("C", 0, 4), UPPER, Clef.TREBLE)
        prompt = Prompt(KeySignature(), (Slot((note,)),))
        self._note = note
        self._view = PromptView(stage.engraver, "medium", prompt)
        self._piano = PianoView(*FIRST_SPAN)
        self._message = ""
        self._insisted: tuple[int, int] = (MIDDLE_C, 0)  # another C, and how often in a row
        self._begin_at: float | None = None
        self._keyboard_asked = False
        self._by_menu = False

    @property
    def shows_focus(self) -> bool:
        return self._by_menu

    def layout(self, canvas: Canvas) -> list[Control]:
        find = partial(self._begin, find=True)
        items = [
            button("find", _("I read already: find my level"), find, "quiet"),
            button("classes", _("Class challenge"), self.stage.classroom.open, "quiet"),
            button("help", _("Help"), self.stage.go.open_help, "quiet"),
            button("settings", _("Settings"), self.stage.go.open_settings, "quiet"),
            button("readers", _("Readers"), self.stage.go.open_readers, "quiet"),
        ]
        self._head = at_head(canvas, items, theme.text_width("Stavewise", "title", canvas.px(34)))
        return items

    def paint(self, canvas: Canvas) -> None:
        px, middle = canvas.px, canvas.width // 2
        canvas.text("Stavewise", (px(40), px(40)), size=34, face="title", anchor="midleft")
        wide, top = canvas.width - px(80), self._head
        for notice in self.stage.notices[:1]:
            at = middle, top + px(6)
            top = canvas.centred(notice, at, wide, size=16, face="strong", colour=theme.WRONG)
        piano = self._piano.place(canvas)
        asked = _("This is middle C. Press it.") if self._begin_at is None else _("Middle C.")
        words = self.close_line or self._message or asked
        y = piano.top - px(28)  # above the arrow
        y = canvas.centred(
            self._keyboard(), (middle, y), wide, size=15, colour=theme.MUTED, up=True
        )
        colour = theme.WRONG if words == self._message else theme.INK
        canvas.centred(words, (middle, y), wide, size=22, face="strong", colour=colour, up=True)
        lines = 1 if canvas.width >= px(1000) else 2  # the staff stays where it is
        self._view.draw(canvas, Rect(0, top, canvas.width, y - lines * px(30) - top), hidden=False)
        computer = None if self.stage.piano.connected else self.stage.piano.computer
        self._piano.draw(canvas, piano, computer)
        self._piano.point(canvas, MIDDLE_C)

    def _keyboard(self) -> str:
        """What was found to play on."""
        if self.stage.piano.connected:
            return f"✓ {self.stage.piano.line}"
        if self.stage.piano.other or self.stage.piano.keyboards.refused:
            return self.stage.piano.line
        return _(
            "No MIDI keyboard yet: plug one in at any time. The piano here is played with "
            "the mouse, or with the letters on it."
        )

    def wait(self, now: float) -> float | None:
        return None if self._begin_at is None else max(0.0, self._begin_at - now)

    def tick(self, now: float) -> None:
        if self._begin_at is not None and now >= self._begin_at:
            self._begin_at = None
            self._begin()

    def piano(self, event: KeyDown | KeyUp) -> None:
        if isinstance(event, KeyUp):
            self._piano.down.discard(event.key)
            return
        self.asks_to_close = False
        self._piano.down.add(event.key)
        if self._begin_at is not None:
            return
        if event.key == MIDDLE_C or self._insists(event):
            self._message, self._view.ghosts = "", ()
            self._view.right([self._note], finished=True)
            self._begin_at = self.stage.clock.now() + SHOWN_S
        else:
            self._view.wrong(self._note, self._played(event.key))

    def _played(self, key: int) -> Pitch:
        return spelled(self._view.prompt, self._note, key)

    def _insists(self, event: KeyDown) -> bool:
        """Whether a C of another octave is to be taken as middle C from now on.

        Only a real keyboard's: small ones are often shifted by octaves, and some send no middle C.
        """
        key, times = self._insisted
        times = times + 1 if key == event.key else 1
        self._insisted = event.key, times
        options = self.stage.settings.now
        played = options.names.name(self._played(event.key), octave=True)
        if event.key % 12 != MIDDLE_C % 12:
            self._message = _("That was {name}. Middle C is the key with the arrow.").format(
                name=played
            )
            return False
        middle = self.stage.piano.name_key(MIDDLE_C)
        self._message = _("That is a C too, but {name}: middle C is {middle}.").format(
            name=played, middle=middle
        )
        if event.keyboard == ON_SCREEN:
            return False
        if times < INSIST:
            self._message += " " + _("If your keyboard has no other, press it again.")
            return False
        shift = options.shift + MIDDLE_C - event.key
        self.stage.settings.save(replace(options, shift=shift))
        self._piano.down.clear()  # the key comes up under another number
        return True

    def mouse(self, event: pygame.event.Event) -> None:
        if not self._piano.mouse(event, self.stage):
            super().mouse(event)
            if event.type == pygame.MOUSEMOTION:
                self._by_menu = self._hit(event.pos) is not None

    def key(self, event: pygame.event.Event) -> None:
        if event.key in MENU_KEYS and not self._by_menu:
            self.asks_to_close = False
            self._by_menu = True  # the first of them shows where the focus is
        elif event.key == pygame.K_ESCAPE or self._by_menu:
            super().key(event)
        elif event.key in (pygame.K_RETURN, pygame.K_KP_ENTER, pygame.K_SPACE):
            self.stage.piano.press(MIDDLE_C, 80)  # whoever has no piano at hand is led on as well
            self.stage.piano.release(MIDDLE_C)

    def leave(self) -> None:
        for key in tuple(self._piano.down):
            self.stage.piano.release(key)

    def _begin(self, *, find: bool = False) -> None:
        """No name is asked for: it can be given on the readers' page. Of a MIDI keyboard its ends
        are, since nothing must be shown that it lacks."""
        if ends_unknown(self.stage) and not self._keyboard_asked:
            self._keyboard_asked = True
            self.stage.go.show(KeyRange(self.stage, partial(self._begin, find=find)))
            return
        try:
            taken = (reader.name for reader in self.stage.store.readers(True))
            reader = self.stage.store.add_reader(free_name(_("Reader {number}"), taken))
        except StoreError as error:
            self._message = str(error)
            self.stage.go.show(self)
            return
        self.stage.rounds.newcomer(reader, find=find)
