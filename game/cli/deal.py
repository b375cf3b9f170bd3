# SPDX-License-Identifier: MIT
"""The command that prints what is dealt: the prompts of a level, or the slots of a piece."""

from __future__ import annotations

import argparse
from typing import Any

from game.cli.level import compass_of, rung_of
from game.cli.options import command
from game.cli.pieces import SHEET_MUSIC, deal_piece
from game.cli.said import Failed, Said, as_json, plainly


def add(children: Any) -> None:
    parser = command(
        children,
        "deal",
        _deal,
        "print the prompts of a level under a seed, or the slots of a piece of sheet music",
        "stavewise deal grand-staff --seed 7 --count 4 --json\n"
        "  stavewise deal --piece waltz.musicxml",
        "Of a piece, every printed bar comes once, in printed order; beats are counted in "
        "quarters from 1, in a pickup as if its bar were whole.",
    )
    parser.level(optional=True)
    parser.seed("seed of the deal")
    parser.length(seconds=False)
    parser.keyboard()
    parser.path("--piece", "FILE", f"{SHEET_MUSIC} instead of a level")
    parser.part()
    parser.json()


def _deal(args: argparse.Namespace) -> Said:
    if args.piece is not None:
        return deal_piece(args)
    if args.level is None or args.seed is None:
        raise Failed(
            "deal needs LEVEL and --seed, or else --piece FILE; see 'stavewise deal --help'", 2
        )
    if (args.part, args.number) != (None, None):
        raise Failed("--part and --number go with --piece", 2)

    from game.cli.tables import prompt_table
    from game.contract.printed import deal_json
    from game.levels import EmptyPool
    from game.levels import deal as dealt

    level = rung_of(args.level).level
    count = level.round.prompts if args.count is None else args.count
    with plainly(EmptyPool):
        prompts = dealt(level, args.seed, count, compass_of(args))
    if args.json:
        from game.engraving import prompt_mei

        return as_json(deal_json(level.id, args.seed, prompts, [*map(prompt_mei, prompts)]))
    return Said(prompt_table(prompts))
