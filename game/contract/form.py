# SPDX-License-Identifier: MIT
"""What the JSON of the commands has in common."""

from __future__ import annotations

from enum import Enum
from typing import Literal, TypedDict, TypeVar, cast

FORMAT: Literal[1] = 1
"""Version of the contract."""

_Shape = TypeVar("_Shape")


def told(shape: type[_Shape], of: object = None, **more: object) -> _Shape:
    """A shape of the contract, filled: each key from `more`, or else from the attribute of that
    name. An enumeration tells its value, a tuple becomes a list, and `format` is that of today."""
    more = {"format": FORMAT} | more
    keys = shape.__annotations__
    filled = {key: _plain(more[key] if key in more else getattr(of, key)) for key in keys}
    return cast(_Shape, filled)


def _plain(value: object) -> object:
    return value.value if isinstance(value, Enum) else [*value] if type(value) is tuple else value


class PrintedNote(TypedDict):
    """What is told of every note, of prompts and of pieces."""

    id: str
    spelling: str
    key: int
    staff: int
    clef: str
    sign: str | None
    tied: bool
