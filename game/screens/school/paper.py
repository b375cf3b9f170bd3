# SPDX-License-Identifier: MIT
"""The paper that a teacher prints on: the last one chosen, else the usual one of the country."""

from __future__ import annotations

import locale
import os
from collections.abc import Mapping

from game.store import Store, StoreError

PAPER_NAMES = ("A4", "Letter")
_KEPT = "paper"
# Unicode CLDR, supplemental data, paperSize "US-Letter"; from memory.
_LETTER = frozenset(
    ["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"]
)


def usual_paper(environ: Mapping[str, str] = os.environ) -> str:
    """A4 or Letter, by the country of the language that is set (POSIX's order of variables)."""
    found = next((v for name in ("LC_ALL", "LC_PAPER", "LANG") if (v := environ.get(name))), "")
    found = found or locale.getlocale()[0] or ""
    country = found.partition("_")[2].partition(".")[0].partition("@")[0]
    return "Letter" if country in _LETTER or country == "United States" else "A4"  # Windows' name


def paper_of(store: Store) -> str:
    """What to print on."""
    try:
        kept = store.get_setting(_KEPT)
    except StoreError:
        kept = None
    return kept if kept in PAPER_NAMES else usual_paper()


def want_paper(store: Store, name: str) -> None:
    """Print on it from now on.

    Raises:
        StoreError: the choice cannot be kept.
    """
    store.set_setting(_KEPT, name)
