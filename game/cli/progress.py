# SPDX-License-Identifier: MIT
"""The command that tells how a reader gets on: as text, as a page, as tables."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Timer
from typing import TYPE_CHECKING, Any

from game.cli.level import ladder_of_game
from game.cli.options import Command, command
from game.cli.said import Failed, Said, as_json, plainly
from game.cli.written import free, write_files

if TYPE_CHECKING:
    from game.notation import NoteNames
    from game.reader import Progress
    from game.store import Reader, Store

_QUIET_S = 1.0


def add(children: Any) -> None:
    parser = command(
        children,
        "progress",
        progress,
        "tell how a reader gets on: what is known, how fast, which misreads",
        "stavewise progress Anna\n  stavewise progress Anna --html anna.html --csv anna-tables",
        "The page needs no network and prints on A4 or Letter. The tables are signs.csv, "
        "rounds.csv and misreads.csv.",
    )
    parser.add_argument("reader", metavar="READER", help="name of the reader")
    parser.path("--html", "FILE.html", "write a page instead")
    parser.path("--csv", "FOLDER", "write tables into a folder")
    add_of_reader(parser)


def add_of_reader(parser: Command) -> None:
    """What the pages of a reader have in common."""
    parser.force("files that are")
    parser.names(usual="as in the game's settings")
    parser.store()
    parser.json()


def progress(args: argparse.Namespace) -> Said:
    if args.json and (args.html, args.csv) != (None, None):
        raise Failed("--json prints: give no --html and no --csv beside it", 2)

    from game.paper.progress_csv import FILES, progress_csv

    free("--html", args.html, args.force, ".html", ".htm")
    if args.csv is not None:
        for name in FILES:
            free("--csv", args.csv / name, args.force)
        if args.csv.exists() and not args.csv.is_dir():
            raise Failed(f"--csv {args.csv}: a file; name a folder")

    from game.contract.told import progress_json
    from game.notation import NOTE_NAMES
    from game.session.options import Options
    from game.session.profiles import profile_of, progress_of
    from game.store import Store, StoreError

    with plainly(StoreError), Store.open(args.store, renew=False) as store:
        reader = reader_named(store, args.reader)
        options = Options.from_kept(store.get_setting("options", {}))
        names = NOTE_NAMES[args.names] if args.names else options.names
        with aloud(f"looking through the rounds of {reader.name}"):
            profile = profile_of(store, reader.id)
            found = progress_of(store, reader.id, profile, ladder_of_game())
            rounds = store.figures(reader.id) if args.csv is not None or args.json else ()
        notices = store.notices
    if args.json:
        return as_json(progress_json(reader.name, found, len(rounds)), notices)
    said, files = [], list[tuple[str, Path, bytes]]()
    if args.html is not None:
        from game.engraving import Engraver, EngravingError
        from game.paper.progress_html import progress_html

        with plainly(EngravingError), aloud("drawing the page"):
            page = progress_html(reader.name, found, Engraver().engrave, names)
        files.append(("--html", args.html, page.encode()))
        said.append(f"{args.html}: the progress of {reader.name}")
    if args.csv is not None:
        tables = progress_csv(found, rounds)
        files += [("--csv", args.csv / name, table) for name, table in tables.items()]
        said.append(f"{args.csv}: {', '.join(tables)}")
    write_files(files, args.force, folders=True)
    if not said:
        said.append(_text(reader.name, found, names))
    return Said("\n".join(said), notices)


def reader_named(store: Store, name: str) -> Reader:
    """The reader of this name, capitals aside, archived ones included."""
    from game.reader.names import folded

    readers = store.readers(include_archived=True)
    for reader in readers:
        if folded(reader.name) == folded(name):
            return reader
    known = ", ".join(reader.name for reader in readers[:20])
    more = f" and {len(readers) - 20} more" if len(readers) > 20 else ""
    there = f"there are {known}{more}" if readers else "there is none yet: play first"
    raise Failed(f"{store.place}: no reader is called {name!r}; {there}")


@contextmanager
def aloud(what: str) -> Iterator[None]:
    """Say on standard error what is being done, once it takes long."""

    def say() -> None:
        print(f"stavewise: {what}, which takes a while", file=sys.stderr, flush=True)

    timer = Timer(_QUIET_S, say)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


def _text(name: str, found: Progress, names: NoteNames) -> str:
    from game.paper import progress_words as words

    lines = [
        name,
        words.days_line(found.days, found.today),
        f"{words.rounds_line(found)}.",
    ]
    if not found.signs:
        return "\n".join([*lines, words.NOTHING])
    tempo = found.tempo.points
    if tempo:
        lines += [
            "",
            f"Reading tempo: {tempo[-1].median:.0f} a minute"
            + (f", at first {tempo[0].median:.0f}" if len(tempo) > 1 else ""),
        ]
    lines += [
        f"{c.value.capitalize()}: {words.counting_words(found.counting[c])}" for c in found.counting
    ]
    lines.append("")
    lines += [
        f"{words.SOURCES[known.source]}: {words.source_words(known)}" for known in found.sources
    ]
    lines += ["", "Lines and spaces"]
    met = [place for place in found.places if place.estimate is not None]
    called = [words.place_name(p.clef, p.position, names) for p in met]
    width = max(map(len, called))
    where = [words.place_words(p.clef, p.position) + words.altered_words(p) for p in met]
    far = max(map(len, where))
    for place, note, there in zip(met, called, where, strict=True):
        lines.append(f"  {note:{width}}  {there:{far}}  {words.known_words(place, found.now)}")
    unread = len(found.places) - len(met)
    if unread:
        lines.append(f"  and {unread} not read yet")
    lines += ["", "Misreads"]
    for misread in found.misreads:
        line = (
            f"  {words.misread_title(misread)}: {words.misread_words(misread, found.misread_count)}"
        )
        if misread.example is not None:
            line += f"; {words.example_words(misread.example, names)}"
        lines.append(line)
    if not found.misreads:
        lines.append("  none so far")
    return "\n".join(lines)
