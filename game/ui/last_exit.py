# SPDX-License-Identifier: MIT
"""A page with nothing behind it: to go back from it is to close the game."""

from __future__ import annotations

import pygame

from game.keyboards import KeyDown, KeyUp
from game.ui.screen import PIANO_YES, Screen
from game.words.text import _


class LastExit(Screen):
    """Stateful: whether Escape was pressed once, or Close chosen by the piano. Only a second time
    closes the game: whoever tries the keys of a piano wants to stay."""

    asks_to_close = False
    _by_piano = False

    @property
    def backs_by_piano(self) -> bool:
        return False

    @property
    def back_says(self) -> str:
        return _("close the game")

    @property
    def close_line(self) -> str:
        """What is asked then; empty before."""
        if not self.asks_to_close:
            return ""
        key = self.stage.piano.name_key(PIANO_YES) if self._by_piano else _("Esc")
        return _("Press {key} once more to close the game.").format(key=key)

    def back(self) -> None:
        if self.asks_to_close:
            self.stage.go.quit()
        self.asks_to_close, self._by_piano = True, False

    def key(self, event: pygame.event.Event) -> None:
        if event.key != pygame.K_ESCAPE:
            self.asks_to_close = False  # whoever turns to something else has thought better of it
        super().key(event)

    def mouse(self, event: pygame.event.Event) -> None:
        if event.type == pygame.MOUSEBUTTONDOWN:
            self.asks_to_close = False
        super().mouse(event)

    def piano(self, event: KeyDown | KeyUp) -> None:
        if isinstance(event, KeyDown):
            asked, self.asks_to_close = self.asks_to_close, False
            if event.key == PIANO_YES and self.focus == "quit" and not asked:
                self.asks_to_close = self._by_piano = True
                return
        super().piano(event)

    def enter(self) -> None:
        self.asks_to_close = False
        super().enter()
