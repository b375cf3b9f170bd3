# SPDX-License-Identifier: MIT
"""A heat: one class challenge. Who reads what, on whose keys, and how they came out.

Pure: no clock, no input or output. A heat is its setup and its events; both have JSON, and the
same ones make the same heat on any machine.

    heat = begin(setup)                      # setup.HeatSetup, to_json and from_json
    done = step(heat, SeatPress(1.2, 3, 60)) # events: event_to_json and event_from_json
    heat = play(setup, events)               # the same again, as from a store
    standings_of(heat), reading_of_class(heat)
    heat_file(setup, events, program=…)      # chain: to be judged again by anybody

:mod:`seats` says whose a press is, :mod:`roster` reads class lists. They and :mod:`chain` are
imported by name.
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
from game.heats.forms import Fairness, fairness, form_of
from game.heats.heat import Chair, Heat, HeatPhase, HeatStep
from game.heats.machine import begin, play, step
from game.heats.matching import Form
from game.heats.reading import ReadingCounts, reading_of, reading_of_class
from game.heats.setup import Binding, Forms, HeatSetup, PlayMode, Seat
from game.heats.standings import (
    ScoreChange,
    SeatOutcome,
    Shown,
    Shows,
    Spread,
    Standing,
    Standings,
    change,
    shown,
    standings_of,
)

__all__ = [
    "Binding",
    "Bound",
    "Chair",
    "CountIn",
    "Disqualify",
    "End",
    "Fairness",
    "Form",
    "Forms",
    "Heat",
    "HeatEvent",
    "HeatPhase",
    "HeatSetup",
    "HeatStep",
    "Join",
    "NextSeat",
    "PlayMode",
    "ReadingCounts",
    "Redo",
    "Reinstate",
    "ScoreChange",
    "Seat",
    "SeatFlip",
    "SeatOutcome",
    "SeatPress",
    "SeatReady",
    "Shown",
    "Shows",
    "Spread",
    "Standing",
    "Standings",
    "Start",
    "begin",
    "change",
    "event_from_json",
    "event_to_json",
    "fairness",
    "form_of",
    "play",
    "reading_of",
    "reading_of_class",
    "shown",
    "standings_of",
    "step",
]
