# SPDX-License-Identifier: MIT
"""Where items wait that cannot be written yet: for a file, in memory; for a server, on disk."""

from __future__ import annotations

from typing import ClassVar, Protocol

from game.store.connections import Connections
from game.store.delivery import Item, Taken, deliver, taken_error
from game.store.errors import StoreError


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
    def notice(self) -> str | None:
        """A sentence about what waits."""
        ...

    def put(self, *items: Item) -> bool:
        """Write items after those that wait; False when they are neither written nor on disk.

        Raises:
            Taken: another copy has gone on with their target; they are put with the refused.
        """
        ...

    def flush(self) -> None:
        """Write what waits.

        Raises:
            Taken: as :meth:`put`.
            StoreError: it cannot be written now, and goes on waiting.
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


class MemoryOutbox:
    """Stateful: an outbox for a store on this machine, which is hardly ever away."""

    durable: ClassVar[bool] = False

    def __init__(self, connections: Connections) -> None:
        self._connections = connections
        self._items: list[Item] = []
        self.trouble: StoreError | None = None

    def __len__(self) -> int:
        return len(self._items)

    @property
    def notice(self) -> str | None:
        if self.trouble is None:
            return None
        return f"What was played last ({len(self)} events) is kept in memory only: {self.trouble}"

    def put(self, *items: Item) -> bool:
        self._items.extend(items)
        try:
            self._deliver(hasty=True)
        except Taken:
            raise
        except StoreError:
            return False
        return True

    def flush(self) -> None:
        self._deliver(hasty=False)

    def settle(self) -> None:
        pass

    def waiting(self, target: str) -> tuple[Item, ...]:
        return tuple(item for item in self._items if item.target == target)

    def go_on(self, target: str) -> None:
        pass

    def drop(self, target: str) -> None:
        self._items = [item for item in self._items if item.target != target]
        if not self._items:
            self.trouble = None

    def close(self) -> None:
        self.flush()

    def _deliver(self, hasty: bool) -> None:
        if not self._items:
            return
        try:
            taken = deliver(self._connections, self._items, hasty=hasty)
        except StoreError as error:
            self.trouble = error
            raise
        self._items, self.trouble = [], None
        if taken:
            raise taken_error(min(taken)[0], self._connections.place.name)
