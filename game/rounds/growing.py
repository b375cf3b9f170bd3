# SPDX-License-Identifier: MIT
"""A tuple that grows at its end without being copied each time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, TypeVar, overload

T = TypeVar("T")


class Growing(Sequence[T]):
    """A value like a tuple, with :meth:`then`. What grows out of another shares its beginning."""

    __slots__ = ("_length", "_node")

    def __init__(self) -> None:
        self._node: Any = None  # (all before it, the last one)
        self._length = 0

    def then(self, item: T) -> Growing[T]:
        """This, and one more."""
        grown: Growing[T] = Growing()
        grown._node, grown._length = (self._node, item), self._length + 1
        return grown

    def __len__(self) -> int:
        return self._length

    def __iter__(self) -> Iterator[T]:
        items, node = list[T](), self._node
        while node is not None:
            node, item = node
            items.append(item)
        return reversed(items)

    @overload
    def __getitem__(self, index: int) -> T: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[T, ...]: ...
    def __getitem__(self, index: Any) -> Any:
        return tuple(self)[index]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Growing | tuple) and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return repr(tuple(self))
