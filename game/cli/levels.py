# SPDX-License-Identifier: MIT
"""The commands on levels."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from game.cli import pieces, sheets
from game.cli.level import ladder_of_game, taken_ids
from game.cli.options import command
from game.cli.said import Failed, Said, as_json, plainly
from game.files.resources import MissingResource, level_folders, own_levels_folder
from game.words.counts import count

if TYPE_CHECKING:
    from game.levels import Fault


def add(children: Any) -> None:
    parser = command(
        children,
        "levels",
        _levels,
        "list the levels; check level files; show a sample; print their schema",
        "stavewise levels --json\n  stavewise levels check my-level.toml",
    )
    parser.json()
    of_levels = parser.commands(required=False)
    check = command(
        of_levels,
        "check",
        _check,
        "name every fault of level files",
        "stavewise levels check my-level.toml",
    )
    check.add_argument(
        "places",
        nargs="*",
        type=Path,
        metavar="FILE|FOLDER",
        help="a level file, or a folder of them; the game's and your own unless given",
    )
    pieces.add_from(of_levels)
    sheets.add_preview(of_levels)
    own = command(
        of_levels,
        "own",
        _own,
        "print the folder for levels of your own, and make it",
        'cp my-level.toml "$(stavewise levels own)"',
        "A level file that is put there is in the ladder at once. STAVEWISE_LEVELS names another "
        "folder.",
    )
    own.json()
    command(
        of_levels,
        "schema",
        _schema,
        "print the JSON Schema of a level file",
        "stavewise levels schema > level.schema.json",
    )


def _levels(args: argparse.Namespace) -> Said:
    from game.contract.printed import levels_json

    ladder = ladder_of_game()
    hint = "level files with faults were left out; 'stavewise levels check' names them"
    err = (hint,) if ladder.faults else ()
    if args.json:
        return as_json(levels_json(rung.level for rung in ladder.rungs), err)
    width = max((len(rung.level.id) for rung in ladder.rungs), default=0)
    lines = []
    for stage, rungs in ladder.stages.items():
        lines += ["", stage]
        lines += [f"  {rung.level.id:{width}}  {rung.level.title}" for rung in rungs]
    return Said("\n".join(lines[1:]), err)


def _check(args: argparse.Namespace) -> Said:
    from game.levels import level_files, read_ladder

    number, faults = 0, list[str]()
    if not args.places:  # as the ladder reads them: an id in both folders is a fault too
        with plainly(MissingResource):
            folders = level_folders()
        number = sum(len(level_files(folder)) for folder in folders)
        faults += map(str, read_ladder(*folders).faults)
    for place in args.places:
        files, found = _checked(place)
        number += files
        faults += map(str, found)
    if faults:
        return Said(err=tuple(" ".join(fault.split()) for fault in faults), status=1)
    return Said(f"{count(number, 'level file')}, no fault")


def _own(args: argparse.Namespace) -> Said:
    folder = own_levels_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Failed(
            f"{folder}: {error.strerror}; name another folder with STAVEWISE_LEVELS"
        ) from error
    if args.json:
        from game.contract.told import folder_json

        return as_json(folder_json(str(folder)))
    return Said(str(folder))


def _schema(args: argparse.Namespace) -> Said:
    from game.levels import json_schema

    return as_json(json_schema())


def _checked(place: Path) -> tuple[int, Sequence[Fault]]:
    """How many level files were checked at a path, and their faults."""
    from game.levels import Fault, LevelFaults, level_files, read_ladder, read_level

    if place.is_dir():
        files = level_files(place)
        if not files:
            return 0, [Fault(str(place), "the folder", "no level file", "files named *.toml")]
        ladder = read_ladder(place)
        faults = [replace(fault, file=str(place / fault.file)) for fault in ladder.faults]
        return len(files), [*faults, *taken_ids(str(place), ladder.rungs)]
    try:
        return 1, taken_ids(str(place), [read_level(place, str(place))])
    except LevelFaults as error:
        return 1, error.faults
