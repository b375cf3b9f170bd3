# SPDX-License-Identifier: MIT
"""Opening the window."""

from __future__ import annotations

import os
import sys

import pygame

from game.resources import asset


class NoDisplay(RuntimeError):
    """No window can be opened."""


def check_display() -> None:
    """Raise :class:`NoDisplay` where a window cannot even be tried."""
    if sys.platform.startswith("linux") and not (
        os.environ.get("DISPLAY")
        or os.environ.get("WAYLAND_DISPLAY")
        or os.environ.get("SDL_VIDEODRIVER")
    ):
        raise NoDisplay("there is no display (neither DISPLAY nor WAYLAND_DISPLAY is set)")


def is_seen() -> bool:
    """Whether somebody can see a window: SDL's drivers that draw into nothing show none."""
    return os.environ.get("SDL_VIDEODRIVER") not in ("dummy", "offscreen")


def open_window(size: tuple[int, int] | None, full: bool) -> pygame.Surface:
    """The window, pixels wide and high as asked, or what fits; or filling the screen.

    Raises:
        NoDisplay: it cannot be opened.
    """
    os.environ.setdefault("SDL_VIDEO_X11_NET_WM_BYPASS_COMPOSITOR", "0")
    for system in ("X11", "WAYLAND"):  # as the menu's entry has it: the desktop joins the two
        os.environ.setdefault(f"SDL_VIDEO_{system}_WMCLASS", "stavewise")
    try:
        pygame.display.init()
        pygame.display.set_icon(pygame.image.load(asset("icon.svg")))
        pygame.font.init()
        pygame.display.set_caption("Stavewise")
        flags = pygame.FULLSCREEN if full else pygame.RESIZABLE
        size = (0, 0) if full else size or _first_size()
        surface = pygame.display.set_mode(size, flags)
    except pygame.error as error:
        raise NoDisplay(f"no window can be opened: {error}") from None
    pygame.key.set_repeat()
    return surface


def _first_size() -> tuple[int, int]:
    """1280x720, or what fits on a smaller display."""
    sizes = pygame.display.get_desktop_sizes()
    width, height = sizes[0] if sizes else (1280, 720)
    return min(1280, width), min(720, height)
