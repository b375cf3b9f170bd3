# SPDX-License-Identifier: MIT
"""The JSON of the commands on classes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Literal, TypedDict

from game.contract.form import told

if TYPE_CHECKING:
    from game.store import Imported, Member, SchoolClass


class ClassLineJson(TypedDict):
    """A class, and how many are in it, those archived left out."""

    name: str
    archived: bool
    readers: int


class ClassesJson(TypedDict):
    """``class list --json``: the classes in the order they came."""

    format: Literal[1]
    classes: list[ClassLineJson]


class MemberJson(TypedDict):
    """Somebody in a class: `name` is empty for a seat that keeps none, `number` null for no seat
    of their own. One of the two is there."""

    name: str
    number: int | None


class ClassJson(TypedDict):
    """``class export NAME --json``: a class, those archived left out."""

    format: Literal[1]
    name: str
    archived: bool
    members: list[MemberJson]


class ReseatedJson(MemberJson):
    """Somebody who has another number now; `before` is null where they had none."""

    before: int | None


class TakenJson(TypedDict):
    """What became of a list in a class. `made`: the class is new. `added` are new in it, `kept`
    were there. Of those, `changed` have another number now and `returned` had been archived."""

    name: str
    made: bool
    added: list[MemberJson]
    kept: list[MemberJson]
    changed: list[ReseatedJson]
    returned: list[MemberJson]


class ImportedJson(TypedDict):
    """``class import FILE --json``. `notices` are what is to be known of how it was read."""

    format: Literal[1]
    file: str
    classes: list[TakenJson]
    notices: list[str]


def classes_json(classes: Iterable[tuple[SchoolClass, int]]) -> ClassesJson:
    """The classes, each with how many are in it."""
    lines = [told(ClassLineJson, one, readers=readers) for one, readers in classes]
    return told(ClassesJson, classes=lines)


def class_json(one: SchoolClass, members: Iterable[Member]) -> ClassJson:
    """A class and who is in it."""
    return told(ClassJson, one, members=_members(members))


def imported_json(file: str, done: Iterable[Imported], notices: Sequence[str]) -> ImportedJson:
    """A list that was taken in."""
    classes = [
        told(
            TakenJson,
            one,
            name=one.of.name,
            added=_members(one.added),
            kept=_members(one.kept),
            changed=[
                told(ReseatedJson, member, number=member.seat, before=before)
                for member, before in one.reseated
            ],
            returned=_members(one.returned),
        )
        for one in done
    ]
    return told(ImportedJson, file=file, classes=classes, notices=list(notices))


def _members(members: Iterable[Member]) -> list[MemberJson]:
    return [told(MemberJson, member, number=member.seat) for member in members]
