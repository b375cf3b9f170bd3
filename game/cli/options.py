# SPDX-License-Identifier: MIT
"""The options that several commands have, and how their values are read."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from math import isfinite
from textwrap import fill
from typing import Any

from game.cli.said import Said

_MOST_PROMPTS = 100_000
_MOST_SECONDS = 1800
_LARGEST = 16384  # pixels


def command(
    children: Any,
    name: str,
    run: Callable[[argparse.Namespace], Said],
    what: str,
    example: str,
    more: str = "",
) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = children.add_parser(
        name,
        help=what,
        description=fill(f"{what[0].upper()}{what[1:]}. {more}".rstrip(), 79),
        epilog=f"example:\n  {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.set_defaults(run=run, called=parser.prog)
    return parser


def add_level(parser: argparse.ArgumentParser, optional: bool = False) -> None:
    what = "id of a level ('stavewise levels' lists them), or path of a .toml file"
    parser.add_argument("level", nargs="?" if optional else None, metavar="LEVEL", help=what)


def add_seed(parser: argparse.ArgumentParser, what: str, required: bool = False) -> None:
    parser.add_argument("--seed", type=whole(0), metavar="N", help=what, required=required)


def add_count(parser: Any) -> None:
    what = "number of prompts; the level's own unless given"
    parser.add_argument("--count", type=whole(1, _MOST_PROMPTS), metavar="K", help=what)


def add_seconds(parser: Any) -> None:
    what = "makes it a timed round of so many seconds"
    parser.add_argument("--seconds", type=whole(1, _MOST_SECONDS), metavar="S", help=what)


def add_part(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--part",
        metavar="PART",
        help="number or name of an instrument of the piece; or two of one staff each, as in 1,2",
    )
    which = "which piece of a file that holds several, from 1"
    parser.add_argument("--number", type=whole(1), metavar="N", help=which)


def add_keyboard(parser: argparse.ArgumentParser) -> None:
    sizes = "size of the keyboard: 25, 32, 37, 49, 61, 76 or 88 (88)"
    parser.add_argument("--keys", type=whole(1), metavar="KEYS", help=sizes)
    lowest = "its lowest key, such as C2; the usual one unless given"
    parser.add_argument("--lowest", metavar="NOTE", help=lowest)


def add_store(parser: argparse.ArgumentParser) -> None:
    what = "path or SQLAlchemy URL of the store; else STAVEWISE_STORE, else the usual place"
    parser.add_argument("--store", metavar="URL", help=what)


def add_paper(parser: argparse.ArgumentParser, what: str) -> None:
    papers = {"a4": "A4", "letter": "Letter"}
    parser.add_argument(
        "--paper",
        type=lambda text: papers.get(text.lower(), text),
        choices=tuple(papers.values()),
        default="A4",
        help=what,
    )


def add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON for programs")


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
