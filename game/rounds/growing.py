# SPDX-License-Identifier: MIT
"""A tuple that grows at its end without being copied each time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any, TypeVar, overload

T = TypeVar("T")


class Growing(Sequence[T]):
    """A value like a tuple, with :meth:`then`. What grows out of one another shares one list, of
    which each knows its part; only a second thing put after the same value costs a copy."""

    __slots__ = ("_length", "_shared")

    def __init__(self) -> None:
        self._shared: list[T] = []
        self._length = 0

    def then(self, item: T) -> Growing[T]:
        """This, and one more."""
        grown: Growing[T] = Growing()
        grown._shared = self._shared if len(self._shared) == self._length else [*self]
        grown._shared.append(item)
        grown._length = self._length + 1
        return grown

    def __len__(self) -> int:
        return self._length

    def __iter__(self) -> Iterator[T]:
        return islice(self._shared, self._length)

    @overload
    def __getitem__(self, index: int) -> T: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[T, ...]: ...
    def __getitem__(self, index: Any) -> Any:
        if isinstance(index, slice):
            return tuple(self)[index]
        return self._shared[range(self._length)[index]]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Growing | tuple) and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return repr(tuple(self))
