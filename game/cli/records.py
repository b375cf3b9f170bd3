# SPDX-License-Identifier: MIT
"""The commands on rounds as files: write one down for others, and read theirs."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from game.cli.options import command, whole
from game.cli.said import Failed, Said, plainly
from game.cli.written import free, write_files
from game.words.dates import day_words
from game.words.percents import percent

if TYPE_CHECKING:
    from game.rounds import Round, Terms


def add(children: Any) -> None:
    record = children.add_parser(
        "record", help="write a kept round down for others, or read one of theirs"
    )
    of_record = record.commands()
    export = command(
        of_record,
        "export",
        _export,
        "write a kept round down as a record in JSON",
        "stavewise record export 12 best.json --midi best.mid",
        "The record holds the level, the seed, every press with its time and the figures; the "
        "reader's name only with --name. In the MIDI file the times are those of reading: pauses "
        "and the moments between an answer and the next prompt are left out, so that 'stavewise "
        "judge' finds the same verdicts and times, to 0.1 ms.",
    )
    export.add_argument("record", type=whole(1), metavar="ID", help="number of the round")
    export.path("file", "FILE.json", "where to write it")
    export.path("--midi", "FILE.mid", "the presses as MIDI, too")
    export.flag("--name", "write the reader's name into it")
    export.force("files that are")
    export.store()
    read = command(
        of_record,
        "import",
        _import,
        "read a record of somebody else, to play against its pace",
        "stavewise record import best.json",
        "It is scored again from its presses before it is believed. The exit status is 1 when the "
        "figures that it claims are not those worked out.",
    )
    read.path("file", "FILE.json", "the record")
    read.store()


def _export(args: argparse.Namespace) -> Said:
    free("FILE.json", args.file, args.force)
    free("--midi", args.midi, args.force)

    from game.keyboards import midi_of
    from game.levels import EmptyPool, LevelFaults
    from game.rounds import RULES
    from game.rounds.played import presses_of
    from game.session.records import SharedRound, record_text
    from game.store import RoundState, Store, StoreError

    with plainly(StoreError, LevelFaults, EmptyPool):
        with Store.open(args.store, renew=False) as store:
            record = store.record(args.record)
            readers = {reader.id: reader.name for reader in store.readers(include_archived=True)}
        ended = record.terms.replay(record.events)
    if ended.ended is None:
        raise Failed(f"round {record.id} is not finished; go on with it in the game, or end it")
    err: tuple[str, ...] = ()
    if record.state is RoundState.DISCARDED:
        err = (
            f"round {record.id} was discarded, or belongs to a search for a level: it counts for "
            "no best",
        )
    name = readers.get(record.reader_id, "") if args.name else ""
    shared = SharedRound.of(record, ended, name)
    files = [("", args.file, record_text(shared).encode())]
    said = [f"{args.file}: round {record.id}, {shared.result.score:.1f} points"]
    if args.midi is not None:
        presses = presses_of(ended)
        files.append(("--midi", args.midi, midi_of(presses)))
        said.append(f"{args.midi}: {len(presses)} presses")
        if record.terms.tempo is None and record.terms.rules == RULES:  # 'judge' knows no others
            said.append(f"judge them again: {_judge(record.terms, ended, args.midi)}")
    write_files(files, args.force)
    return Said("\n".join(said), err)


def _import(args: argparse.Namespace) -> Said:
    from game.session.records import RecordFault, check, keep_guest, read_record
    from game.store import Store, StoreError

    with plainly(RecordFault, StoreError):
        checked = check(read_record(args.file), str(args.file))
        with Store.open(args.store, renew=False) as store:
            keep_guest(store, checked)
    shared, score = checked.shared, checked.round.score
    out = (
        f"{shared.name or 'a guest'} on {shared.terms.level_id} ({shared.terms.kind}), "
        f"{day_words(shared.started)}: score {score.score:.1f}, "
        f"accuracy {percent(score.accuracy)} %, worked out again from the presses. "
        "It is kept as a pace for this level."
    )
    if checked.agrees:
        return Said(out)
    found = "; ".join(_differing(*one) for one in checked.differing)
    doubt = f"{args.file}: the figures it claims do not follow from its presses: {found}"
    return Said(out, (doubt, "the figures worked out again are the ones used"), 1)


def _differing(name: str, claimed: object, now: object) -> str:
    """Such as ``accuracy 1, it is 0.917``: to three decimals, unless they are the same by then."""
    short = [f"{round(one, 3):g}" if isinstance(one, float) else str(one) for one in (claimed, now)]
    if short[0] == short[1]:
        short = [str(claimed), str(now)]
    return f"{name} {short[0]}, it is {short[1]}"


def _judge(terms: Terms, ended: Round, midi: Path) -> str:
    """The command that judges the presses again. A timed round was shorter by the clock of
    reading, so its prompts are counted."""
    count = len({result.prompt for result in ended.results})
    words = ["stavewise judge", terms.level_id, f"--seed {terms.seed} --count {count}"]
    if (terms.compass_low, terms.compass_high) != (21, 108):
        from game.notation import likeliest

        keys = terms.compass_high - terms.compass_low + 1
        words.append(f"--keys {keys} --lowest {likeliest(terms.compass_low).spelling}")
    return " ".join([*words, f"--played {midi}"])
