# SPDX-License-Identifier: MIT
"""What a round is played on: all that must be known to deal it again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from hashlib import sha256
from math import inf
from re import fullmatch

from pydantic import FiniteFloat

from game.levels.check import parse_level
from game.levels.compass import Compass
from game.levels.deal import deal
from game.levels.level import Level
from game.rounds.events import Event
from game.rounds.in_time import Pulse
from game.rounds.round import CHORD_WINDOW_S, RULES, Round
from game.rounds.state import play

FASTEST_PER_S = 4
"""Prompts that a timed round holds for each second: more than anybody can read."""
ENDLESS_PROMPTS = 500
"""What an endless round holds: some ten minutes' reading, after which a break is due anyway."""
ENDLESS_MISSES = 3
MOST_DELAY_S = 0.5
"""By which a keyboard's keys may arrive late; beyond, nobody could play to the beat."""
READ_FROM = 0.25
"""Of a round, from where on its notes count as read; whoever restarts it earlier loses nothing."""
COMPARED = ("counted:", "timed:", "day:")
"""How the kinds of round begin (:attr:`Terms.kind`) whose points and tempo compare with each
other's: an endless round ends with a miss, and one for accuracy has no clock."""
_DATE = "[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"
_SEEDS = 1_000_000  # of the round of the day: few enough digits to be told over the telephone


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
        misses: an endless round ends at this wrong first answer, at least 1; None for no such end.
        untimed: an accuracy round: only right and wrong count, not the time.
        day: of a round of the day, its date as ISO 8601 has it (``2026-11-25``).
        delay_s: of phrases read in time, by how much the keyboard's keys arrived late, 0 to
            :data:`MOST_DELAY_S` seconds. It is taken off every press.
        rules: by which presses are judged, as :attr:`Round.rules`; what was kept without them was
            played under 1.

    Raises:
        ValueError: a number outside its range, two ways to end at once, or no such date.
    """

    level_id: str
    level_text: str
    seed: int
    prompts: int
    seconds: int | None = None
    compass_low: int = 21
    compass_high: int = 108
    window_s: FiniteFloat = CHORD_WINDOW_S
    known: bool = False
    tempo: FiniteFloat | None = None
    misses: int | None = None
    untimed: bool = False
    day: str = ""
    delay_s: FiniteFloat = 0.0
    rules: int = 1

    def __post_init__(self) -> None:
        for name, least in _LEAST:
            value = getattr(self, name)
            if value is not None and value < least:
                raise ValueError(f"the {name} of a round: at least {least}, not {value}")
        if not 0 <= self.delay_s <= MOST_DELAY_S:
            raise ValueError(f"the delay_s of a round: 0 to {MOST_DELAY_S}, not {self.delay_s}")
        ways = (self.seconds, self.misses, self.untimed or None, self.day or None)
        if sum(way is not None for way in ways) > 1:
            raise ValueError("a round is timed, endless, for accuracy, of a day or none of these")
        if not 1 <= self.rules <= RULES:
            raise ValueError(f"the rules of a round: 1 to {RULES}, not {self.rules}")
        if self.day and not fullmatch(_DATE, self.day):
            raise ValueError(f"a day is written like 2026-11-25, not {self.day}")

    @classmethod
    def counted(
        cls, level: Level, text: str, seed: int, prompts: int | None, compass: Compass
    ) -> Terms:
        """A round of so many prompts; None takes the level's own number."""
        number = level.round.prompts if prompts is None else prompts
        low, high = compass.low, compass.high
        return cls(level.id, text, seed, number, None, low, high, rules=RULES)

    @classmethod
    def timed(
        cls, level: Level, text: str, seed: int, seconds: int | None, compass: Compass
    ) -> Terms:
        """A round of so many seconds; None takes the level's own length."""
        length = level.round.seconds if seconds is None else seconds
        prompts, low, high = length * FASTEST_PER_S, compass.low, compass.high
        return cls(level.id, text, seed, prompts, length, low, high, rules=RULES)

    @classmethod
    def endless(cls, level: Level, text: str, seed: int, compass: Compass) -> Terms:
        """A round that ends at the third wrong first answer."""
        counted = cls.counted(level, text, seed, ENDLESS_PROMPTS, compass)
        return replace(counted, misses=ENDLESS_MISSES)

    @classmethod
    def accuracy(
        cls, level: Level, text: str, seed: int, prompts: int | None, compass: Compass
    ) -> Terms:
        """A round of so many prompts in which only right and wrong count; None as `counted`."""
        return replace(cls.counted(level, text, seed, prompts, compass), untimed=True)

    @classmethod
    def of_day(cls, level: Level, text: str, day: str, compass: Compass) -> Terms:
        """The round of a day: the level's own number of prompts, under :func:`day_seed`.

        The same for everybody with this day, this level text, and a keyboard that has all the
        level's keys. `day` is its date, ``2026-11-25``.
        """
        counted = cls.counted(level, text, day_seed(day, text), None, compass)
        return replace(counted, day=day)

    def afresh(self, seed: int, compass: Compass) -> Terms:
        """The same kind of round on other notes, of those that a keyboard has; of a round of the
        day, a plain counted one."""
        low, high = compass.low, compass.high
        return replace(self, seed=seed, compass_low=low, compass_high=high, known=False, day="")

    @property
    def kind(self) -> str:
        """Rounds of one kind on one level compare.

        ``counted:24``, ``timed:60``, ``endless:3`` (misses), ``accuracy:24`` (prompts) or
        ``day:2026-11-25``. A tempo of the reader's own makes a kind of its own: ``counted:8@72``.
        """
        if self.day:
            kind = f"day:{self.day}"
        elif self.misses is not None:
            kind = f"endless:{self.misses}"
        elif self.seconds is not None:
            kind = f"timed:{self.seconds}"
        else:
            kind = f"{'accuracy' if self.untimed else 'counted'}:{self.prompts}"
        return kind if self.tempo is None else f"{kind}@{self.tempo:g}"

    def share(self, state: Round, t: float) -> float:
        """How far a round on these terms is at a moment, from 0 to 1; an endless one, of as many
        prompts as its level has."""
        if self.seconds is not None:
            return state.elapsed(t) / self.seconds
        whole = self.prompts if self.misses is None else self.level().round.prompts
        return state.prompt / whole

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
            tempo = self.tempo or level.time.tempo
            pulse = Pulse(tempo, level.time.count_in, self.delay_s)
        limit_s = inf if self.untimed else level.limit_s
        return Round(prompts, limit_s, self.seconds, self.window_s, pulse, self.misses, self.rules)

    def replay(self, events: Iterable[Event]) -> Round:
        """The round after these events: the same events give the same score anywhere."""
        return play(self.begin(), events)


_LEAST = (("seed", 0), ("prompts", 1), ("seconds", 1), ("tempo", 1), ("misses", 1))


def day_seed(day: str, level_text: str) -> int:
    """The seed of a day's round on a level, 0 to 999999; the same on every machine.

    It is the SHA-256 digest of the date (ISO 8601, ``2026-11-25``), a line feed, and the level's
    text in UTF-8 (its line ends as line feeds, blanks around it left out), taken as one big-endian
    number, modulo a million. So two readers with equal seeds know that they had equal notes.
    """
    text = "\n".join(level_text.strip().splitlines())
    digest = sha256(f"{day}\n{text}".encode()).digest()
    return int.from_bytes(digest) % _SEEDS


def passes(level: Level, ended: Round, *, known: bool = False) -> bool:
    """Whether an ended round passes its level.

    It must have been played to its end, be at least as long as the level's own rounds, on notes
    not seen before, at the level's own tempo or a faster one, and reach its accuracy and speed.
    Endless and accuracy rounds pass no level.

    Args:
        level: what it was played on.
        ended: the round.
        known: as in :class:`Terms`.
    """
    if ended.misses is not None or ended.limit_s == inf:
        return False
    if ended.seconds is None:
        long_enough = len(ended.prompts) >= level.round.prompts
    else:
        long_enough = ended.seconds >= level.round.seconds
    if level.time is not None and ended.pulse is not None:
        long_enough = long_enough and ended.pulse.tempo >= level.time.tempo
    score = ended.score
    reached = level.passed(score.accuracy, score.median_s)
    return ended.complete and long_enough and reached and not known
