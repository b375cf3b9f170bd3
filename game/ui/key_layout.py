# SPDX-License-Identifier: MIT
"""The computer keyboard as its owner knows it: the letters on its keys, and what they order."""

from __future__ import annotations

from collections.abc import Mapping

import pygame

_A_PLACE, _LETTERS = pygame.KSCAN_A, 26  # USB HID Usage Tables, page 0x07: A to Z of a US keyboard
_SCRIPTS = range(0x21, 0x1000)  # of Unicode, from Latin on: what a key may be called after
_ORDERS = pygame.KMOD_CTRL | pygame.KMOD_ALT | pygame.KMOD_META


def key_letters() -> dict[int, str]:
    """Scancode -> what the key there types alone, as SDL knows the layout that is chosen now."""
    # pygame looks up the place of a key's code for whoever indexes what get_pressed() returns.
    place_of = pygame.key.ScancodeWrapper(range(512))  # type: ignore[arg-type]
    found: dict[int, str] = {}
    for code in _SCRIPTS:
        if place := place_of[code]:
            capital = chr(code).upper()
            found.setdefault(place, capital if capital.lower() == chr(code) else chr(code))
    return found


def combined(event: pygame.event.Event) -> bool:
    """Whether a key goes down together with Ctrl, Alt or Cmd: an order to some program, no note."""
    return bool(event.mod & _ORDERS)


def by_place(event: pygame.event.Event, letters: Mapping[int, str]) -> pygame.event.Event:
    """The event, under the Latin letter of its place where the layout has no key for that letter.

    So R, N, Q and the like are where they always were while one types Greek or Cyrillic.
    """
    number = event.scancode - _A_PLACE
    if not 0 <= number < _LETTERS or chr(ord("A") + number) in letters.values():
        return event
    return pygame.event.Event(event.type, {**event.dict, "key": pygame.K_a + number})
