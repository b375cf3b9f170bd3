# SPDX-License-Identifier: MIT
"""A heat: one class challenge. Who reads what, on whose keys, and how they came out.

Pure: no clock, no input or output. A heat is its setup and its events; both have JSON, and the
same ones make the same heat on any machine.
"""

from game.heats.events import (
    Bound,
    CountIn,
    Disqualify,
    End,
    HeatEvent,
    Join,
    NextSeat,
    Redo,
    Reinstate,
    SeatFlip,
    SeatPress,
    SeatReady,
    Start,
    event_from_json,
    event_to_json,
)
from game.heats.forms import Form, form_of
from game.heats.heat import Chair, Heat, HeatStep, Phase
from game.heats.machine import begin, play, step
from game.heats.setup import Binding, Forms, HeatSetup, Manner, Seat

__all__ = [
    "Binding",
    "Bound",
    "Chair",
    "CountIn",
    "Disqualify",
    "End",
    "Form",
    "Forms",
    "Heat",
    "HeatEvent",
    "HeatSetup",
    "HeatStep",
    "Join",
    "Manner",
    "NextSeat",
    "Phase",
    "Redo",
    "Reinstate",
    "Seat",
    "SeatFlip",
    "SeatPress",
    "SeatReady",
    "Start",
    "begin",
    "event_from_json",
    "event_to_json",
    "form_of",
    "play",
    "step",
]
