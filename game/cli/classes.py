# SPDX-License-Identifier: MIT
"""The commands on classes: listed, a list taken in, written again, archived and brought back."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from game.cli.options import command
from game.cli.said import Failed, Said, as_json, plainly
from game.cli.written import write_file
from game.words.counts import count

if TYPE_CHECKING:
    from game.heats.roster import ClassList
    from game.session.class_lists import Foreseen
    from game.store import Imported, School, SchoolClass


_TOLD = 8  # classes that are named before a list is taken in


def add(children: Any) -> None:
    """The commands of ``stavewise class``."""
    example = "stavewise class import 3b.csv\n  stavewise class export 3b 3b.csv"
    group = command(children, "class", _list, "list, fill and write the classes", example)
    of_class = group.commands()
    listed = command(
        of_class, "list", _list, "list the classes of the store", "stavewise class list --json"
    )
    taken = command(
        of_class,
        "import",
        _import,
        "take a list of names from a CSV file into its classes",
        "stavewise class import school.csv\n  stavewise class import names.csv --class 3b",
        "Each reader goes into the class that the list names, or else into the one that is called "
        "like the file; a class that is not there is made. Nobody is doubled: whoever is in the "
        "class already keeps all they have, and takes over the seat number that the list gives. "
        "With a fault, nothing is taken in at all. A list that looks like none (a first line of "
        "unknown headings, several new classes of one reader each) is asked about at a terminal, "
        "and refused elsewhere unless --anyway is given.",
    )
    taken.add_argument("file", type=_some_path, metavar="FILE.csv", help="the list")
    what = "into this class; of a list that names several, only its own readers"
    taken.add_argument("--class", dest="group", default="", metavar="NAME", help=what)
    what = (
        "also when the list looks like no class list; with --class, also when it names another "
        "class instead"
    )
    taken.flag("--anyway", what)
    written = command(
        of_class,
        "export",
        _export,
        "write a class as CSV, those archived left out",
        "stavewise class export 3b 3b.csv\n  stavewise class export 3b --json",
    )
    written.add_argument("name", metavar="CLASS", help="name of the class")
    what = "where to write it; it is printed unless given, or when it is -"
    written.add_argument("file", type=Path, nargs="?", metavar="FILE.csv", help=what)
    written.force()
    archived = command(
        of_class,
        "archive",
        _archive,
        "offer a class no longer, or again; nothing of it is lost",
        "stavewise class archive 3b\n  stavewise class archive 3b --back",
    )
    archived.add_argument("name", metavar="CLASS", help="name of the class")
    archived.flag("--back", "bring it back")
    for parser in (listed, taken, written, archived):
        parser.store()
    for parser in (listed, taken, written):
        parser.json()


def _some_path(text: str) -> Path:
    if not text.strip():
        raise argparse.ArgumentTypeError(f"found {text!r}; allowed: the path of a file")
    return Path(text)


def _list(args: argparse.Namespace) -> Said:
    from game.cli.tables import table
    from game.contract.classes import classes_json

    with _school(args) as (school, notices):
        classes = school.classes(include_archived=True)
        told = classes_json((one, len(school.members(one.id))) for one in classes)
    if args.json:
        return as_json(told, notices)
    rows = [
        (one["name"], str(one["readers"]), "archived" if one["archived"] else "")
        for one in told["classes"]
    ]
    return Said(table(("class", "readers", ""), rows) if rows else "no class yet", notices)


def _import(args: argparse.Namespace) -> Said:
    from game.contract.classes import imported_json
    from game.heats.roster import RosterFaults
    from game.session.class_lists import by_class, foreseen, read_list

    with plainly(RosterFaults):
        roster = read_list(args.file, args.group, str(args.file))
    lists, left = by_class(roster), 0
    if args.group:
        groups = _meant(args, roster)
        mine = [member for member in roster.members if member.group in groups]
        lists = [(args.group, [(member.name, member.number) for member in mine])]
        left = len(roster.members) - len(mine)
    with _school(args) as (school, notices):
        if not args.anyway:
            _see_that_it_is_one(args.file, roster, foreseen(school, lists))
        done = school.import_classes(lists)
    noted = list(roster.notices)
    if left:
        noted.append(f"{args.file}: {left} of other classes left out, since --class was given")
    if args.json:
        return as_json(imported_json(str(args.file), done, noted), notices)
    return Said("\n".join(map(_told, done)), (*notices, *noted))


def _see_that_it_is_one(path: Path, roster: ClassList, found: Sequence[Foreseen]) -> None:
    """Whether a list that looks like no class list is to be taken in all the same: at a terminal
    it is asked."""
    from game.session.class_lists import scattered

    if not (roster.unknown or scattered(found)):
        return
    readers = sum(one.added + one.here for one in found)
    told = ", ".join(
        f"{one.name} ({one.added + one.here}{', new' if one.new else ''})" for one in found[:_TOLD]
    )
    if len(found) > _TOLD:
        told += f", and {len(found) - _TOLD} more"
    words = f"{path}: {count(len(found), 'class', 'es')}, {count(readers, 'reader')}: {told}"
    lines = [*(roster.notices[:1] if roster.unknown else ()), words]
    if sys.stdin.isatty() and sys.stderr.isatty():
        print(*lines, "Take it in? [y/N] ", sep="\n", end="", file=sys.stderr, flush=True)
        if sys.stdin.readline().strip().casefold() in ("y", "yes"):
            return
        raise Failed("nothing was taken in")
    lines[-1] += ". Nothing was taken in; if it is a class list, add --anyway"
    raise Failed("\n".join(lines))


def _meant(args: argparse.Namespace, roster: ClassList) -> tuple[str, ...]:
    """The classes of a list whose readers go into the one that was named."""
    from game.session.class_lists import others_in

    others = others_in(roster, args.group)
    if not others or others != roster.groups:
        return tuple(group for group in roster.groups if group not in others)
    named = ", ".join(others)
    where = f"{args.file} names {named}, and --class says {args.group}"
    if len(others) > 1:
        raise Failed(f"{where}; leave out --class to take them into their own classes")
    if not args.anyway:
        raise Failed(
            f"{where}; leave out --class to take them into {named}, "
            f"or add --anyway to take them into {args.group}"
        )
    return others


def _told(done: Imported) -> str:
    parts = [f"{len(done.added)} added", f"{len(done.kept)} there before"]
    if done.reseated:
        parts.append(f"{count(len(done.reseated), 'seat number')} changed")
    if done.returned:
        parts.append(f"{len(done.returned)} back from the archive")
    new = " (new)" if done.made else " (back from the archive)" if done.revived else ""
    return f"{done.of.name}{new}: {', '.join(parts)}"


def _export(args: argparse.Namespace) -> Said:
    if args.json and args.file not in (None, Path("-")):
        raise Failed("--json prints the class: name no file beside it", 2)

    from game.contract.classes import class_json
    from game.session.class_lists import class_csv

    with _school(args) as (school, notices):
        one = _found(school, args.name)
        members = school.members(one.id)
    if args.json:
        return as_json(class_json(one, members), notices)
    made = class_csv(one.name, members)
    if args.file in (None, Path("-")):
        return Said("\n".join(made.decode("utf-8-sig").splitlines()), notices)
    write_file(args.file, made, force=args.force)
    return Said(f"{args.file}: {len(members)} of {one.name}", notices)


def _archive(args: argparse.Namespace) -> Said:
    with _school(args) as (school, notices):
        one = _found(school, args.name)
        school.archive_class(one.id, archived=not args.back)
    words = "is offered again" if args.back else "is archived; --back brings it back"
    return Said(f"{one.name} {words}", notices)


@contextmanager
def _school(args: argparse.Namespace) -> Iterator[tuple[School, tuple[str, ...]]]:
    """The classes of the store, and what was said when it was opened."""
    from game.reader.names import NameRefused
    from game.store import Store, StoreError

    with plainly(StoreError, NameRefused), Store.open(args.store, renew=False) as store:
        yield store.school, tuple(store.notices)


def _found(school: School, name: str) -> SchoolClass:
    from game.reader.names import folded

    classes = school.classes(include_archived=True)
    same = [one for one in classes if folded(one.name) == folded(" ".join(name.split()))]
    if not same:
        there = ", ".join(one.name for one in classes) or "none yet"
        raise Failed(f"no class is called {name!r}; there are: {there}")
    return same[0]
