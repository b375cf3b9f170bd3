# SPDX-License-Identifier: MIT
"""Readers' names, in any script."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from itertools import count

LONGEST_NAME = 80
"""Characters, also of the form in which names compare."""


class NameRefused(ValueError):
    """A name that is taken or cannot be one.

    Args:
        name: it, shortened; empty where nothing was written.
        what: what is wrong, without a full stop.
        mend: what to do about it, a sentence.
    """

    def __init__(self, name: str, what: str, mend: str) -> None:
        about = f"{name}: {what}" if name else f"{what[0].upper()}{what[1:]}"
        super().__init__(f"{about}. {mend}")
        self.name = name
        self.what = what
        self.mend = mend


def clean_name(name: str) -> str:
    """The name as it is kept: composed (Unicode NFC), single spaces, none at the ends.

    Raises:
        NameRefused: it is empty, too long, or has characters that cannot be shown.
    """
    name = unicodedata.normalize("NFC", " ".join(name.split()))
    kinds = {unicodedata.category(character) for character in name}
    if not any(kind[0] in "LNSP" for kind in kinds):
        shown = f"{name!r}" if name else ""
        raise NameRefused(shown, "a name needs at least one letter", "Write a name.")
    if kinds & {"Cc", "Cs"}:
        raise NameRefused(
            f"{name!r}", "the name has a character that cannot be shown", "Leave it out."
        )
    if max(len(name), len(folded(name))) > LONGEST_NAME:
        raise NameRefused(
            f"{name[:20]}…", f"the name is longer than {LONGEST_NAME} characters", "Shorten it."
        )
    return name


def free_name(pattern: str, taken: Iterable[str]) -> str:
    """A name for whoever types none: the pattern with the first ``{number}`` that is not taken."""
    names = {folded(name) for name in taken}
    named = (pattern.format(number=number) for number in count(1))
    return next(name for name in named if folded(name) not in names)


def folded(name: str) -> str:
    """The name as it compares: capitals and compatible forms are one (Unicode NFKC, casefold)."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
