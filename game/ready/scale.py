# SPDX-License-Identifier: MIT
"""How much larger than life the desktop shows its programs."""

from __future__ import annotations

import ctypes
import sys
from contextlib import suppress
from typing import Any

import pygame

_DPI = 96  # at 100 %, on Windows and X11


def desktop_scale() -> float | None:
    """The scale of the desktop, 1.0 for 100 %; None where nobody tells. The display is open."""
    if sys.platform == "win32":
        return float(ctypes.windll.user32.GetDpiForSystem()) / _DPI
    if pygame.display.get_driver() == "x11":
        return _x11_scale()
    if not hasattr(pygame, "Window"):  # pygame-ce has it; pygame's own display knows points only
        return None
    points = 64
    window = pygame.Window("", (points, points), hidden=True, allow_high_dpi=True)
    pixels: int = window.get_surface().get_width()
    window.destroy()
    return pixels / points


def _x11_scale() -> float | None:
    """By the resource ``Xft.dpi``, which the settings of a desktop set; 1.0 where none does."""
    with suppress(OSError, ValueError):
        x: Any = ctypes.CDLL("libX11.so.6")
        x.XOpenDisplay.restype = ctypes.c_void_p
        x.XGetDefault.restype = ctypes.c_char_p
        display = ctypes.c_void_p(x.XOpenDisplay(None))
        if display:
            try:
                dpi = x.XGetDefault(display, b"Xft", b"dpi")
                return float(dpi or _DPI) / _DPI
            finally:
                x.XCloseDisplay(display)
    return None
