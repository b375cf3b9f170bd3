# SPDX-License-Identifier: MIT
"""Classes and those in them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Row, Table, insert, select, update

from game.reader.names import NameRefused, clean_name, folded
from game.store.connections import Connections
from game.store.naming import naming
from game.store.rows import change_row, name_of, new_id, nothing
from game.store.tables import CLASSES, GREATEST, MEMBERS, READERS

_SOMEBODY = "somebody in the class"


@dataclass(frozen=True, slots=True)
class SchoolClass:
    """A class. An archived one keeps all it had and is no longer offered."""

    id: int
    name: str
    archived: bool = False


@dataclass(frozen=True, slots=True)
class Member:
    """Somebody in a class.

    Args:
        id: its number in this store.
        class_id: of which class.
        name: empty where none is to be kept; then there is a seat number.
        seat: 1 or more; None for no seat of their own.
        reader_id: the reader with their own rounds, if they are one.
        archived: no longer offered; nothing of theirs is lost.
    """

    id: int
    class_id: int
    name: str
    seat: int | None = None
    reader_id: int | None = None
    archived: bool = False


class Roster:
    """Classes and their members over the connections of a store. Nothing is deleted here."""

    def __init__(self, connections: Connections) -> None:
        self._connections = connections

    # Classes

    def add_class(self, name: str) -> SchoolClass:
        """A new class.

        Raises:
            NameRefused: the name is taken (capitals aside), or cannot be one.
        """
        name = clean_name(name)
        row = {"name": name, "folded": folded(name)}
        with naming(name, "a class"), self._connections.transaction() as connection:
            return SchoolClass(new_id(connection, insert(CLASSES).values(row)), name)

    def classes(self, include_archived: bool = False) -> tuple[SchoolClass, ...]:
        """The classes, in the order they came."""
        query = select(CLASSES).order_by(CLASSES.c.id)
        if not include_archived:
            query = query.where(~CLASSES.c.archived)
        with self._connections.transaction() as connection:
            return tuple(
                SchoolClass(row.id, name_of(row, "Class"), bool(row.archived))
                for row in connection.execute(query)
            )

    def rename_class(self, class_id: int, name: str) -> None:
        """Give a class another name.

        Raises:
            NameRefused: as :meth:`add_class`.
        """
        name = clean_name(name)
        with naming(name, "a class"):
            change_row(self._connections, CLASSES, class_id, name=name, folded=folded(name))

    def archive_class(self, class_id: int, archived: bool = True) -> None:
        """Offer a class no longer, or again."""
        change_row(self._connections, CLASSES, class_id, archived=archived)

    # Members

    def add_member(
        self, class_id: int, name: str = "", seat: int | None = None, reader_id: int | None = None
    ) -> Member:
        """Somebody new in a class. With a seat, the name may be empty.

        Raises:
            NameRefused: the class has somebody of that name (or a nameless one in that seat),
                or it cannot be a name.
        """
        row = member_row(name, seat) | {"class": class_id, "reader": reader_id}
        who = row["name"] or f"seat {seat}"
        with naming(who, _SOMEBODY), self._connections.transaction(alone=True) as connection:
            self.see_that_it_is(connection, CLASSES, "class", class_id)
            if reader_id is not None:
                self.see_that_it_is(connection, READERS, "reader", reader_id)
            number = new_id(connection, insert(MEMBERS).values(row))
        return Member(number, class_id, row["name"], seat, reader_id)

    def members(self, class_id: int, include_archived: bool = False) -> tuple[Member, ...]:
        """Who is in a class, in the order they came."""
        query = select(MEMBERS).where(MEMBERS.c["class"] == class_id).order_by(MEMBERS.c.id)
        if not include_archived:
            query = query.where(~MEMBERS.c.archived)
        with self._connections.transaction() as connection:
            return tuple(member_of(row) for row in connection.execute(query))

    def rename_member(self, member_id: int, name: str) -> None:
        """Give a member another name; empty where there is a seat.

        Raises:
            NameRefused: as :meth:`add_member`.
        """
        self._change_member(member_id, name=name)

    def seat_member(self, member_id: int, seat: int | None) -> None:
        """Give a member another seat.

        Raises:
            NameRefused: they have no name, and there is a nameless one in that seat.
        """
        self._change_member(member_id, seat=seat)

    def link_member(self, member_id: int, reader_id: int | None) -> None:
        """Say which reader a member is; None for none."""
        self._change_member(member_id, reader=reader_id)

    def archive_member(self, member_id: int, archived: bool = True) -> None:
        """Offer a member no longer, or again."""
        self._change_member(member_id, archived=archived)

    def _change_member(self, member_id: int, **values: Any) -> None:
        this = MEMBERS.c.id == member_id
        who = values.get("name") or f"seat {values.get('seat')}"
        with naming(who, _SOMEBODY), self._connections.transaction(alone=True) as connection:
            row = connection.execute(select(MEMBERS).where(this)).one_or_none()
            if row is None:
                raise nothing("member", member_id, self._connections)
            if values.get("reader") is not None:
                self.see_that_it_is(connection, READERS, "reader", values["reader"])
            values |= member_row(values.get("name", row.name), values.get("seat", row.seat))
            connection.execute(update(MEMBERS).where(this).values(values))

    def see_that_it_is(self, connection: Connection, table: Table, what: str, number: int) -> None:
        """Raises StoreError where there is no such row."""
        if connection.scalar(select(table.c.id).where(table.c.id == number)) is None:
            raise nothing(what, number, self._connections)


def member_row(name: str, seat: int | None) -> dict[str, Any]:
    """The row of a member as it is kept.

    Raises:
        NameRefused: it cannot be a name, or there is neither name nor seat.
    """
    if seat is not None and not 1 <= seat <= GREATEST:
        raise NameRefused(f"seat {seat}", "a seat's number is 1 or more", "Correct it.")
    if name.strip():
        name = clean_name(name)
        return {"name": name, "folded": folded(name), "seat": seat}
    if seat is None:
        raise NameRefused("''", "there is neither a name nor a seat number", "Give one of them.")
    return {"name": "", "folded": f" {seat}", "seat": seat}


def member_of(row: Row[Any]) -> Member:
    """The member of a row; what is damaged in it is as if it had not been given."""
    seat, reader = (one if isinstance(one, int) else None for one in (row.seat, row.reader))
    name = row.name if isinstance(row.name, str) and (row.name or seat) else name_of(row, "Member")
    return Member(row.id, row._mapping["class"], name, seat, reader, bool(row.archived))
