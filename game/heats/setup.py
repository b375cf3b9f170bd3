# SPDX-License-Identifier: MIT
"""What a heat is played on: all that must be known to deal it again, with its JSON.

A heat is kept as its setup and its events (:mod:`game.heats.events`), each as plain JSON values;
:func:`game.heats.machine.play` makes the heat of them, the same one on any machine.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from typing import Annotated, Any

from pydantic import AliasPath, Field, FiniteFloat

from game.levels import Compass, Level
from game.rounds import CHORD_WINDOW_S, RULES, Terms
from game.rounds.shapes import KeyNumber, shaped

MOST_SEATS = 100
MOST_PROMPTS, MOST_SECONDS = 500, 1800
"""As in a level file."""


class PlayMode(StrEnum):
    """How the readers play."""

    IN_TURN = "in turn"  # one after another, on one keyboard
    TOGETHER = "together"  # all at once, a seat for each keyboard


class Forms(StrEnum):
    """What they read."""

    OWN = "own"  # each seat its own prompts, equally hard
    SAME = "same"  # all the same


@dataclass(frozen=True, slots=True)
class Binding:
    """The keys that are a seat's.

    Args:
        keyboard: the label of its keyboard.
        low: lowest MIDI key, 0 to 127; more than 0 on the upper part of a split keyboard.
        high: highest, `low` to 127.
    """

    keyboard: str
    low: KeyNumber = 0
    high: KeyNumber = 127

    def __post_init__(self) -> None:
        Compass(self.low, self.high)

    def holds(self, keyboard: str, key: int) -> bool:
        """Whether this key of this keyboard is the seat's."""
        return keyboard == self.keyboard and self.low <= key <= self.high


@dataclass(frozen=True, slots=True)
class Seat:
    """A reader at a keyboard, or at the one that goes round.

    Args:
        number: 1 or more, unique in its heat; the seat's prompts depend on it.
        name: as shown; empty for a seat that is only a number.
        member: what the roster knows its reader by; None for nobody that is known.
        binding: its keys; None where it is not bound (yet), and in turn.
    """

    number: int
    name: str = ""
    member: str | None = None
    binding: Binding | None = None

    def __post_init__(self) -> None:
        if self.number < 1:
            raise ValueError(f"seats are numbered from 1; found {self.number}")

    @property
    def title(self) -> str:
        """Its name, or ``Seat 3``."""
        return self.name or f"Seat {self.number}"

    @property
    def nameless(self) -> Seat:
        """The seat without what tells who sits there."""
        return replace(self, name="", member=None)


@dataclass(frozen=True)
class _Keys:
    compass: tuple[KeyNumber, KeyNumber]


@dataclass(frozen=True, slots=True)
class HeatSetup:
    """The terms of a heat.

    Args:
        level_id: of the level.
        level_title: what the ladder calls it.
        level_text: its TOML, whole, so that a later edit of the file changes no old heat.
        seed: of the deal, 0 or more.
        prompts: how many every seat reads, 1 to 500; None in a timed heat.
        seconds: how long every seat reads, 1 to 1800; None in a counted heat. One of the two is
            given.
        manner: in turn or together.
        forms: their own prompts, equally hard, or the same for all.
        seats: those that are there from the beginning, in order.
        compass_low: lowest MIDI key of the keyboards.
        compass_high: highest.
        count_in_s: seconds that are counted before a start.
        tempo: of phrases read in time, quarters per minute; None for the level's own.
        window_s: within which the keys of a slot go down together.
        dealt: how the forms on the parts of a split keyboard are: 1 each by its own keys, as in
            heats of older games, 2 equally hard on all.

    Raises:
        ValueError: a value outside its range, no seat or two of one number.
    """

    level_id: Annotated[str, Field(validation_alias=AliasPath("level", "id"))]
    level_title: Annotated[str, Field(validation_alias=AliasPath("level", "title"))]
    level_text: Annotated[str, Field(validation_alias=AliasPath("level", "text"))]
    seed: Annotated[int, Field(ge=0)]
    prompts: int | None
    seconds: int | None
    manner: PlayMode
    forms: Forms
    seats: tuple[Seat, ...]
    compass_low: int = 21
    compass_high: int = 108
    count_in_s: FiniteFloat = 3.0
    tempo: FiniteFloat | None = None
    window_s: FiniteFloat = CHORD_WINDOW_S
    dealt: Annotated[int, Field(ge=1, le=2)] = 2
    rules: Annotated[int, Field(ge=1, le=RULES)] = RULES

    def __post_init__(self) -> None:
        if (self.prompts is None) == (self.seconds is None):
            raise ValueError("a heat is as long as its prompts or its seconds: give one of them")
        for name, most in (("prompts", MOST_PROMPTS), ("seconds", MOST_SECONDS)):
            value = getattr(self, name)
            if value is not None and not 1 <= value <= most:
                raise ValueError(f"the {name} of a heat: from 1 to {most}, not {value}")
        if not 1 <= len(self.seats) <= MOST_SEATS:
            raise ValueError(f"a heat has 1 to {MOST_SEATS} seats, not {len(self.seats)}")
        numbers = [seat.number for seat in self.seats]
        if len(set(numbers)) < len(numbers):
            raise ValueError(f"two seats have one number: {sorted(numbers)}")
        if self.count_in_s < 0 or self.window_s < 0:
            raise ValueError("count_in_s and window_s are seconds, 0 or more")
        Compass(self.compass_low, self.compass_high)
        self.terms()

    @property
    def kind(self) -> str:
        """``counted:24`` or ``timed:60``; heats of one kind on one level compare."""
        return self.terms().kind

    def terms(self) -> Terms:
        """The terms of a seat's round, but for the prompts, which :mod:`forms` deals."""
        return Terms(
            self.level_id,
            self.level_text,
            self.seed,
            self.prompts or 1,
            self.seconds,
            self.compass_low,
            self.compass_high,
            self.window_s,
            tempo=self.tempo,
            rules=self.rules,
        )

    def level(self) -> Level:
        """The level as it was.

        Raises:
            LevelFaults: the kept text is damaged or of another format.
        """
        return self.terms().level()

    def compass_of(self, seat: Seat) -> Compass:
        """The keys that a seat has: the keyboard's, on a split one its own part of them.

        Raises:
            ValueError: it has none.
        """
        low, high = self.compass_low, self.compass_high
        if seat.binding is not None:
            low, high = max(low, seat.binding.low), min(high, seat.binding.high)
        return Compass(low, high)

    def has_keys(self, seat: Seat) -> bool:
        """Whether any of the keyboards' keys is the seat's."""
        try:
            self.compass_of(seat)
        except ValueError:
            return False
        return True

    @property
    def nameless(self) -> HeatSetup:
        """The setup without what tells who sits where."""
        return replace(self, seats=tuple(seat.nameless for seat in self.seats))

    def to_json(self) -> dict[str, Any]:
        """Plain values."""
        return {
            "level": {"id": self.level_id, "title": self.level_title, "text": self.level_text},
            "seed": self.seed,
            "prompts": self.prompts,
            "seconds": self.seconds,
            "manner": self.manner.value,
            "forms": self.forms.value,
            "seats": [asdict(seat) for seat in self.seats],
            "compass": [self.compass_low, self.compass_high],
            "count_in_s": self.count_in_s,
            "tempo": self.tempo,
            "window_s": self.window_s,
            # A heat of an older game has none of these.
            **({"dealt": self.dealt} if self.dealt > 1 else {}),
            **({"rules": self.rules} if self.rules > 1 else {}),
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> HeatSetup:
        """What :meth:`to_json` gave. Values that this version does not know are left out.

        Raises:
            Misshapen: a value is missing or cannot be.
        """
        low, high = shaped(_Keys, data).compass
        older = {"dealt": 1, "rules": 1}
        return shaped(cls, older | {**data, "compass_low": low, "compass_high": high})
