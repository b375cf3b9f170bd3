# SPDX-License-Identifier: MIT
"""The command that tells of a reader's rounds over time."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

from game.cli.progress import aloud, reader_named
from game.cli.said import Failed, Said, plainly
from game.cli.written import write_files

if TYPE_CHECKING:
    from game.notation import NoteNames
    from game.paper.history import Told

_LISTED = 12  # rounds and weeks of a level, as text


def history(args: argparse.Namespace) -> Said:
    if args.json and (args.html, args.csv) != (None, None):
        raise Failed("--json prints: give no --html and no --csv beside it", 2)
    for option, place, endings in (
        ("--html", args.html, (".html", ".htm")),
        ("--csv", args.csv, (".csv",)),
    ):
        if place is None:
            continue
        if place.suffix.lower() not in endings:
            raise Failed(f"{option} {place}: the name of the file must end in {endings[0]}", 2)
        if place.exists() and not args.force:
            raise Failed(f"{option} {place}: it is there already; name another, or add --force")

    from datetime import UTC, datetime

    from game.cli.commands import ladder_of_game
    from game.contract import history_json
    from game.notation import NOTE_NAMES
    from game.paper.history import Told, history_csv, history_html
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
            bare = [Told.of(levels.get(one.level_id), one, None) for one in found]
            told_json = history_json(reader.name, ((one.title, one.history) for one in bare))
            return Said(json.dumps(told_json, ensure_ascii=False, indent=2), store.notices)
        with aloud(f"going through the latest rounds of {reader.name}"):
            told = [
                Told.of(levels.get(one.level_id), one, gain_of(recent_rounds(store, one)))
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


def _text(name: str, told: list[Told], names: NoteNames) -> str:
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
