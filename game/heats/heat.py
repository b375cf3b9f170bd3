# SPDX-License-Identifier: MIT
"""A heat at one moment: its seats, each with its round, and what it is doing.

:mod:`game.heats.machine` makes these values and takes them on.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from game.heats.matching import Form
from game.heats.setup import HeatSetup, Seat
from game.rounds import Round, Step


class HeatPhase(StrEnum):
    """What the heat is doing."""

    WAITING = "waiting"
    COUNT_IN = "count in"
    RUNNING = "running"
    ENDED = "ended"


@dataclass(frozen=True)
class Chair:
    """A seat in the heat, and how far it is.

    Args:
        seat: its number, reader and keys.
        form: the prompts of its present try.
        start: its round before the first event.
        attempt: 0 for the first try.
        round: its present try; None until it starts.
        tries: the earlier ones, which do not count, oldest first.
        ready: it said so since it last waited.
        disqualified: it does not count.
        cut_off: its round was cut while it was disqualified, since nobody else was playing.
    """

    seat: Seat
    form: Form
    start: Round
    attempt: int = 0
    round: Round | None = None
    tries: tuple[Round, ...] = ()
    ready: bool = False
    disqualified: bool = False
    cut_off: bool = False

    @property
    def playing(self) -> bool:
        """Whether its round is under way."""
        return self.round is not None and self.round.ended is None

    @property
    def to_play(self) -> bool:
        """Whether it counts and has still to start."""
        return self.round is None and not self.disqualified


@dataclass(frozen=True)
class Heat:
    """A heat at one moment; :func:`game.heats.machine.begin` makes one.

    Args:
        setup: what it is played on. Its seats are those of the beginning.
        chairs: the seats as they are now, in order of number.
        phase: what it is doing.
        turn: in turn, whose turn it is; None together.
        since: when the count-in or the run began. Pauses move it on.
        paused: when the pause under way began.
        strays: presses that were no seat's.
    """

    setup: HeatSetup
    chairs: tuple[Chair, ...]
    phase: HeatPhase = HeatPhase.WAITING
    turn: int | None = None
    since: float | None = None
    paused: float | None = None
    strays: int = 0

    def chair(self, number: int | None) -> Chair | None:
        """The seat of this number; None where there is none."""
        return next((chair for chair in self.chairs if chair.seat.number == number), None)

    @property
    def to_play(self) -> tuple[int, ...]:
        """The seats that count and have still to start."""
        return tuple(chair.seat.number for chair in self.chairs if chair.to_play)

    @property
    def playing(self) -> tuple[int, ...]:
        """The seats whose rounds are under way, disqualified or not."""
        return tuple(chair.seat.number for chair in self.chairs if chair.playing)

    @property
    def begun(self) -> tuple[tuple[Seat, Form], ...]:
        """The seats that have begun to play, each with the form of its present try."""
        return tuple((chair.seat, chair.form) for chair in self.chairs if chair.round is not None)

    @property
    def done(self) -> bool:
        """Whether nobody plays and nobody has still to: it is closed, or could be."""
        return not self.playing and (self.phase is HeatPhase.ENDED or not self.to_play)

    @property
    def start_due(self) -> float | None:
        """When the count-in is over; None where none is under way, or while it stands still."""
        if self.phase is not HeatPhase.COUNT_IN or self.paused is not None or self.since is None:
            return None
        return self.since + self.setup.count_in_s

    def left(self, now: float) -> float | None:
        """Seconds that the clock of a timed run has still to go; None where there is none."""
        if self.phase is not HeatPhase.RUNNING or self.setup.seconds is None or self.since is None:
            return None
        now = now if self.paused is None else self.paused
        return max(0.0, self.since + self.setup.seconds - now)


class HeatStep(NamedTuple):
    """What an event did.

    Args:
        heat: the heat after it.
        seat: whose event it was: of a press, the seat that it was taken for; None of all or of
            nobody.
        step: what the seat's round made of it; None where it was not fed to one.
    """

    heat: Heat
    seat: int | None = None
    step: Step | None = None
