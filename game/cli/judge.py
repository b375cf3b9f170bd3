# SPDX-License-Identifier: MIT
"""The command that judges: presses of a MIDI file, a round of the store, a heat's file."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import Any

from game.cli.heats import judged_heat, wrong_of
from game.cli.level import compass_of, rung_of
from game.cli.options import command, whole
from game.cli.said import Failed, Said, as_json, plainly
from game.cli.watched import watched


def add(children: Any) -> None:
    parser = command(
        children,
        "judge",
        _judge,
        "score a round from a MIDI file, or a stored round or a heat again from its presses",
        "stavewise judge grand-staff --seed 7 --count 4 --played me.mid --json\n"
        "  stavewise judge --record 12\n  stavewise judge --heat heat.json",
        "In a file, time 0 shows the first prompt, and each later one shows at the instant at "
        "which the one before it was completed. Presses are judged in the order of the file, so "
        "one at that very instant is for the next prompt when it comes after the completing "
        "press. A slot that is never completed ends the round; a round with --seconds goes on "
        "until its time is up. A phrase that is read in time shows for its count-in, its bars "
        "and a beat more, and the next one shows then. With --record, the exit status is 1 when "
        "the figures that were kept are not those worked out now. With --heat, it is so likewise, "
        "or when the file's chain of hashes is broken: then it was altered.",
    )
    parser.level(optional=True)
    parser.seed("seed of the deal that was played")
    parser.length()
    parser.path("--played", "FILE.mid", "a Standard MIDI File")
    parser.keyboard()
    parser.add_argument(
        "--record", type=whole(1), metavar="ID", help="number of a stored round instead"
    )
    parser.path("--heat", "FILE.json", "an exported heat instead: every seat again")
    noted = "with --heat: the chain's last value as printed on the result (its first 8 digits do)"
    parser.add_argument("--noted", metavar="HEX", help=noted)
    parser.store()
    parser.json()


def _judge(args: argparse.Namespace) -> Said:
    if args.heat is not None:
        return _judge_heat(args)
    if args.noted is not None:
        raise Failed("--noted goes with --heat", 2)
    if args.record is not None:
        return _judge_record(args)
    if args.store is not None:
        raise Failed("--store goes with --record", 2)
    missing = [
        name
        for name, value in (("LEVEL", args.level), ("--seed", args.seed), ("--played", args.played))
        if value is None
    ]
    if missing:
        raise Failed(f"judge needs {' and '.join(missing)}, or else --record ID or --heat FILE", 2)

    from game.cli.tables import figures
    from game.contract.judged import judge_json
    from game.keyboards import PlayedFileError, read_presses
    from game.levels import EmptyPool
    from game.rounds import Terms
    from game.rounds.played import judged as judged_file

    rung, compass = rung_of(args.level), compass_of(args)
    if args.seconds is None:
        terms = Terms.counted(rung.level, rung.text, args.seed, args.count, compass)
    else:
        terms = Terms.timed(rung.level, rung.text, args.seed, args.seconds, compass)
        terms = terms if args.count is None else replace(terms, prompts=args.count)
    with plainly(EmptyPool, PlayedFileError):
        presses = read_presses(args.played)
        ended = judged_file(terms.begin(), watched(presses, f"judging {args.played}"))
    judged = judge_json(rung.level, args.seed, ended)
    return as_json(judged) if args.json else Said(figures(judged))


def _judge_record(args: argparse.Namespace) -> Said:
    others = (args.level, args.seed, args.count, args.seconds, args.played, args.keys)
    if {*others, args.lowest} != {None}:
        raise Failed("--record takes level, seed and presses from the record: give no others", 2)

    from game.cli.tables import figures
    from game.contract.judged import record_json
    from game.levels import EmptyPool, LevelFaults
    from game.store import Store, StoreError

    with plainly(StoreError, LevelFaults, EmptyPool):
        with Store.open(args.store, renew=False) as store:
            notices = store.notices
            try:
                record = store.record(args.record)
            except StoreError as error:  # what was said at opening may be the reason
                raise Failed(" ".join([*notices, str(error)])) from error
        terms = record.terms
        ended = terms.replay(watched(record.events, f"judging round {record.id}"))
    judged = record_json(terms, ended, record.id, record.result, record.kind)
    if judged["kept"] is None:
        verdict = f"Round {record.id} is {record.state.value}: no figures were kept to compare."
    elif judged["agrees"]:
        verdict = f"Round {record.id} agrees with the figures that were kept."
    else:
        found = ", ".join(
            f"{name} {judged['kept'][name]} is now {value}"
            for name, value in judged["differing"].items()
        )
        verdict = f"round {record.id} does not agree with the figures that were kept: {found}"
        notices, verdict = (*notices, verdict), ""
    said = as_json(judged) if args.json else Said(f"{figures(judged)}\n{verdict}".rstrip())
    return replace(said, err=notices, status=0 if judged["agrees"] is not False else 1)


def _judge_heat(args: argparse.Namespace) -> Said:
    others = (args.level, args.seed, args.count, args.seconds, args.played, args.keys)
    if {*others, args.lowest, args.record, args.store} != {None}:
        raise Failed("--heat takes all from the file: give only --noted and --json beside it", 2)

    from game.cli.tables import heat_table
    from game.contract.heat import heat_json

    judged = judged_heat(args.heat, args.noted)
    wrong = wrong_of(judged)
    err = tuple(f"{args.heat}: {fault}" for fault in wrong)
    told = heat_json(judged)
    if args.json:
        said = as_json(told)
    else:
        verdict = "" if wrong else "\nThe chain holds, and the standings agree with the presses."
        said = Said(f"{heat_table(told)}\n{verdict}".rstrip())
    return replace(said, err=err, status=1 if wrong else 0)
