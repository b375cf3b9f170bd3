# SPDX-License-Identifier: MIT
"""The command that tells of a reader's rounds over time."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from game.cli.level import ladder_of_game
from game.cli.options import command
from game.cli.progress import add_of_reader, aloud, reader_named
from game.cli.said import Failed, Said, as_json, plainly
from game.cli.written import free, write_files

if TYPE_CHECKING:
    from game.notation import NoteNames
    from game.paper.history import HistoryReport

_LISTED = 12  # rounds and weeks of a level, as text


def add(children: Any) -> None:
    parser = command(
        children,
        "history",
        history,
        "tell of a reader's rounds over time, level by level",
        "stavewise history Anna\n  stavewise history Anna grand-staff --html anna.html",
        "With the best of every week (ISO 8601), and what would be gained if the five notes that "
        "take longest were as fast as the median one.",
    )
    parser.add_argument("reader", metavar="READER", help="name of the reader")
    parser.add_argument("level", nargs="?", metavar="LEVEL", help="of this level only")
    parser.path("--html", "FILE.html", "write a page instead")
    parser.path("--csv", "FILE.csv", "write a table")
    add_of_reader(parser)


def history(args: argparse.Namespace) -> Said:
    if args.json and (args.html, args.csv) != (None, None):
        raise Failed("--json prints: give no --html and no --csv beside it", 2)
    free("--html", args.html, args.force, ".html", ".htm")
    free("--csv", args.csv, args.force, ".csv")

    from datetime import UTC, datetime

    from game.contract.told import history_json
    from game.notation import NOTE_NAMES
    from game.paper.history import HistoryReport, history_csv, history_html
    from game.reader.gain import gain_of
    from game.session.options import Options
    from game.session.records import histories_of, recent_rounds
    from game.store import Store, StoreError

    levels = {rung.level.id: rung.level for rung in ladder_of_game().rungs}
    with plainly(StoreError), Store.open(args.store, renew=False) as store:
        reader = reader_named(store, args.reader)
        options = Options.from_kept(store.get_setting("options", {}))
        names = NOTE_NAMES[args.names] if args.names else options.names
        found = histories_of(store.figures(reader.id), datetime.now(UTC))
        if args.level is not None:
            played = sorted(one.level_id for one in found)
            found = tuple(one for one in found if one.level_id == args.level)
            if not found:
                listed = ", ".join(played) or "none yet"
                raise Failed(
                    f"{reader.name} has no finished round on {args.level!r}; levels: {listed}"
                )
        if args.json:
            bare = [HistoryReport.of(levels.get(one.level_id), one, None) for one in found]
            told_json = history_json(reader.name, ((one.title, one.history) for one in bare))
            return as_json(told_json, store.notices)
        with aloud(f"going through the latest rounds of {reader.name}"):
            told = [
                HistoryReport.of(levels.get(one.level_id), one, gain_of(recent_rounds(store, one)))
                for one in found
            ]
        notices = store.notices
    said, files = [], list[tuple[str, Path, bytes]]()
    if args.html is not None:
        page = history_html(reader.name, told, names)
        files.append(("--html", args.html, page.encode()))
        said.append(f"{args.html}: the rounds of {reader.name}")
    if args.csv is not None:
        files.append(("--csv", args.csv, history_csv(found)))
        said.append(f"{args.csv}: {sum(len(one.rounds) for one in found)} rounds")
    write_files(files, args.force, folders=True)
    if not said:
        said.append(_text(reader.name, told, names))
    return Said("\n".join(said), notices)


def _text(name: str, told: list[HistoryReport], names: NoteNames) -> str:
    from game.cli.tables import table
    from game.paper.history import NOTHING, TABLE_HEAD, best_words, cells, gain_words

    lines = [name]
    if not told:
        lines.append(NOTHING)
    for level in told:
        history = level.history
        lines += ["", level.title]
        latest = history.rounds[: -_LISTED - 1 : -1]
        lines += [table(TABLE_HEAD, [cells(one, level) for one in latest])]
        if len(history.rounds) > _LISTED:
            lines.append(f"and {len(history.rounds) - _LISTED} before; --csv has them all")
        lines += ["Best by week"]
        lines += [f"  {week}  {best}" for week, best in best_words(level)[:_LISTED]]
        lines.append(gain_words(level.gain, names))
    return "\n".join(lines)
