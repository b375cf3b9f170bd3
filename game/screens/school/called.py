# SPDX-License-Identifier: MIT
"""What a reader is called on the screen: the name, where this computer can draw its letters."""

from __future__ import annotations

from game.heats import Seat
from game.ui import theme
from game.words.text import _


def called(seat: Seat) -> str:
    """``Mia``; or ``Seat 3``, where there is no name or no font for it."""
    return seat.title if theme.says(seat.title) else _("Seat {n}").format(n=seat.number)


def called_at(seat: Seat) -> str:
    """Who sits where, so that a teacher finds them: ``Mia (seat 3)``, or ``Seat 3``."""
    name = called(seat)
    return name if name != seat.name else _("{name} (seat {n})").format(name=name, n=seat.number)
