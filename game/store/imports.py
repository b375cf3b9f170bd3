# SPDX-License-Identifier: MIT
"""Lists of names taken into classes, and taken out again."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from sqlalchemy import Connection, delete, exc, func, insert, select, update

from game.reader.names import NameRefused, clean_name, folded
from game.store.errors import StoreError
from game.store.roster import Member, Roster, SchoolClass, member_of, member_row
from game.store.rows import new_id
from game.store.tables import CLASSES, HEATS, MEMBERS

_TRIES = 3
_TOLD = 4  # of the seats that two would have

_T = TypeVar("_T")
Row = tuple[str, int | None]
"""Name, or nothing, and seat's number, or None."""


@dataclass(frozen=True, slots=True)
class Imported:
    """What became of a list of names in a class.

    Args:
        of: the class.
        added: those who are new.
        kept: those who were there, as they are now.
        before: those among them whom the list changed, as they were: in another seat, or archived.
        made: the class is new, too.
        revived: the class was archived.
        heats: how many the class had then.
    """

    of: SchoolClass
    added: tuple[Member, ...]
    kept: tuple[Member, ...]
    before: tuple[Member, ...] = ()
    made: bool = False
    revived: bool = False
    heats: int = 0

    @property
    def reseated(self) -> tuple[tuple[Member, int | None], ...]:
        """Those who have another seat now, each with the one before."""
        were = {member.id: member.seat for member in self.before}
        return tuple(
            (now, were[now.id]) for now in self.kept if were.get(now.id, now.seat) != now.seat
        )

    @property
    def returned(self) -> tuple[Member, ...]:
        """Those who had been archived."""
        were = {member.id for member in self.before if member.archived}
        return tuple(member for member in self.kept if member.id in were)


class Imports(Roster):
    """Lists taken in whole or not at all."""

    def import_members(self, class_id: int, rows: Iterable[Row]) -> Imported:
        """Take a list into a class.

        Whoever is in the class already keeps all they have, but for a seat that the list gives
        them; if archived, they are offered again.

        Raises:
            NameRefused: one cannot be a name, or a seat would have two; nothing was changed.
        """
        wanted = _wanted(rows)

        def write(connection: Connection) -> Imported:
            self.see_that_it_is(connection, CLASSES, "class", class_id)
            return _import(connection, _class(connection, CLASSES.c.id == class_id), wanted)

        return self._tried(write)

    def import_classes(self, lists: Sequence[tuple[str, Iterable[Row]]]) -> tuple[Imported, ...]:
        """Take lists into classes of these names. Those that are not there are made; those that are
        archived are offered again.

        Raises:
            NameRefused: as :meth:`import_members`, or one cannot be the name of a class; nothing
                was changed in any.
        """
        every = [(clean_name(name), _wanted(rows)) for name, rows in lists]

        def write(connection: Connection) -> tuple[Imported, ...]:
            done = []
            for name, wanted in every:
                same = CLASSES.c.folded == folded(name)
                made = connection.scalar(select(CLASSES.c.id).where(same)) is None
                if made:
                    connection.execute(insert(CLASSES).values(name=name, folded=folded(name)))
                one = _class(connection, same)
                if one.archived:
                    connection.execute(update(CLASSES).where(same).values(archived=False))
                now = replace(one, archived=False)
                found = _import(connection, now, wanted)
                done.append(replace(found, made=made, revived=one.archived))
            return tuple(done)

        return self._tried(write)

    def undo_imports(self, done: Iterable[Imported]) -> None:
        """Take out what lists brought, and give back what they changed.

        Whoever was added is deleted, since a list taken by mistake may hold names that nobody
        wants kept; who has become a reader since, or whose class has played a heat since, is
        archived instead. Likewise a class that was made for the list.
        """

        def write(connection: Connection) -> None:
            for one in done:
                _undo(connection, one)

        self._tried(write)

    def _tried(self, write: Callable[[Connection], _T]) -> _T:
        for _ in range(_TRIES):
            try:
                with self._connections.transaction(alone=True) as connection:
                    return write(connection)
            except exc.IntegrityError:
                continue  # another room added one of them just now
        raise StoreError(
            self._connections.place.name, "others change this class now", "Try again later."
        )


def _wanted(rows: Iterable[Row]) -> dict[str, dict[str, Any]]:
    """The rows by the name as it compares; of two that are one, the first."""
    wanted: dict[str, dict[str, Any]] = {}
    for name, seat in rows:
        row = member_row(name, seat)
        wanted.setdefault(row["folded"], row)
    return wanted


def _class(connection: Connection, which: Any) -> SchoolClass:
    row = connection.execute(select(CLASSES).where(which)).one()
    return SchoolClass(row.id, row.name, row.archived)


def _import(
    connection: Connection, one: SchoolClass, wanted: dict[str, dict[str, Any]]
) -> Imported:
    of_class = MEMBERS.c["class"] == one.id
    rows = connection.execute(select(MEMBERS).where(of_class).order_by(MEMBERS.c.id)).all()
    there = {row.folded: member_of(row) for row in rows}
    kept, before = [], []
    for key, row in wanted.items():
        was = there.get(key)
        if was is None:
            continue
        seat = was.seat if row["seat"] is None else row["seat"]
        now = replace(was, seat=seat, archived=False)
        kept.append(now)
        if now != was:
            before.append(was)
            _set(connection, now)
    others = [m for key, m in there.items() if key not in wanted and not m.archived]
    fresh = [row for key, row in wanted.items() if key not in there]
    moved = {member.id: member.seat for member in before}
    given = [m.seat for m in kept if m.seat and moved.get(m.id, m.seat) != m.seat]
    _see_that_seats_differ(
        one,
        [(m.name, m.seat) for m in (*others, *kept)] + [(r["name"], r["seat"]) for r in fresh],
        {*given, *(row["seat"] for row in fresh)},
    )
    added = [
        Member(
            new_id(connection, insert(MEMBERS).values(row | {"class": one.id})),
            one.id,
            row["name"],
            row["seat"],
        )
        for row in fresh
    ]
    return Imported(one, tuple(added), tuple(kept), tuple(before), heats=_heats(connection, one.id))


def _see_that_seats_differ(
    one: SchoolClass, members: Iterable[Row], given: set[int | None]
) -> None:
    """Of the seats that the list gives, none has two."""
    seats: dict[int, list[str]] = {}
    for name, seat in members:
        if seat is not None and seat in given:
            seats.setdefault(seat, []).append(name or "a reader without a name")
    twice = [
        f"number {seat} would be that of {' and '.join(names[:3])}"
        for seat, names in sorted(seats.items())
        if len(names) > 1
    ]
    if twice:
        more = len(twice) - _TOLD
        told = "; ".join(twice[:_TOLD]) + (f"; and {more} more" if more > 0 else "")
        raise NameRefused(one.name, told, "Give one of them another number; nothing was taken in.")


def _set(connection: Connection, member: Member) -> None:
    change = update(MEMBERS).where(MEMBERS.c.id == member.id)
    connection.execute(change.values(seat=member.seat, archived=member.archived))


def _heats(connection: Connection, class_id: int) -> int:
    count = select(func.count()).select_from(HEATS).where(HEATS.c["class"] == class_id)
    return connection.scalar(count) or 0


def _undo(connection: Connection, done: Imported) -> None:
    theirs = MEMBERS.c.id.in_([member.id for member in done.added])
    if _heats(connection, done.of.id) == done.heats:
        connection.execute(delete(MEMBERS).where(theirs, MEMBERS.c.reader.is_(None)))
    connection.execute(update(MEMBERS).where(theirs).values(archived=True))
    for member in done.before:
        _set(connection, member)
    this = CLASSES.c.id == done.of.id
    if done.made:
        in_it = select(MEMBERS.c.id).where(MEMBERS.c["class"] == done.of.id).limit(1)
        if connection.scalar(in_it) is None and not _heats(connection, done.of.id):
            connection.execute(delete(CLASSES).where(this))
            return
    if done.made or done.revived:
        others = select(MEMBERS.c.id).where(MEMBERS.c["class"] == done.of.id, ~MEMBERS.c.archived)
        if done.revived or connection.scalar(others.limit(1)) is None:
            connection.execute(update(CLASSES).where(this).values(archived=True))
