# SPDX-License-Identifier: MIT
"""How many of a thing there are."""

from __future__ import annotations


def count(number: int, what: str, ending: str = "s") -> str:
    """Such as ``3 readers``; `ending` is that of the plural."""
    return f"{number} {what}{'' if number == 1 else ending}"
