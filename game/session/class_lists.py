# SPDX-License-Identifier: MIT
"""Class lists as files: read, and shared out to the classes that they name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from game.files.nearby import shown
from game.heats.roster import (
    MOST_BYTES,
    SPREADSHEETS,
    ClassList,
    ListedMember,
    RosterFaults,
    numbered_names,
    parse_roster,
    roster_csv,
)
from game.reader.names import folded
from game.store import Member, School

LISTS = (".csv", ".tsv", ".txt")
Row = tuple[str, int | None]
"""Name, or nothing, and number, or None."""


def is_list(path: Path) -> bool:
    """Whether a file may be meant as a class list, by its name; also a spreadsheet's own file,
    which is then told how to become one."""
    return path.suffix.lower() in (*LISTS, *SPREADSHEETS)


def read_list(path: Path, usual: str = "", called: str = "") -> ClassList:
    """A class list.

    Args:
        path: of the file.
        usual: the class of those for whom the list names none; the file's own name unless given.
        called: what the file is called in messages; its name without the folder unless given.

    Raises:
        RosterFaults: it cannot be read or used; every message names the file and the mend.
    """
    name, sheet = called or shown(path), path.suffix.lower() in SPREADSHEETS
    fault, data = "", b""
    try:
        if path.is_dir():  # which some spreadsheets are inside
            fault = "" if sheet else f"{name} is a folder: name the list in it, a CSV file"
        elif not path.exists():
            fault = f"{name}: there is no such file; see that its path is right"
        elif not path.is_file():
            fault = f"{name} is no file that can be read: give a CSV file"
        elif not sheet:
            data = _read(path)
    except OSError as error:
        fault = f"{name} cannot be read: {error.strerror}; allow reading it, or copy it elsewhere"
    if fault:
        raise RosterFaults((fault,))
    return parse_roster(data, name, usual or path.stem)


def _read(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(MOST_BYTES + 1)


def by_class(roster: ClassList) -> list[tuple[str, list[Row]]]:
    """The lists of a file by the name of their class, for the store."""
    lists: dict[str, tuple[str, list[Row]]] = {}
    for member in roster.members:
        here = lists.setdefault(folded(member.group), (member.group, []))
        here[1].append((member.name, member.number))
    return list(lists.values())


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What a list would make of a class.

    Args:
        name: of the class.
        new: it is not there yet.
        added: how many would be new in it.
        here: how many of the list are in it already.
        archived: it is there, but archived, and comes back.
    """

    name: str
    new: bool
    added: int
    here: int
    archived: bool = False


def foreseen(school: School, lists: Sequence[tuple[str, Sequence[Row]]]) -> tuple[Foreseen, ...]:
    """What would become of lists, class by class; nothing is changed.

    Raises:
        StoreError: the classes cannot be read.
    """
    there = {folded(one.name): one for one in school.classes(include_archived=True)}
    found = []
    for name, rows in lists:
        one = there.get(folded(name))
        members = () if one is None else school.members(one.id, include_archived=True)
        known = {_who(member.name, member.seat) for member in members}
        wanted = {_who(*row) for row in rows}
        shown_name = name if one is None else one.name
        here = len(wanted & known)
        archived = one is not None and one.archived
        found.append(Foreseen(shown_name, one is None, len(wanted) - here, here, archived))
    return tuple(found)


def _who(name: str, seat: int | None) -> str:
    return folded(name) or f" {seat}"  # somebody without a name is their seat


def scattered(found: Sequence[Foreseen]) -> bool:
    """Whether a list looks like no class list: most of what it would make is classes of one."""
    new = [one for one in found if one.new]
    alone = sum(one.added == 1 for one in new)
    return alone > 1 and 2 * alone > len(new)


def others_in(roster: ClassList, name: str) -> tuple[str, ...]:
    """The classes that a list names beside this one, in order."""
    return tuple(group for group in roster.groups if folded(group) != folded(name))


def told_apart(name: str, others: Iterable[str]) -> str:
    """The name with the first number that none of the others has."""
    taken = {folded(other) for other in others}
    return next(one for one in numbered_names(name) if folded(one) not in taken)


def class_csv(name: str, members: Sequence[Member]) -> bytes:
    """A class as a CSV file, which reads back the same."""
    listed = tuple(ListedMember(one.name, one.seat, name) for one in members)
    return roster_csv(ClassList(listed)).encode("utf-8-sig")
