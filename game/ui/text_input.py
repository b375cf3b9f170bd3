# SPDX-License-Identifier: MIT
"""Letters typed into a field, also by an input method that puts them together first."""

from __future__ import annotations

import pygame


class TextInput:
    """Stateful: SDL's text input, on only while the page has a field for it: elsewhere an input
    method would hold back keys that are notes or orders."""

    def __init__(self) -> None:
        pygame.key.stop_text_input()
        self._at: pygame.Rect | None = None

    def follow(self, at: pygame.Rect | None) -> None:
        """Take letters for the field at a place of the window, beside which an input method shows
        what it offers; None for no field."""
        if at == self._at:
            return
        if at is None:
            pygame.key.stop_text_input()
        else:
            pygame.key.set_text_input_rect(at)
            if self._at is None:
                pygame.key.start_text_input()
        self._at = at
