# SPDX-License-Identifier: MIT
"""A page with nothing behind it: to go back from it is to close the game."""

from __future__ import annotations

import pygame

from game.keyboards import KeyDown, KeyUp
from game.screens.screen import Screen
from game.screens.text import _


class LastExit(Screen):
    """Stateful: whether Escape was pressed once. Only a second one closes the game, and no key
    of a piano does: whoever tries the keys of a piano wants to stay."""

    asks_to_close = False

    @property
    def backs_by_piano(self) -> bool:
        return False

    @property
    def back_says(self) -> str:
        return _("close the game")

    @property
    def close_line(self) -> str:
        """What is asked once Escape was pressed; empty before."""
        return _("Press Esc once more to close the game.") if self.asks_to_close else ""

    def back(self) -> None:
        if self.asks_to_close:
            self.stage.quit()
        self.asks_to_close = True

    def key(self, event: pygame.event.Event) -> None:
        if event.key != pygame.K_ESCAPE:
            self.asks_to_close = False  # whoever turns to something else has thought better of it
        super().key(event)

    def mouse(self, event: pygame.event.Event) -> None:
        if event.type == pygame.MOUSEBUTTONDOWN:
            self.asks_to_close = False
        super().mouse(event)

    def piano(self, event: KeyDown | KeyUp) -> None:
        self.asks_to_close = False
        super().piano(event)

    def enter(self) -> None:
        self.asks_to_close = False
        super().enter()
