# SPDX-License-Identifier: MIT
"""The command that judges a heat again."""

from __future__ import annotations

import argparse
import json
from dataclasses import replace

from game.cli.said import Failed, Said, plainly


def judge_heat(args: argparse.Namespace) -> Said:
    others = (args.level, args.seed, args.count, args.seconds, args.played, args.keys)
    if {*others, args.lowest, args.record, args.store} != {None}:
        raise Failed("--heat takes all from the file: give only --noted and --json beside it", 2)

    from game.cli.tables import heat_table
    from game.contract import heat_json
    from game.heats.chain import HeatFileError, judge

    try:
        text = args.heat.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise Failed(f"{args.heat}: it cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise Failed(f"{args.heat}: this is not UTF-8, so no file of a heat") from error
    with plainly(HeatFileError):
        judged = judge(text, str(args.heat), args.noted)
    wrong = (*judged.faults, *judged.differing)
    err = tuple(f"{args.heat}: {fault}" for fault in wrong)
    told = heat_json(judged)
    if args.json:
        said = Said(json.dumps(told, ensure_ascii=False, indent=2))
    else:
        verdict = "" if wrong else "\nThe chain holds, and the standings agree with the presses."
        said = Said(f"{heat_table(told)}\n{verdict}".rstrip())
    return replace(said, err=err, status=1 if wrong else 0)
