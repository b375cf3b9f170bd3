# SPDX-License-Identifier: MIT
"""Of several windows of one user, the piano is heard by the one in front."""

from __future__ import annotations

import secrets
from contextlib import suppress

import pygame

from game.files.private import make_folder
from game.files.resources import data_folder


class Front:
    """Stateful: a mark on the disk of the window that was opened or turned to last.

    A window that was left for another program hears the piano on: nobody else does.
    """

    def __init__(self) -> None:
        self._file = data_folder() / "window in front"
        self._mine = ""

    def take(self) -> None:
        """This window is in front."""
        self._mine = self._mine or secrets.token_hex(8)
        with suppress(OSError):  # then it hears the piano, whatever others do
            make_folder(self._file.parent)
            self._file.write_text(self._mine)

    @property
    def here(self) -> bool:
        """Whether no other window was turned to since."""
        if not self._mine or pygame.key.get_focused():
            return True
        try:
            return self._file.read_text() == self._mine
        except (OSError, ValueError):
            return True

    def leave(self) -> None:
        """This window closes."""
        with suppress(OSError, ValueError):
            if self._file.read_text() == self._mine:
                self._file.unlink()
