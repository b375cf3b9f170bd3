# SPDX-License-Identifier: MIT
"""The options that several commands have, and how their values are read."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from math import isfinite
from pathlib import Path
from textwrap import fill
from typing import Any, NoReturn

from game.cli.said import Failed, Said
from game.notation import NOTE_NAMES

_MOST_PROMPTS = 100_000
_MOST_SECONDS = 1800
_LARGEST = 16384  # pixels


class Command(argparse.ArgumentParser):
    """Stateful: what may be said to a command. What is wrong is said in one line, without the
    usage; the options that several commands have are methods."""

    def error(self, message: str) -> NoReturn:
        raise Failed(f"{message}; see '{self.prog} --help'", 2)

    def commands(self, required: bool = True) -> Any:
        """The commands under it, for :func:`command`."""
        return self.add_subparsers(metavar="COMMAND", title="commands", required=required)

    def flag(self, name: str, what: str) -> None:
        self.add_argument(name, action="store_true", help=what)

    def path(self, name: str, shape: str, what: str, **more: Any) -> None:
        """A file or a folder; `shape` is such as ``FILE.pdf``."""
        self.add_argument(name, type=Path, metavar=shape, help=what, **more)

    def level(self, optional: bool = False) -> None:
        what = "id of a level ('stavewise levels' lists them), or path of a .toml file"
        self.add_argument("level", nargs="?" if optional else None, metavar="LEVEL", help=what)

    def seed(self, what: str, usual: int | None = None) -> None:
        self.add_argument("--seed", type=whole(0), metavar="N", help=what, default=usual)

    def length(self, seconds: bool = True, either: bool = False) -> None:
        """Of a round: its prompts or, unless it has none, its seconds; of both or `either`."""
        to: Any = self.add_mutually_exclusive_group() if either else self
        what = "number of prompts; the level's own unless given"
        to.add_argument("--count", type=whole(1, _MOST_PROMPTS), metavar="K", help=what)
        what = "makes it a timed round of so many seconds"
        if seconds:
            to.add_argument("--seconds", type=whole(1, _MOST_SECONDS), metavar="S", help=what)

    def part(self) -> None:
        what = "number or name of an instrument of the piece; or two of one staff each, as in 1,2"
        self.add_argument("--part", metavar="PART", help=what)
        which = "which piece of a file that holds several, from 1"
        self.add_argument("--number", type=whole(1), metavar="N", help=which)

    def keyboard(self) -> None:
        sizes = "size of the keyboard: 25, 32, 37, 49, 61, 76 or 88 (88)"
        self.add_argument("--keys", type=whole(1), metavar="KEYS", help=sizes)
        lowest = "its lowest key, such as C2; the usual one unless given"
        self.add_argument("--lowest", metavar="NOTE", help=lowest)

    def store(self) -> None:
        what = "path or SQLAlchemy URL of the store; else STAVEWISE_STORE, else the usual place"
        self.add_argument("--store", metavar="URL", help=what)

    def paper(self, what: str) -> None:
        papers = {"a4": "A4", "letter": "Letter"}
        self.add_argument(
            "--paper",
            type=lambda text: papers.get(text.lower(), text),
            choices=tuple(papers.values()),
            default="A4",
            help=what,
        )

    def names(self, where: str = "", usual: str = "letters") -> None:
        """`usual` is a key of NOTE_NAMES, or says where the usual ones are found."""
        self.add_argument(
            "--names",
            choices=tuple(NOTE_NAMES),
            default=usual if usual in NOTE_NAMES else None,
            metavar="NAMES",
            help=f"how notes are named{where}: %(choices)s ({usual})",
        )

    def force(self, over: str = "a file that is") -> None:
        self.flag("--force", f"write over {over} there")

    def json(self) -> None:
        self.flag("--json", "print JSON for programs")


def command(
    children: Any,
    name: str,
    run: Callable[[argparse.Namespace], Said],
    what: str,
    example: str,
    more: str = "",
) -> Command:
    parser: Command = children.add_parser(
        name,
        help=what,
        description=fill(f"{what[0].upper()}{what[1:]}. {more}".rstrip(), 79),
        epilog=f"example:\n  {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.set_defaults(run=run, called=parser.prog)
    return parser


def whole(least: int, most: int | None = None) -> Callable[[str], int]:
    allowed = f"{least} or more" if most is None else f"from {least} to {most}"

    def read(text: str) -> int:
        try:
            value = int(text)
        except ValueError:
            value = least - 1
        if value < least or (most is not None and value > most):
            raise argparse.ArgumentTypeError(f"found {text!r}; allowed: a whole number {allowed}")
        return value

    return read


def number(least: float, most: float) -> Callable[[str], float]:
    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = least - 1
        if not (isfinite(value) and least <= value <= most):
            raise argparse.ArgumentTypeError(
                f"found {text!r}; allowed: a number from {least:g} to {most:g}"
            )
        return value

    return read


def size(text: str) -> tuple[int, int]:
    from game.app.window import LEAST  # here: it brings pygame

    match = re.fullmatch(r"(\d{1,5})[xX×](\d{1,5})", text)
    sides = (int(match[1]), int(match[2])) if match else (0, 0)
    if not all(least <= side <= _LARGEST for least, side in zip(LEAST, sides, strict=True)):
        raise argparse.ArgumentTypeError(
            f"found {text!r}; allowed: width and height in pixels, as in 1280x720, "
            f"from {LEAST[0]}x{LEAST[1]} to {_LARGEST}x{_LARGEST}"
        )
    return sides
