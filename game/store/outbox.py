# SPDX-License-Identifier: MIT
"""Where items wait that cannot be written yet: on another disk, or failing that in memory."""

from __future__ import annotations

from contextlib import suppress
from typing import ClassVar, Protocol

from game.store.connections import Connections
from game.store.delivery import ContinuedElsewhere, Item, deliver, taken_error
from game.store.errors import StoreError
from game.store.spare import Spare


class Outbox(Protocol):
    """Stateful: holds items until they are written, in order."""

    durable: ClassVar[bool]
    """Whether what is put here outlives the process, written or not."""

    trouble: StoreError | None
    """Why items wait; None when none do."""

    def __len__(self) -> int:
        """How many wait because of the trouble."""
        ...

    @property
    def unsaved(self) -> int:
        """How many wait in memory alone, and would be lost with the process."""
        ...

    @property
    def notice(self) -> str | None:
        """A sentence about what waits."""
        ...

    def put(self, *items: Item) -> bool:
        """Write items after those that wait; False when they are neither written nor on disk.

        Raises:
            ContinuedElsewhere: another copy has gone on with their target; they are put with
                the refused.
        """
        ...

    def flush(self) -> None:
        """Write what waits.

        Raises:
            ContinuedElsewhere: as :meth:`put`.
            StoreError: it cannot be written now, and goes on waiting.
        """
        ...

    def try_again(self) -> None:
        """Write what waits, if that is possible at once.

        Raises:
            ContinuedElsewhere: as :meth:`put`.
        """
        ...

    def settle(self) -> None:
        """Write what waits, if that is soon done. Reading comes after it."""
        ...

    def waiting(self, target: str) -> tuple[Item, ...]:
        """What waits for a target, in order."""
        ...

    def go_on(self, target: str) -> None:
        """A target is taken up again, from what the store has."""
        ...

    def drop(self, target: str) -> None:
        """Forget what waits for a target, where nothing else can be done with it."""
        ...

    def close(self) -> None:
        """Write what waits, and end.

        Raises:
            StoreError: something would be lost; it stays open, to try again.
        """
        ...


class LocalOutbox:
    """Stateful: an outbox for a store on this machine, which is hardly ever away.

    What the store does not take waits in memory, and a spare file has a copy of it that outlives
    the process. What such a file still has of an earlier one waits here too.
    """

    durable: ClassVar[bool] = False

    def __init__(self, connections: Connections, spare: Spare | None) -> None:
        self._connections = connections
        self._spare = spare
        self._items: list[Item] = []
        self._saved = 0  # so many of them, from the first on, are in the spare file
        self._second: frozenset[str] = frozenset()
        self.trouble: StoreError | None = None
        if spare is not None:
            self._items = spare.left()
            self._saved = len(self._items)
            with suppress(StoreError):  # it is told as the trouble
                self._second = frozenset(target for target, _origin in self._deliver(hasty=False))

    def __len__(self) -> int:
        return len(self._items)

    @property
    def unsaved(self) -> int:
        return len(self._items) - self._saved

    @property
    def notice(self) -> str | None:
        said = []
        if self._second:
            said.append(
                f"Another copy of the game had gone on with {', '.join(sorted(self._second))}: "
                "what waited here came second, is kept apart in the store, and not counted."
            )
        if self.trouble is not None:
            where = "is kept in memory only"
            if self._spare is not None and not self.unsaved:
                where = f"waits in {self._spare.where} until the store takes it"
            said.append(f"What was played last ({len(self)} events) {where}: {self.trouble}")
        return " ".join(said) or None

    def put(self, *items: Item) -> bool:
        self._items.extend(items)
        try:
            taken = self._deliver(hasty=True)
        except StoreError:
            if self._spare is not None and self._spare.put(self._items[self._saved :]):
                self._saved = len(self._items)
            return not self.unsaved
        self._tell(taken)
        return True

    def flush(self) -> None:
        self._tell(self._deliver(hasty=False))

    def try_again(self) -> None:
        if self._items:
            self.put()

    def settle(self) -> None:
        pass

    def waiting(self, target: str) -> tuple[Item, ...]:
        return tuple(item for item in self._items if item.target == target)

    def go_on(self, target: str) -> None:
        pass

    def drop(self, target: str) -> None:
        self._saved = sum(item.target != target for item in self._items[: self._saved])
        self._items = [item for item in self._items if item.target != target]
        if self._spare is not None:
            self._spare.drop(target)
        if not self._items:
            self.trouble = None

    def close(self) -> None:
        try:
            self.flush()
        except ContinuedElsewhere:
            raise
        except StoreError:
            if self.unsaved:
                raise
        if self._spare is not None:
            self._spare.close()

    def _deliver(self, hasty: bool) -> frozenset[tuple[str, str]]:
        """Write what waits; the lines that another copy has gone on with."""
        if not self._items:
            return frozenset()
        try:
            taken = deliver(self._connections, self._items, hasty=hasty)
        except StoreError as error:
            self.trouble = error
            raise
        self._items, self.trouble = [], None
        if self._saved and self._spare is not None:
            self._spare.clear()
        self._saved = 0
        return taken

    def _tell(self, taken: frozenset[tuple[str, str]]) -> None:
        if taken:
            raise taken_error(min(taken)[0], self._connections.place.name)
