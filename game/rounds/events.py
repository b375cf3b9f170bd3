# SPDX-License-Identifier: MIT
"""What can happen in a round. Times are seconds on the round's own clock, never read here."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import FiniteFloat

ON_SCREEN = "screen"
"""The keyboard that is drawn on the screen, in :attr:`Press.keyboard`."""


@dataclass(frozen=True, slots=True)
class Flip:
    """The current prompt became visible at time `t`."""

    t: FiniteFloat


@dataclass(frozen=True, slots=True)
class Press:
    """A key went down.

    Args:
        t: seconds.
        key: MIDI key number, 0 to 127.
        velocity: 1 to 127.
        keyboard: which keyboard sent it.
    """

    t: FiniteFloat
    key: int
    velocity: int = 64
    keyboard: str = ""


@dataclass(frozen=True, slots=True)
class Pause:
    """The clock stops."""

    t: FiniteFloat


@dataclass(frozen=True, slots=True)
class Resume:
    """The clock goes on."""

    t: FiniteFloat


@dataclass(frozen=True, slots=True)
class Tick:
    """Time has passed; ends a timed round whose time is up."""

    t: FiniteFloat


@dataclass(frozen=True, slots=True)
class Stop:
    """The round ends here, unfinished slot and all."""

    t: FiniteFloat


Event = Flip | Press | Pause | Resume | Tick | Stop
