# SPDX-License-Identifier: MIT
"""How far a long piece of work is, for whoever waits at a terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from time import monotonic
from typing import TypeVar

T = TypeVar("T")

_PATIENCE_S, _AGAIN_S = 2.0, 0.5
_AT_ONCE = 100  # items between two looks at the clock


def watched(items: Sequence[T], what: str) -> Iterator[T]:
    """The items one by one. From two seconds on, a line on standard error says how far it is, where
    that is a terminal; in the end it is wiped away."""
    due, line = monotonic() + _PATIENCE_S, ""
    try:
        for number, item in enumerate(items):
            if number % _AT_ONCE == 0 and monotonic() >= due and sys.stderr.isatty():
                due = monotonic() + _AGAIN_S
                line = f"{what}: {100 * number // len(items)} % …"
                print(f"\r{line}", end="", file=sys.stderr, flush=True)
            yield item
    finally:
        if line:
            print(f"\r{' ' * len(line)}\r", end="", file=sys.stderr, flush=True)
