# SPDX-License-Identifier: MIT
"""Pictures of the screens that a demo passes."""

from __future__ import annotations

from pathlib import Path

import pygame


class Shots:
    """Stateful: keeps one PNG of each screen, and of each moment asked for, in a folder."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder
        self._kept: set[str] = set()
        self._asked: str | None = None
        if folder is not None:
            folder.mkdir(parents=True, exist_ok=True)

    def soon(self, name: str) -> None:
        """Keep the next drawing under this name, the first time it is asked for."""
        if name not in self._kept:
            self._asked = name

    def passed(self, screen: str, surface: pygame.Surface) -> None:
        """A screen was drawn."""
        name, self._asked = self._asked or screen, None
        if self._folder is None or name in self._kept:
            return
        self._kept.add(name)
        number = len(self._kept)
        pygame.image.save(surface, str(self._folder / f"{number:02d}-{name}.png"))
