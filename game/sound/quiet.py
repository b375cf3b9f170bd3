# SPDX-License-Identifier: MIT
"""Keeps what C libraries print of a missing device or server off the terminal."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def quiet() -> Iterator[None]:
    """Nothing reaches standard error meanwhile, from any thread; keep it short."""
    try:
        kept = os.dup(2)
    except OSError:  # a windowed program may have none
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)
