# SPDX-License-Identifier: MIT
"""Opening the window."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Any

import pygame

from game.app.shots import Shots
from game.files.resources import asset
from game.ui.widgets import Canvas

LEAST = 500, 400
"""Pixels, or points, wide and high: in less, the words of a page would not have their room."""
UNSEEN = pygame.WINDOWMINIMIZED, pygame.WINDOWHIDDEN
_FADE_S = 0.15  # one page gives way to another
_FRAME, _BARS = 16, 96  # of a desktop: a window's frame; its bar, a desktop's bar and the frame


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


def _open_display() -> None:
    """Open SDL's display; a driver that SDL_VIDEODRIVER names, and that fails, is passed over."""
    try:
        pygame.display.init()
    except pygame.error as error:
        if not os.environ.pop("SDL_VIDEODRIVER", ""):
            raise
        check_display()
        pygame.display.init()
        print(f"stavewise: SDL_VIDEODRIVER is passed over: {error}", file=sys.stderr)


def is_seen() -> bool:
    """Whether somebody can see a window: SDL's drivers that draw into nothing show none."""
    return os.environ.get("SDL_VIDEODRIVER") not in ("dummy", "offscreen")


class Window:
    """Stateful: what is drawn on, in the pixels of the screen, and how it is brought there.

    pygame's own display has those on X11 and, once told, on Windows. On macOS and Wayland it is
    drawn in points and blown up where a point has more pixels than one: there pygame-ce has a
    window of another kind, which is used where it is to be had.

    Args:
        size: in pixels, or (macOS, Wayland) points; None for what fits.
        full: whether it fills the screen.
        shots: keeps pictures of what is shown.

    Raises:
        NoDisplay: it cannot be opened.
    """

    def __init__(
        self, size: tuple[int, int] | None, full: bool, shots: Shots | None = None
    ) -> None:
        os.environ.setdefault("SDL_VIDEO_X11_NET_WM_BYPASS_COMPOSITOR", "0")
        os.environ.setdefault("SDL_WINDOWS_DPI_AWARENESS", "permonitorv2")
        os.environ.setdefault("SDL_IME_SHOW_UI", "1")  # what an input method offers is seen
        for system in ("X11", "WAYLAND"):  # as the menu's entry has it: the desktop joins the two
            os.environ[f"SDL_VIDEO_{system}_WMCLASS"] = "stavewise"
        self._shots = shots or Shots(None)
        self._fading: tuple[pygame.Surface, float] | None = None
        self._fine: Any = None
        self._refused = LEAST  # a size that the desktop kept to
        try:
            _open_display()
            icon = pygame.image.load(asset("icon.svg"))
            pygame.font.init()
            self._size = size or first_size(pygame.display.get_desktop_sizes())
            in_points = sys.platform == "darwin" or pygame.display.get_driver() == "wayland"
            if in_points and hasattr(pygame, "Window"):
                self._fine = pygame.Window(
                    "Stavewise", self._size, resizable=True, allow_high_dpi=True
                )
                self._fine.set_icon(icon)
                self._fine.minimum_size = LEAST
            else:
                pygame.display.set_icon(icon)
                pygame.display.set_caption("Stavewise")
            self._full = False
            self.fill(full)
        except pygame.error as error:
            raise NoDisplay(f"no window can be opened: {error}") from None
        pygame.key.set_repeat()

    def fill(self, full: bool) -> None:
        """Fill the screen, or be the window of before again."""
        if full and not self._full and pygame.display.get_surface() is not None:
            self._size = pygame.display.get_window_size()
        self._full = full
        if self._fine is None:
            flags = pygame.FULLSCREEN if full else pygame.RESIZABLE
            pygame.display.set_mode((0, 0) if full else self._size, flags)
        elif full:
            self._fine.set_fullscreen(desktop=True)
        else:
            self._fine.set_windowed()
        pygame.event.clear(UNSEEN)  # a window that another takes the place of is not out of sight
        self._drawn_on()

    def hold(self) -> None:
        """Make a window that was made too small as large as it has to be, if the desktop lets it;
        pygame's display cannot say so beforehand."""
        if self._fine is None and not self._full:
            size = pygame.display.get_window_size()
            least = max(size[0], LEAST[0]), max(size[1], LEAST[1])
            if size != least and size != self._refused:
                self._refused = size
                pygame.display.set_mode(least, pygame.RESIZABLE)
        self._drawn_on()

    def _drawn_on(self) -> None:
        if self._fine is None:
            self.canvas = Canvas(pygame.display.get_surface())
        else:
            self.canvas = Canvas(self._fine.get_surface(), flip=self._fine.flip)

    def turn_over(self, now: float | None) -> None:
        """Another page follows, and this one fades from `now` on; None: it is gone at once."""
        self._fading = None if now is None else (self.canvas.surface.copy(), now)

    @property
    def fades(self) -> bool:
        """Whether one page gives way to another."""
        return self._fading is not None

    def flip(self, name: str, now: float) -> None:
        """Show what was drawn: the page of this name, with the page before through it while that
        fades."""
        if self._fading is not None:
            page, start = self._fading
            passed = (now - start) / _FADE_S
            if passed >= 1 or page.get_size() != self.canvas.surface.get_size():
                self._fading = None
            else:
                page.set_alpha(round(255 * (1 - passed)))
                self.canvas.surface.blit(page, (0, 0))
        self.canvas.flip()
        if not self.fades:
            self._shots.passed(name, self.canvas.surface)

    def keep_shot(self, name: str) -> None:
        """Keep a picture of the next drawing, if pictures were asked for."""
        self._shots.soon(name)

    @property
    def _pixels(self) -> float:
        """Pixels to a unit of the mouse's places."""
        if self._fine is None:
            return 1.0
        return float(self._fine.get_surface().get_width() / self._fine.size[0])

    def pointed(self, event: pygame.event.Event) -> pygame.event.Event:
        """An event of the mouse, its place in pixels."""
        if self._fine is None or not hasattr(event, "pos"):
            return event
        x, y = (round(n * self._pixels) for n in event.pos)
        return pygame.event.Event(event.type, {**event.dict, "pos": (x, y)})

    def placed(self, rect: pygame.Rect) -> pygame.Rect:
        """A part of what is drawn, where the system looks for it."""
        return pygame.Rect(*(round(n / self._pixels) for n in rect))


def first_size(desktops: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """How large a window is at first: 1280x720, or two thirds of a large desktop; on a small one
    what the bars of the desktop and of the window leave."""
    if not desktops:
        return 1280, 720
    width, height = desktops[0]
    return (
        min(max(1280, width * 2 // 3), width - _FRAME),
        min(max(720, height * 2 // 3), height - _BARS),
    )
