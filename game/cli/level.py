# SPDX-License-Identifier: MIT
"""The level and the keyboard that a command is given, by name, path or size."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from game.cli.said import Failed, plainly
from game.files.resources import MissingResource, level_folders, levels_folder

if TYPE_CHECKING:
    from game.levels import Compass, Fault, Ladder, Rung


def ladder_of_game() -> Ladder:
    """The levels of the game and one's own."""
    from game.levels import read_ladder

    with plainly(MissingResource):
        return read_ladder(*level_folders())


def rung_of(text: str) -> Rung:
    """A level by its id, or from a file when the text is a path."""
    from game.levels import LevelFaults, UnknownLevel, read_level
    from game.pieces import FORMATS

    if Path(text).suffix.lower() in (".mid", ".midi"):
        kinds = ", ".join(sorted(FORMATS))
        raise Failed(
            f"{text}: a MIDI file has keys and no notation; sheet music is read from {kinds}"
        )
    if text.endswith(".toml") or "/" in text or os.sep in text:
        with plainly(LevelFaults):
            return read_level(Path(text), text)
    ladder = ladder_of_game()
    try:
        return ladder.find(text)
    except UnknownLevel as error:
        faulty = "; some level files have faults: stavewise levels check" if ladder.faults else ""
        known = "; 'stavewise levels' lists them"
        raise Failed(f"{error.args[0]}{known}{faulty}{_no_notation(text)}") from error


def _no_notation(text: str) -> str:
    """Where a file that is no sheet music was named in the place of a level."""
    from game.pieces import FORMATS

    there = Path(text).is_file()
    return f"; of files, {', '.join(sorted(FORMATS))} and .toml can be read" if there else ""


def taken_ids(name: str, rungs: Iterable[Rung]) -> list[Fault]:
    """The ids among them that another level of the game has: it would be shown, and not they."""
    from game.levels import Fault, read_ladder

    with plainly(MissingResource):
        game = {rung.level.id: rung for rung in read_ladder(levels_folder()).rungs}
    found = []
    for rung in rungs:
        other = game.get(rung.level.id)
        if other is not None and other.text != rung.text:
            allowed = f"an id of its own; the game's level “{other.level.title}” has this one"
            found.append(Fault(name, "id", repr(rung.level.id), allowed))
    return found


def compass_of(args: argparse.Namespace) -> Compass:
    from game.levels import FULL_COMPASS, Compass
    from game.notation import Pitch

    if args.keys is None:
        if args.lowest is not None:
            raise Failed("--lowest goes with --keys", 2)
        return FULL_COMPASS
    try:
        lowest = None if args.lowest is None else Pitch.parse(args.lowest).key
        return Compass.of_size(args.keys, lowest)
    except ValueError as error:
        raise Failed(str(error), 2) from error
