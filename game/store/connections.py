# SPDX-License-Identifier: MIT
"""Transactions on an open store."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress

from sqlalchemy import Connection, Engine, exc

from game.files.private import claim
from game.store.errors import Damaged, StoreError, Unreachable, explain
from game.store.place import StoreAddress, identity, suspect


class Connections:
    """Stateful: the connections to one open store.

    Args:
        place: of the store.
        patient: waits for another writer as long as is bearable between rounds.
        hasty: waits hardly at all, for use while somebody plays; of a server, the courier's.
    """

    before_reading: Callable[[], None] | None = None
    """Called before each patient transaction, to write what waits."""

    def __init__(
        self, place: StoreAddress, patient: Engine, hasty: Engine, said: Iterable[str] = ()
    ) -> None:
        self.place = place
        self._patient = patient
        self._hasty = hasty
        self._file = place.path and identity(place.path)
        self.said = [*said]
        """What was found in opening, and what is damaged and left out or set aside since, each a
        sentence for people."""
        self.tell: Callable[[str], object] | None = None
        """Is called with the next ones."""
        self._closed = False
        self._lost: tuple[Unreachable, float, float] | None = None

    @property
    def dialect(self) -> str:
        """Of the database, as SQLAlchemy calls it; empty for one in this process's memory."""
        if self.place.path is None and not self.place.on_server:
            return ""
        return self._patient.dialect.name

    @contextmanager
    def transaction(self, *, hasty: bool = False, alone: bool = False) -> Iterator[Connection]:
        """One transaction, committed at the end of the block.

        Args:
            hasty: wait hardly at all for another writer.
            alone: keep other writers of an SQLite file out from the first read on, so that what
                was read still holds when it is written; elsewhere, rows are locked by name.

        Raises:
            StoreError: whatever the database says, in plain words.
            IntegrityError: as it comes; the caller knows which rule its rows broke.
        """
        self._see_that_it_is_there()
        asked = time.monotonic()
        if not hasty:
            self._see_that_it_answers()
        try:
            engine = self._hasty if hasty else self._patient
            if alone:
                engine = engine.execution_options(begin="BEGIN IMMEDIATE")
            with engine.begin() as connection:
                yield connection
        except exc.IntegrityError:
            raise
        except (exc.SQLAlchemyError, UnicodeDecodeError) as error:
            found = explain(error, self.place.name)
            if not hasty and isinstance(found, Unreachable):
                self._lost = found, asked, time.monotonic()
            if isinstance(found, Damaged) and self.place.path is not None:
                with suppress(OSError):  # the next opening looks through all of the file
                    claim(suspect(self.place.path))
            raise found from error

    def say(self, words: str) -> None:
        """Say something once."""
        if words not in self.said:
            self.said.append(words)
            if self.tell is not None:
                self.tell(words)

    def close(self) -> None:
        """Close them; a transaction after this is an error."""
        self._closed = True
        self._hasty.dispose()
        self._patient.dispose()

    def _see_that_it_answers(self) -> None:
        # A page asks for several things; a server that hangs must not hold it up for each.
        if self._lost is not None:
            error, asked, failed = self._lost
            if time.monotonic() - failed < failed - asked:
                raise error
            self._lost = None
        if self.before_reading is not None:
            self.before_reading()

    def _see_that_it_is_there(self) -> None:
        if self._closed:
            raise StoreError(self.place.name, "the store is closed", "Open it again.")
        # SQLite goes on writing to a file that was deleted or moved, and all of it is lost.
        path = self.place.path
        if path is not None and identity(path) != self._file:
            raise StoreError(
                str(path),
                "the file is gone, or another one is in its place",
                "Put it back where it was, or start the game again to begin a fresh one.",
            )
