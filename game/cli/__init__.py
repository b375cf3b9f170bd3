# SPDX-License-Identifier: MIT
"""The command line. The JSON of the commands is described in :mod:`game.contract`.

Setting STAVEWISE_DEBUG=1 shows the traceback of an error that nobody foresaw.
"""

from __future__ import annotations

import argparse
import os
import shlex
import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress
from io import TextIOWrapper
from typing import TextIO

from game import __version__
from game.cli import (
    classes,
    deal,
    heats,
    history,
    judge,
    keyboards,
    levels,
    menu_entry,
    play,
    progress,
    ready,
    records,
    sheets,
)
from game.cli.options import Command
from game.cli.said import Failed, Said
from game.files.private import ADDRESS

__all__ = ["answer", "main", "say"]

_COMMANDS = (
    play, deal, judge, records, keyboards, ready, levels, sheets, progress, history, heats,
    classes, menu_entry,
)  # fmt: skip
"""In the order of the help; nothing heavy is imported before the command that needs it."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command line; the exit status.

    Args:
        argv: what follows the program's name; None takes it from the process.
    """
    return say(answer(sys.argv[1:] if argv is None else list(argv)))


def answer(argv: list[str]) -> Said:
    """What a command line comes to, once it is done; nothing of it is printed yet."""
    # pygame greets on standard output, where the JSON goes.
    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    _let_streams_take_all()
    try:
        args = _read(argv or ["play"])
        said: Said = args.run(args)
        return said
    except SystemExit as stop:  # --help and --version have printed
        return Said(status=int(stop.code or 0))
    except KeyboardInterrupt:
        return Said(status=130)  # as shells have it: 128 + SIGINT
    except Failed as error:
        return Said(err=tuple(str(error).splitlines()), status=error.status)
    except Exception as error:
        if os.environ.get("STAVEWISE_DEBUG") == "1":
            traceback.print_exc()
        what = " ".join(f"{type(error).__name__}: {error}".split())
        apology = f"sorry, this should not have happened ({what}); STAVEWISE_DEBUG=1 shows where"
        return Said(err=(apology,), status=1)


def _read(argv: list[str]) -> argparse.Namespace:
    """The arguments of a command line.

    An address may hold a password. So whatever is said of the command line is said of one without
    its addresses, and only ``--store`` gets its own again.

    Raises:
        Failed: it is wrong; the help that is pointed to is that of the command which was named.
        SystemExit: --help or --version, which print by themselves.
    """
    addresses = dict[str, str]()
    for place, word in enumerate(argv):
        option, equals, value = word.partition("=") if word.startswith("--") else ("", "", word)
        if begins := ADDRESS.match(value):
            hidden = f"{begins[0]}…"
            addresses[hidden] = value
            argv = [*argv[:place], f"{option}{equals}{hidden}", *argv[place + 1 :]]
    if argv[0].startswith("-") and _is_plays(argv):
        hint = shlex.join(["stavewise", "play", *argv])
        raise Failed(f"{argv[0]} goes with the command play: {hint}", 2)
    args, unknown = _parser().parse_known_args(argv)
    if unknown:
        words = f"unrecognized arguments: {' '.join(unknown)}"
        raise Failed(f"{words}; see '{args.called} --help'", 2)
    if getattr(args, "store", None) in addresses:
        args.store = addresses[args.store]
    return args


def _is_plays(argv: list[str]) -> bool:
    """Whether options without a command are those of play."""
    if {"-h", "--help", "--version"} & {*argv}:
        return False
    try:
        _parser().parse_args(["play", *argv])
    except Failed:
        return False
    return True


def _parser() -> Command:
    """The parser of all commands. What it reads has `run`, from arguments to what is said."""
    parser = Command(
        prog="stavewise",
        description="Note-reading practice on a real grand staff.\n"
        "Without a command the game opens; each command has its own --help.",
        epilog="example:\n  stavewise\n  stavewise deal grand-staff --seed 7 --count 4",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"stavewise {__version__}")
    children = parser.commands()
    for one in _COMMANDS:
        one.add(children)
    return parser


def _let_streams_take_all() -> None:
    """Standard output and error take any letter; a program with no terminal (`pythonw`) has none,
    and what is said goes nowhere."""
    sys.stdout = sys.stdout or open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115
    sys.stderr = sys.stderr or open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")


def say(said: Said) -> int:
    """Print it; the exit status."""
    err, status = said.err, said.status
    try:
        if said.out:
            print(said.out)
        sys.stdout.flush()
    except BrokenPipeError:  # the reader of a pipe has seen enough
        _let_go(sys.stdout)
        return 141  # as shells have it: 128 + SIGPIPE
    except OSError as error:
        _let_go(sys.stdout)
        err, status = (*err, f"the output cannot be written: {error.strerror}"), 1
    with suppress(OSError):
        for line in err:
            print(f"stavewise: {line}", file=sys.stderr)
    return status


def _let_go(stream: TextIO) -> None:
    """Keep Python from complaining, at its exit, of what could not be written."""
    with suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
