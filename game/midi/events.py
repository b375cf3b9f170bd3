# SPDX-License-Identifier: MIT
"""What comes from keyboards. Times are seconds on the clock of :func:`time.perf_counter`, which
all processes of a computer share."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class KeyDown:
    """A key went down.

    Args:
        t: seconds, taken on arrival.
        key: MIDI key number, 0 to 127.
        velocity: 1 to 127.
        keyboard: the label of the keyboard.
    """

    t: float
    key: int
    velocity: int
    keyboard: str


@dataclass(frozen=True, slots=True)
class KeyUp:
    """A key came up; arguments as for :class:`KeyDown`."""

    t: float
    key: int
    keyboard: str


@dataclass(frozen=True, slots=True)
class Keyboards:
    """Which MIDI keyboards there are: one value, handed over whenever it changes.

    Args:
        t: since when.
        heard: labels of those that are listened to, in the order in which they came.
        gone: labels of those that were heard until now.
        came: labels of those that are heard since now. A label may be in both: that is another
            keyboard of the same name, or one of several that nobody can tell apart.
        there: labels of all that are plugged in, heard or not.
        reached: how MIDI is reached, such as ``rtmidi: JACK``, or ``none:`` and the reason; empty
            while that is not known yet.
        refused: those of `there` that cannot be opened: another program holds them.
        passed_over: names of ports that are no keyboards.
        identities: what the system calls each of `there`.
    """

    t: float = 0.0
    heard: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    came: tuple[str, ...] = ()
    there: tuple[str, ...] = ()
    reached: str = ""
    refused: tuple[str, ...] = ()
    passed_over: tuple[str, ...] = ()
    identities: tuple[str, ...] = ()

    @property
    def settled(self) -> Keyboards:
        """The same, as it stays: nothing has just come or gone."""
        return replace(self, gone=(), came=())


KeyboardEvent = KeyDown | KeyUp | Keyboards
