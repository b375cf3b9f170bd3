# SPDX-License-Identifier: MIT
"""What can happen in a heat, with its JSON.

All times are seconds on the heat's one clock, which is never read here: the caller chooses its
zero. :class:`Pause`, :class:`Resume`, :class:`Tick` and :class:`Stop` are those of a round, and
here concern all seats at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Annotated, Any

from pydantic import Field, FiniteFloat

from game.heats.setup import Binding, Seat
from game.rounds import Pause, Resume, Stop, Tick
from game.rounds.shapes import KeyNumber, Misshapen, shaped

SeatNumber = Annotated[int, Field(ge=0)]


@dataclass(frozen=True, slots=True)
class CountIn:
    """The count-in began; the start is due `HeatSetup.count_in_s` later."""

    t: FiniteFloat


@dataclass(frozen=True, slots=True)
class Start:
    """The clock starts: in turn for the seat whose turn it is, together for all that have still
    to play. It may come without a count-in."""

    t: FiniteFloat


@dataclass(frozen=True, slots=True)
class SeatFlip:
    """The current prompt of a seat became visible: from now on it could be read."""

    t: FiniteFloat
    seat: SeatNumber


@dataclass(frozen=True, slots=True)
class SeatPress:
    """A key went down.

    Args:
        t: seconds.
        seat: whose key it is (:mod:`game.heats.seats`); None for nobody's, and in turn, where
            every key is that of the seat whose turn it is.
        key: MIDI key number, 0 to 127.
        velocity: 1 to 127.
        keyboard: label of the keyboard that sent it.
    """

    t: FiniteFloat
    seat: SeatNumber | None
    key: KeyNumber
    velocity: KeyNumber = 64
    keyboard: str = ""


@dataclass(frozen=True, slots=True)
class SeatReady:
    """A seat is ready. Its own keys say so too: see :func:`game.heats.machine.step`."""

    t: FiniteFloat
    seat: SeatNumber


@dataclass(frozen=True, slots=True)
class NextSeat:
    """In turn: the turn passes on, and a round under way is cut.

    Args:
        t: seconds.
        seat: to which one; None for the next that has still to play.
    """

    t: FiniteFloat
    seat: SeatNumber | None = None


@dataclass(frozen=True, slots=True)
class Disqualify:
    """A seat no longer counts. What it plays goes on being kept."""

    t: FiniteFloat
    seat: SeatNumber


@dataclass(frozen=True, slots=True)
class Reinstate:
    """A disqualification is taken back."""

    t: FiniteFloat
    seat: SeatNumber


@dataclass(frozen=True, slots=True)
class Redo:
    """A seat plays again, on a new form. Its earlier try is kept and does not count."""

    t: FiniteFloat
    seat: SeatNumber


@dataclass(frozen=True, slots=True)
class Join:
    """A seat more: somebody came late."""

    t: FiniteFloat
    seat: Seat


@dataclass(frozen=True, slots=True)
class Bound:
    """A seat's keys are these from now on."""

    t: FiniteFloat
    seat: SeatNumber
    binding: Binding


@dataclass(frozen=True, slots=True)
class End:
    """The heat is closed for good."""

    t: FiniteFloat


HeatEvent = (
    CountIn
    | Start
    | SeatFlip
    | SeatPress
    | SeatReady
    | NextSeat
    | Pause
    | Resume
    | Tick
    | Stop
    | Disqualify
    | Reinstate
    | Redo
    | Join
    | Bound
    | End
)

KINDS: dict[str, type[HeatEvent]] = {
    "count in": CountIn,
    "start": Start,
    "flip": SeatFlip,
    "press": SeatPress,
    "ready": SeatReady,
    "next": NextSeat,
    "pause": Pause,
    "resume": Resume,
    "tick": Tick,
    "stop": Stop,
    "disqualify": Disqualify,
    "reinstate": Reinstate,
    "redo": Redo,
    "join": Join,
    "bound": Bound,
    "end": End,
}
"""Name in JSON -> event."""


@dataclass(frozen=True)
class _Kind:
    kind: str


_NAMES = {event: name for name, event in KINDS.items()}


def event_to_json(event: HeatEvent) -> dict[str, Any]:
    """Plain values: ``{"kind": "press", "t": 1.25, "seat": 3, "key": 60, …}``."""
    return {"kind": _NAMES[type(event)], **asdict(event)}


def event_from_json(data: Mapping[str, Any]) -> HeatEvent:
    """What :func:`event_to_json` gave.

    Raises:
        ValueError: the kind is unknown, or a value is missing or cannot be.
    """
    kind = shaped(_Kind, data).kind
    if kind not in KINDS:
        raise ValueError(f"an event: found the kind {kind!r}; allowed: {', '.join(KINDS)}")
    try:
        return shaped(KINDS[kind], data)
    except Misshapen as error:
        raise ValueError(f"a {kind!r} event: {error}") from None
