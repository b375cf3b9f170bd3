# SPDX-License-Identifier: MIT
"""What a round is played on: all that must be known to deal it again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from game.levels.check import parse_level
from game.levels.compass import Compass
from game.levels.deal import deal
from game.levels.level import Level
from game.rounds.events import Event
from game.rounds.in_time import Pulse
from game.rounds.state import CHORD_WINDOW_S, Round, play

_FASTEST_PER_S = 4  # a timed round holds more prompts than anybody can read


@dataclass(frozen=True, slots=True)
class Terms:
    """The terms of a round; with its events they make its record.

    Args:
        level_id: the level's id.
        level_text: its TOML, kept so that a later edit of the file changes no old record.
        seed: of the deal, 0 or more.
        prompts: how many are dealt, at least 1.
        seconds: length of a timed round, at least 1; None for a counted one.
        compass_low: lowest MIDI key of the reader's keyboard.
        compass_high: highest.
        window_s: within which the keys of a slot go down together.
        tempo: of phrases read in time, quarters per minute; None for the level's own.
        known: the reader has seen this deal before. Such a round may set a best, but passes
            no level: what is remembered is not read.

    Raises:
        ValueError: a number outside its range.
    """

    level_id: str
    level_text: str
    seed: int
    prompts: int
    seconds: int | None = None
    compass_low: int = 21
    compass_high: int = 108
    window_s: float = CHORD_WINDOW_S
    known: bool = False
    tempo: float | None = None

    def __post_init__(self) -> None:
        for name, least in (("seed", 0), ("prompts", 1), ("seconds", 1), ("tempo", 1)):
            value = getattr(self, name)
            if value is not None and value < least:
                raise ValueError(f"the {name} of a round: at least {least}, not {value}")

    @classmethod
    def counted(
        cls, level: Level, text: str, seed: int, prompts: int | None, compass: Compass
    ) -> Terms:
        """A round of so many prompts; None takes the level's own number."""
        number = level.round.prompts if prompts is None else prompts
        return cls(level.id, text, seed, number, None, compass.low, compass.high)

    @classmethod
    def timed(
        cls, level: Level, text: str, seed: int, seconds: int | None, compass: Compass
    ) -> Terms:
        """A round of so many seconds; None takes the level's own length."""
        length = level.round.seconds if seconds is None else seconds
        prompts = length * _FASTEST_PER_S
        return cls(level.id, text, seed, prompts, length, compass.low, compass.high)

    @property
    def kind(self) -> str:
        """``counted:24`` or ``timed:60``; rounds of one kind on one level compare.

        A tempo of the reader's own makes a kind of its own: ``counted:8@72``.
        """
        kind = f"counted:{self.prompts}" if self.seconds is None else f"timed:{self.seconds}"
        return kind if self.tempo is None else f"{kind}@{self.tempo:g}"

    def level(self) -> Level:
        """The level as it was.

        Raises:
            LevelFaults: the kept text is damaged or of another format.
        """
        return parse_level(self.level_text, f"{self.level_id} (kept with the record)")

    def begin(self) -> Round:
        """The round before its first event.

        Raises:
            LevelFaults: as :meth:`level`.
            EmptyPool: the keyboard is too small for the level.
        """
        level = self.level()
        compass = Compass(self.compass_low, self.compass_high)
        prompts = deal(level, self.seed, self.prompts, compass)
        pulse = None
        if level.time is not None:
            pulse = Pulse(self.tempo or level.time.tempo, level.time.count_in)
        return Round(prompts, level.limit_s, self.seconds, self.window_s, pulse)

    def replay(self, events: Iterable[Event]) -> Round:
        """The round after these events: the same events give the same score anywhere."""
        return play(self.begin(), events)


def passes(level: Level, ended: Round, *, known: bool = False) -> bool:
    """Whether an ended round passes its level.

    It must have been played to its end, be at least as long as the level's own rounds, on notes
    not seen before, at the level's own tempo or a faster one, and reach its accuracy and speed.

    Args:
        level: what it was played on.
        ended: the round.
        known: as in :class:`Terms`.
    """
    if ended.seconds is None:
        long_enough = len(ended.prompts) >= level.round.prompts
    else:
        long_enough = ended.seconds >= level.round.seconds
    if level.time is not None and ended.pulse is not None:
        long_enough = long_enough and ended.pulse.tempo >= level.time.tempo
    score = ended.score
    reached = level.passed(score.accuracy, score.median_s)
    return ended.complete and long_enough and reached and not known
