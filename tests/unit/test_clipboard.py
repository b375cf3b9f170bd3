# SPDX-License-Identifier: MIT
"""What is pasted, as each system hands it over (pygame's scrap_win.c and scrap_sdl2.c)."""

from __future__ import annotations

import sys

import pygame
import pytest

from game.ui.clipboard import pasted

NAMES = ["Жанна", "Łukasz", "李", "Zoë", "Anna", "עדה", "𝄞 clef"]


@pytest.fixture
def copied(monkeypatch):
    """Copies bytes, under the type that pygame asks for."""

    def copy(data: bytes, system: str) -> None:
        monkeypatch.setattr(sys, "platform", system)
        monkeypatch.delattr(pygame.scrap, "get_text", raising=False)
        monkeypatch.setattr(pygame.scrap, "get_init", lambda: True)
        kinds = {"text/plain;charset=utf-8": data, pygame.SCRAP_TEXT: b"?????"}
        monkeypatch.setattr(pygame.scrap, "get", kinds.get)

    return copy


@pytest.mark.parametrize("name", NAMES)
def test_windows_hands_over_utf_16_and_what_lay_behind_it(copied, name):
    copied(f"{name}\r\nsecond".encode("utf-16-le") + b"\0\0\xff\xd8\x00", "win32")
    assert pasted() == name


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("system", ["linux", "darwin"])
def test_elsewhere_it_is_utf_8(copied, name, system):
    copied(f"{name}\n".encode() + b"\0", system)
    assert pasted() == name


def test_pygame_ce_hands_over_text(monkeypatch):
    monkeypatch.setattr(pygame.scrap, "get_init", lambda: True)
    monkeypatch.setattr(pygame.scrap, "get_text", lambda: "\n Жанна \n", raising=False)
    assert pasted() == "Жанна"


def test_no_text_is_nothing(copied):
    copied(b"", "linux")
    assert pasted() in ("", "?????")
