# SPDX-License-Identifier: MIT
"""What a check of this computer has found."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

State = Literal["fine", "look", "broken"]


@dataclass(frozen=True)
class Finding:
    """One line about a part of the computer.

    Args:
        topic: the part.
        state: ``fine``; ``look`` (it works, but not as well as it could); ``broken``.
        what: what was found.
        mend: what to do about it; empty where it is fine.
    """

    topic: str
    state: State
    what: str
    mend: str = ""


Check = tuple[str, Callable[[], Finding]]
"""A part, and what looks at it. It may take seconds."""


def found(check: Check) -> Finding:
    """Do a check. One that fails in a way nobody foresaw has found something broken."""
    topic, look = check
    try:
        return look()
    except Exception as error:
        what = " ".join(f"{type(error).__name__}: {error}".split())
        return Finding(topic, "broken", what, "Report this with all the lines around it.")
