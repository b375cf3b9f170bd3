# SPDX-License-Identifier: MIT
"""The rules of a round: events in, verdicts and a score out.

Pure: no clock, no input or output. The same events give the same score on any machine.
"""

from game.rounds.alignment import Alignment, Outcome
from game.rounds.events import ON_SCREEN, Event, Flip, Pause, Press, Resume, Stop, Tick
from game.rounds.in_time import Pulse, kept_time
from game.rounds.octaves import OctaveRun
from game.rounds.pace import Lead, Pace, lead, pace_of, steady_pace
from game.rounds.round import CHORD_WINDOW_S, RULES, Round
from game.rounds.score import TEMPO_BANDS, Score, SlotResult, points, score_of, tempo_word
from game.rounds.state import Step, play, step
from game.rounds.terms import COMPARED, MOST_DELAY_S, READ_FROM, Terms, day_seed, passes
from game.rounds.timing import Punctuality, Timing, punctuality, steady_offset, timing_of
from game.rounds.touch import BOUNCE_S
from game.rounds.verdict import JudgedPress, Verdict, judge_key

__all__ = [
    "BOUNCE_S",
    "CHORD_WINDOW_S",
    "COMPARED",
    "MOST_DELAY_S",
    "ON_SCREEN",
    "READ_FROM",
    "RULES",
    "TEMPO_BANDS",
    "Alignment",
    "Event",
    "Flip",
    "JudgedPress",
    "Lead",
    "OctaveRun",
    "Outcome",
    "Pace",
    "Pause",
    "Press",
    "Pulse",
    "Punctuality",
    "Resume",
    "Round",
    "Score",
    "SlotResult",
    "Step",
    "Stop",
    "Terms",
    "Tick",
    "Timing",
    "Verdict",
    "day_seed",
    "judge_key",
    "kept_time",
    "lead",
    "pace_of",
    "passes",
    "play",
    "points",
    "punctuality",
    "score_of",
    "steady_offset",
    "steady_pace",
    "step",
    "tempo_word",
    "timing_of",
]
