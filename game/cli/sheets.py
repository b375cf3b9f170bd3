# SPDX-License-Identifier: MIT
"""The commands that print: a sample of a level, worksheets and flash cards."""

from __future__ import annotations

import argparse
import secrets
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from game.cli.level import rung_of
from game.cli.options import Command, command, whole
from game.cli.said import Failed, Said, plainly
from game.cli.written import free, write_file
from game.words.counts import count as counted

if TYPE_CHECKING:
    from game.levels import Level, Prompt
    from game.paper.rows import Engrave

_PREVIEWS = (".png", ".svg", ".pdf")
_MOST = 200
_CARDS = 24  # unless more are asked for
_TRIED = 40  # prompts dealt to see how many fill a page


def add(children: Any) -> None:
    parser = command(
        children,
        "sheet",
        _sheet,
        "print a worksheet or flash cards of a level, as PDF",
        "stavewise sheet grand-staff --out sheet.pdf\n"
        "  stavewise sheet treble-lines --kind cards --paper Letter --out cards.pdf",
        "Seed and level stand on every page, so that the same sheet can be made again. Cards are "
        "printed on both sides of the paper, turned over at its long edge.",
    )
    parser.level()
    kinds = ("worksheet", "cards")
    parser.add_argument("--kind", choices=kinds, default="worksheet", help="(worksheet)")
    parser.seed("seed of the deal; a new one unless given")
    _printed(parser, "prompts or cards; a page full, or up to 24 cards, unless given", "FILE.pdf")
    parser.add_argument(
        "--answers",
        action=argparse.BooleanOptionalAction,
        default=None,
        help="whether a worksheet's answers follow it (they do)",
    )
    parser.names(" in the answers")


def add_preview(children: Any) -> None:
    parser = command(
        children,
        "preview",
        _preview,
        "engrave a sample of a level on a page",
        "stavewise levels preview my-level.toml --out sample.png",
    )
    parser.level()
    parser.seed("seed of the sample (1)", usual=1)
    _printed(parser, "prompts, at most a page; a page full unless given", "FILE.png|.svg|.pdf")


def _printed(parser: Command, number: str, file: str) -> None:
    parser.add_argument("--count", type=whole(1, _MOST), metavar="K", help=number)
    parser.paper("(A4)")
    parser.path("--out", file, "where to write it", required=True)
    parser.force()


def _preview(args: argparse.Namespace) -> Said:
    out = args.out
    free("--out", out, args.force, *_PREVIEWS)

    from game.engraving import Engraver, EngravingError
    from game.files.resources import MissingResource
    from game.levels import EmptyPool, deal
    from game.paper import PAPERS, Sheet, pdf, png, sample, sample_fits, svg

    level, paper = rung_of(args.level).level, PAPERS[args.paper]
    engrave = Engraver().engrave
    with plainly(EmptyPool, EngravingError, MissingResource):
        room = sample_fits(level, deal(level, args.seed, args.count or _TRIED), engrave, paper)
        count = min(room, args.count or room)
        again = _again("levels preview", args, args.seed, count)
        prompts = deal(level, args.seed, count)
        page = sample(level, prompts, engrave, paper=paper, again=again)
        if out.suffix.lower() == ".png":
            made = png(page)
        elif out.suffix.lower() == ".svg":
            made = svg(page, level.title).encode()
        else:
            made = pdf(Sheet(level.title, (page,)))
    write_file(out, made, "--out", args.force)
    fewer = args.count is not None and count < args.count
    notice = f"the page holds {count} of the {args.count} prompts" if fewer else ""
    return Said(f"{out}: {counted(count, 'prompt')}", (notice,) if notice else ())


def _sheet(args: argparse.Namespace) -> Said:
    free("--out", args.out, args.force, ".pdf")

    from game.engraving import Engraver, EngravingError
    from game.files.resources import MissingResource
    from game.levels import EmptyPool
    from game.notation import NOTE_NAMES
    from game.paper import PAPERS, cards, pdf, worksheet

    if args.kind == "cards" and args.answers is not None:
        raise Failed("--answers and --no-answers go with worksheets: cards have theirs behind", 2)
    level, paper, names = rung_of(args.level).level, PAPERS[args.paper], NOTE_NAMES[args.names]
    seed = secrets.randbelow(1_000_000) if args.seed is None else args.seed
    engrave = Engraver().engrave
    with plainly(EmptyPool, EngravingError, MissingResource):
        prompts = _prompts(level, seed, engrave, args)
        again = _again("sheet", args, seed, len(prompts))
        if args.kind == "cards":
            made = cards(level, prompts, engrave, paper=paper, names=names, again=again)
        else:
            made = worksheet(
                level,
                prompts,
                engrave,
                paper=paper,
                names=names,
                answers=args.answers is not False,
                again=again,
            )
        document = pdf(made)
    write_file(args.out, document, "--out", args.force)
    what = counted(len(prompts), "card" if args.kind == "cards" else "prompt")
    short = args.kind == "cards" and args.count is not None and len(prompts) < args.count
    err = (f"{level.title}: no more than {what} that look different",) if short else ()
    return Said(f"{args.out}: {what}, {counted(len(made.pages), 'page')}, seed {seed}", err)


def _prompts(
    level: Level, seed: int, engrave: Engrave, args: argparse.Namespace
) -> Sequence[Prompt]:
    """Those of the deal; of cards the different ones; a page full unless a number is asked for."""
    from game.levels import deal
    from game.paper import PAPERS, different, fits

    if args.kind == "cards":
        count = args.count or _CARDS
        return different(deal(level, seed, 200 + 10 * count), count)
    count = args.count
    if count is None:
        tried = deal(level, seed, _TRIED)
        count = min(_TRIED, fits(level, tried, engrave, PAPERS[args.paper]))
    return deal(level, seed, count)


def _again(command: str, args: argparse.Namespace, seed: int, count: int) -> str:
    """The command that makes the same pages again; of a level file only its name is printed."""
    level = Path(args.level).name if args.level.endswith(".toml") else args.level
    words = ["stavewise", command, level, f"--seed {seed} --count {count}"]
    for name, usual in (("kind", "worksheet"), ("paper", "A4"), ("names", "letters")):
        value = getattr(args, name, usual)
        words += [f"--{name} {value}"] if value != usual else []
    words += ["--no-answers"] if getattr(args, "answers", None) is False else []
    return " ".join(words)
