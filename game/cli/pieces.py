# SPDX-License-Identifier: MIT
"""The commands on sheet music: a piece as slots, and levels made of it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from game.cli.options import command, whole
from game.cli.said import Failed, Said, as_json, plainly
from game.cli.written import write_files

if TYPE_CHECKING:
    from game.pieces import Piece, Wait

SHEET_MUSIC = "sheet music: .musicxml, .xml, .mxl, .mei, .abc or .krn"
_QUIET_S = 1.0
_WIDTH = 30
_USUAL_S = 3.0  # when the bar is half full: a longer piece than most
_LISTED = 10


def add_from(children: Any) -> None:
    parser = command(
        children,
        "from",
        _from,
        "make a level of a piece of sheet music",
        "stavewise levels from waltz.musicxml --as hardest --hand left --out my-levels",
        "Such a level is about reading: the rhythm is left out, and so are held notes and chords "
        "that one hand cannot strike; the file says what was left out.",
    )
    parser.path("piece", "FILE", SHEET_MUSIC)
    parser.add_argument(
        "--as",
        dest="kind",
        choices=("bars", "hardest", "notes"),
        required=True,
        help="the whole piece by the bar; its hardest bars; or single notes, all that it uses",
    )
    parser.add_argument("--hand", choices=("right", "left"), help="the upper or lower staff only")
    parser.add_argument(
        "--bars", type=whole(2, 500), metavar="N", help="how many of the hardest bars (8)"
    )
    parser.part()
    parser.path("--out", "FOLDER|FILE.toml", "where to write the level; it is printed unless given")


def deal_piece(args: argparse.Namespace) -> Said:
    if {args.level, args.seed, args.count, args.keys, args.lowest} != {None}:
        raise Failed("--piece goes with --part, --number and --json only: a piece has no seed", 2)

    from game.cli.tables import piece_table
    from game.contract.piece import piece_json

    piece = _piece(args)
    if args.json:
        return as_json(piece_json(piece))
    notices = [f"bar {piece.bars[notice.bar].label}: {notice.text}" for notice in piece.notices]
    complaints = [f"Verovio, which read the file, says: {text}" for text in piece.complaints]
    return Said(piece_table(piece), (*notices, *complaints))


def _from(args: argparse.Namespace) -> Said:
    if args.bars is not None and args.kind != "hardest":
        raise Failed("--bars goes with --as hardest", 2)

    from game.pieces import HARDEST_BARS, PieceError, left_out, piece_level

    piece = _piece(args)
    with plainly(PieceError):
        text = piece_level(piece, args.kind, args.hand, args.bars or HARDEST_BARS)
    if args.out is None:
        return Said(text.rstrip("\n"))
    path = _written(text, args.out)
    said = [f"left out, {reason}" for reason in left_out(piece, args.hand)]
    if len(said) > _LISTED:
        said[_LISTED:] = [f"and {len(said) - _LISTED} more; {path} says which"]
    return Said(f"{path}", tuple(said))


def _piece(args: argparse.Namespace) -> Piece:
    from game.pieces import PieceError, load_piece

    with plainly(PieceError), _progress(str(args.piece)) as wait:
        return load_piece(args.piece, args.part, args.number, wait)


def readable(path: Path) -> None:
    """Refuse a piece that the game could make nothing of, before a window is opened for it."""
    from game.pieces import PieceError, load_piece

    try:
        with _progress(str(path)) as wait:
            load_piece(path, wait=wait)
    except PieceError as error:
        words = str(error)
        choice = "; the command for it: stavewise levels from" if "--" in words else ""
        raise Failed(f"{words}{choice}") from error


def _written(text: str, out: Path) -> Path:
    """The file that the level was written to: `out`, or one named after its id in that folder."""
    from game.levels import parse_level

    path = out
    if out.suffix != ".toml":
        path = out / f"{parse_level(text, str(out)).id}.toml"
    if path.exists():
        raise Failed(f"--out {path}: it is there already; remove it, or name another")
    write_files([("--out", path, text.encode("utf-8"))], folders=True)
    return path


@contextmanager
def _progress(name: str) -> Iterator[Wait]:
    """On standard error, once it takes long: a bar on a terminal, else one line.

    Verovio does not say how far it is, so the bar shows the time that has gone by.
    """
    terminal = sys.stderr.isatty()
    shown = False

    def wait(taken_s: float) -> None:
        nonlocal shown
        if taken_s < _QUIET_S or (shown and not terminal):
            return
        shown = True
        if not terminal:
            print(f"stavewise: reading {name}, which takes a while", file=sys.stderr, flush=True)
            return
        full = round(_WIDTH * taken_s / (taken_s + _USUAL_S))
        bar = "█" * full + "░" * (_WIDTH - full)
        print(f"\rreading {name}  {bar}  {taken_s:.0f} s", end="", file=sys.stderr, flush=True)

    try:
        yield wait
    finally:
        if shown and terminal:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)
