# SPDX-License-Identifier: MIT
"""The command that opens the game."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from game.cli.level import rung_of, taken_ids
from game.cli.options import command, number, size, whole
from game.cli.pieces import readable
from game.cli.said import Failed, Said, plainly
from game.files.resources import MissingResource

_WINDOWLESS = "class, deal, history, judge, keyboards, levels, progress, record, sheet"


def add(children: Any) -> None:
    parser = command(
        children,
        "play",
        _play,
        "open the game, at a level if one is named",
        "stavewise play grand-staff\n  stavewise play minuet.musicxml\n"
        "  stavewise play grand-staff --robot --shots pictures",
        "A file of sheet music (.musicxml .xml .mxl .mei .abc .krn) in the place of LEVEL opens "
        "the game with an offer to make levels of it.",
    )
    parser.level(optional=True)
    parser.seed("seed of the round; a new one unless given")
    parser.length(either=True)
    parser.flag(
        "--robot",
        "the level is played by itself; its round is kept only where --store or "
        "STAVEWISE_STORE say",
    )
    robot = parser.add_argument_group("with --robot")
    robot.add_argument(
        "--speed", type=number(0.01, 60), metavar="S", help="its median seconds to a press (0.9)"
    )
    robot.add_argument(
        "--spread", type=number(0, 3), metavar="X", help="spread of log seconds, 0 for none (0.25)"
    )
    robot.add_argument(
        "--errors", type=number(0, 1), metavar="R", help="share of first presses wrong (0.1)"
    )
    robot.add_argument("--robot-seed", type=whole(0), metavar="N", help="seed of its chance (1)")
    parser.path("--shots", "FOLDER", "keep a PNG of every screen passed")
    parser.store()
    parser.add_argument("--size", type=size, metavar="WxH", help="size of the window, in pixels")
    parser.flag("--fullscreen", "fill the screen")


def _play(args: argparse.Namespace) -> Said:
    robot = {
        field: value
        for field, value in (
            ("seed", args.robot_seed),
            ("speed_s", args.speed),
            ("spread", args.spread),
            ("error_rate", args.errors),
        )
        if value is not None
    }
    if robot and not args.robot:
        raise Failed("--speed, --spread, --errors and --robot-seed go with --robot", 2)
    if args.level is None and (args.robot or {args.seed, args.count, args.seconds} != {None}):
        raise Failed(
            "--robot, --seed, --count and --seconds need a level: stavewise play LEVEL …", 2
        )
    piece = _piece_path(args.level)
    if piece is not None and (args.robot or {args.seed, args.count, args.seconds} != {None}):
        what = "a piece takes no --robot, --seed, --count or --seconds: it has no level yet"
        raise Failed(f"{what}; 'stavewise levels from' makes one", 2)
    rung = None if args.level is None or piece is not None else rung_of(args.level)
    if rung is not None and (taken := taken_ids(args.level, [rung])):
        raise Failed(str(taken[0]))  # its rounds would count as the other's
    if piece is not None:
        readable(piece)
    if args.shots is not None:
        try:
            args.shots.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise Failed(
                f"--shots {args.shots}: {error.strerror}; name a folder that can be written"
            ) from error

    from game.app.app import AppOptions, NoDisplay, RobotSettings, run
    from game.store import StoreError

    options = AppOptions(
        rung=rung,
        seed=args.seed,
        count=args.count,
        seconds=args.seconds,
        robot=RobotSettings(**robot) if args.robot else None,
        shots=args.shots,
        store=args.store,
        fullscreen=args.fullscreen,
        size=args.size,
        piece=piece,
    )
    try:
        with plainly(StoreError, MissingResource):
            return Said(status=run(options))
    except NoDisplay as error:
        raise Failed(f"{error}; these commands need none: {_WINDOWLESS}") from error


def _piece_path(level: str | None) -> Path | None:
    """The file, where a file of sheet music stands in the place of a level."""
    from game.pieces import FORMATS

    return Path(level) if level and Path(level).suffix.lower() in FORMATS else None
