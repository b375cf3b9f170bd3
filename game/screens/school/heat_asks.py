# SPDX-License-Identifier: MIT
"""What a teacher does that would lose somebody's try, and how it is asked first."""

from __future__ import annotations

from collections.abc import Callable

from game.heats import Heat, HeatPhase
from game.screens.school.called import called
from game.screens.school.heat_board import done_words
from game.screens.school.heat_controls import KEYS
from game.ui.asked_twice import AskedTwice
from game.words.text import _

_OF_A_SEAT, _OF_A_TURN = ("R", "X"), ("N", "C")  # keys about the chosen seat, and about a turn


class HeatAsks:
    """Stateful: which key of the foot is to be pressed again, and whose try it would lose.

    Args:
        now: the clock, seconds.
        heat: gives it as it is now.
        chosen: gives the number of the chosen seat.
    """

    def __init__(
        self, now: Callable[[], float], heat: Callable[[], Heat], chosen: Callable[[], int]
    ) -> None:
        self._twice = AskedTwice(now)
        self._heat, self._chosen = heat, chosen

    def _about(self, key: str) -> tuple[str, int | None]:
        """A key, and the seat whose try it could lose; None for all."""
        if key in _OF_A_SEAT:
            return key, self._chosen()
        return key, self._heat().turn if key in _OF_A_TURN else None

    def asked(self, key: str) -> bool:
        """Whether this key is to be pressed again."""
        return self._twice.open == self._about(key)

    def sure(self, key: str) -> bool:
        """Whether what a key does can be done now; where a try would be lost, it is asked first."""
        about = self._about(key)
        return not risks(self._heat(), *about) or self._twice.sure(about)

    def drop(self) -> None:
        """Nothing is asked any more."""
        self._twice.drop()

    def run_over(self) -> None:
        """A run has begun or is over: so is what was asked of that, but not what is of a seat."""
        if not any(self.asked(key) for key in _OF_A_SEAT):
            self.drop()

    @property
    def open(self) -> bool:
        """Whether anything is asked."""
        return self._key is not None

    @property
    def left(self) -> float | None:
        """Seconds until the question lapses; None where there is none."""
        return self._twice.left

    @property
    def words(self) -> str:
        """The question; empty where there is none."""
        return "" if self._key is None else question(self._heat(), *self._about(self._key))

    @property
    def _key(self) -> str | None:
        """The key that is to be pressed again."""
        return next((key for key in KEYS.values() if self.asked(key)), None)


def risks(heat: Heat, key: str, seat: int | None) -> bool:
    """Whether a key of the foot would lose something that cannot be had again.

    Args:
        heat: as it is now.
        key: its name, one of the values of :data:`game.screens.school.heat_controls.KEYS`.
        seat: which one it is about; None for all.
    """
    chair = heat.chair(seat)
    match key:
        case "C":
            return True
        case "Q":
            return not heat.done
        case "R":
            return chair is not None and chair.round is not None
        case "N":
            return chair is not None and chair.playing
        case "X":
            return chair is not None and not chair.disqualified and _alone(heat) == seat
    return False


def _alone(heat: Heat) -> int | None:
    """The only seat that counts in the run, or in its count-in: without it, that would be over."""
    if heat.phase is HeatPhase.RUNNING:
        inside = [one.seat.number for one in heat.chairs if one.playing and not one.disqualified]
    elif heat.phase is HeatPhase.COUNT_IN:
        inside = [number for number in heat.to_play if heat.turn in (None, number)]
    else:
        return None
    return inside[0] if len(inside) == 1 else None


def question(heat: Heat, key: str, seat: int | None) -> str:
    """The words that ask; they stand beside the clock."""
    chair = heat.chair(seat)
    name = "" if chair is None else called(chair.seat)
    match key:
        case "R":
            return _("Redo {name}? R again: this try is lost").format(name=name)
        case "X":
            return _("{name} not counted? X again: the run ends").format(name=name)
        case "N":
            return _("End {name}'s run? N again: next").format(name=name)
        case "C" if chair is None:
            return _("End this run for all? C again")
        case "C":
            return _("End {name}'s run? C again").format(name=name)
    if heat.phase is HeatPhase.WAITING:
        return _("End the heat? Q again. {left}").format(left=done_words(heat))
    return _("End the heat, and this run? Q again")
