# SPDX-License-Identifier: MIT
"""How a share is written in per cent, on every screen and paper."""

from __future__ import annotations

from math import floor


def percent(share: float) -> str:
    """A share, 1 for all, in whole per cent: a half goes up, as readers expect of 62.5 (Python's
    own rounding goes to the even neighbour). 100 is kept for what is exactly that."""
    whole = floor(round(100 * share, 6) + 0.5)
    return str(99 if whole == 100 and share < 1 else whole)
