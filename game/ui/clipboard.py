# SPDX-License-Identifier: MIT
"""What was copied elsewhere, as text."""

from __future__ import annotations

import sys
import warnings

import pygame

_KINDS = ("text/plain;charset=utf-8", pygame.SCRAP_TEXT)


def pasted() -> str:
    """The first line of the clipboard that is not empty; nothing where there is no text."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # that scrap is young
            if hasattr(pygame.scrap, "get_text"):  # pygame-ce
                text = pygame.scrap.get_text()
            else:
                if not pygame.scrap.get_init():
                    pygame.scrap.init()
                text = _decoded(next(filter(None, map(pygame.scrap.get, _KINDS)), b""))
    except pygame.error:
        return ""
    return next((line.strip() for line in text.splitlines() if line.strip()), "")


def _decoded(data: bytes) -> str:
    """What pygame's scrap gives, up to the end of the text: what follows that is left over.

    On Windows it hands over CF_UNICODETEXT, which is UTF-16, under the name of UTF-8.
    """
    encoding = "utf-16-le" if sys.platform == "win32" else "utf-8"
    return data.decode(encoding, "replace").partition("\0")[0].removeprefix("\ufeff")


def pastes(event: pygame.event.Event) -> bool:
    """Whether a key pastes: Ctrl+V, Cmd+V or Shift+Insert."""
    if event.key == pygame.K_INSERT:
        return bool(event.mod & pygame.KMOD_SHIFT)
    return event.key == pygame.K_v and bool(event.mod & (pygame.KMOD_CTRL | pygame.KMOD_META))
