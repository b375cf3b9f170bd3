# SPDX-License-Identifier: MIT
"""The ways to read a level, besides its own number of prompts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from game.levels import PHRASES, Compass, Level, Rung, tempo_mark
from game.rounds import Terms
from game.words.dates import day_words
from game.words.text import _, plural

SPRINT_S = 60


@dataclass(frozen=True)
class Way:
    """A way to read a level.

    Args:
        name: on its button.
        words: goes on from "Or read …".
        terms: makes the terms of such a round from a seed.
    """

    name: str
    words: str
    terms: Callable[[int], Terms]


def ways(rung: Rung, compass: Compass, day: str) -> tuple[Way, ...]:
    """The ways to read a level today; the first is its own timed round.

    Args:
        rung: the level.
        compass: the keys of the reader's keyboard.
        day: today, as ISO 8601 has it.
    """
    level, text = rung.level, rung.text

    def timed(length: int) -> Way:
        return Way(
            _("{n} seconds").format(n=length),
            _("against the clock") if length == level.round.seconds else _("a short sprint"),
            lambda seed: Terms.timed(level, text, seed, length, compass),
        )

    lengths = dict.fromkeys((level.round.seconds, SPRINT_S))
    found = [timed(length) for length in lengths]
    found.append(
        Way(
            _("Round of the day"),
            _("what everybody reads today"),
            lambda seed: Terms.of_day(level, text, day, compass),
        )
    )
    found.append(
        Way(
            _("Endless"),
            _("until the third miss"),
            lambda seed: Terms.endless(level, text, seed, compass),
        )
    )
    if level.time is None:  # the beat is a clock
        found.append(
            Way(
                _("No clock"),
                _("for accuracy alone"),
                lambda seed: Terms.accuracy(level, text, seed, None, compass),
            )
        )
    return tuple(found)


def kind_words(kind: str, metre: str) -> str:
    """The best of a kind of round (:attr:`Terms.kind`) in a metre, as it is listed."""
    what, _colon, length = kind.partition(":")
    length, at, tempo = length.partition("@")
    words = {
        "counted": _("Best over {n} prompts"),
        "timed": _("Best in {n} seconds"),
        "endless": _("Best until miss {n}"),
        "accuracy": _("Best over {n} prompts, no clock"),
        "day": _("Best of {n}"),
    }
    if what == "day":
        length = day_words(date.fromisoformat(length))
    label = words.get(what, kind).format(n=length)
    return f"{label}, {tempo_mark(float(tempo), metre)}" if at else label


def length_words(level: Level) -> str:
    """A counted round in words that a child knows."""
    count = level.round.prompts
    if level.show.texture in PHRASES:
        return plural("{n} phrase", "{n} phrases", count).format(n=count)
    if level.show.texture == "signature":
        return plural("{n} signature", "{n} signatures", count).format(n=count)
    if level.show.slots > 1 or level.show.texture == "written":
        return plural("{n} bar", "{n} bars", count).format(n=count)
    if level.show.texture == "one note":
        return plural("{n} note", "{n} notes", count).format(n=count)
    return plural("{n} prompt", "{n} prompts", count).format(n=count)
