# SPDX-License-Identifier: MIT
"""What a command has to say, and how it fails."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Said:
    """The answer of a command.

    Args:
        out: for standard output.
        err: for standard error, line by line.
        status: the exit status: 0 done; 1 it failed or found a fault; 2 the command line
            itself is wrong.
    """

    out: str = ""
    err: tuple[str, ...] = ()
    status: int = 0


def as_json(value: Mapping[str, Any], err: tuple[str, ...] = (), status: int = 0) -> Said:
    """A value of :mod:`game.contract`, for programs."""
    return Said(json.dumps(value, ensure_ascii=False, indent=2), err, status)


class Failed(Exception):
    """The command cannot do what was asked; the message has a line for each thing wrong."""

    def __init__(self, message: str, status: int = 1) -> None:
        super().__init__(message)
        self.status = status


@contextmanager
def plainly(*kinds: type[Exception]) -> Iterator[None]:
    """Errors of these kinds carry a message for people, and become :class:`Failed`."""
    try:
        yield
    except kinds as error:
        raise Failed(str(error)) from error
