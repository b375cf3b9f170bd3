# SPDX-License-Identifier: MIT
"""What the JSON of the commands has in common."""

from __future__ import annotations

from typing import Literal, TypedDict

FORMAT: Literal[1] = 1
"""Version of the contract."""


class PrintedNote(TypedDict):
    """What is told of every note, of prompts and of pieces."""

    id: str
    spelling: str
    key: int
    staff: int
    clef: str
    sign: str | None
    tied: bool
