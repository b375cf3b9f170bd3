# SPDX-License-Identifier: MIT
"""What was copied elsewhere, as text."""

from __future__ import annotations

import warnings

import pygame

_KINDS = ("text/plain;charset=utf-8", pygame.SCRAP_TEXT)


def pasted() -> str:
    """The first line of the clipboard that is not empty; nothing where there is no text."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # that scrap is young
            if not pygame.scrap.get_init():
                pygame.scrap.init()
            data = next(filter(None, map(pygame.scrap.get, _KINDS)), b"")
    except pygame.error:
        return ""
    # Windows hands UTF-16 over under this name, too.
    text = data.decode("utf-16-le" if data[1:2] == b"\0" else "utf-8", "replace")
    return next((line.strip() for line in text.strip("\0").splitlines() if line.strip()), "")


def pastes(event: pygame.event.Event) -> bool:
    """Whether a key pastes: Ctrl+V, Cmd+V or Shift+Insert."""
    if event.key == pygame.K_INSERT:
        return bool(event.mod & pygame.KMOD_SHIFT)
    return event.key == pygame.K_v and bool(event.mod & (pygame.KMOD_CTRL | pygame.KMOD_META))
