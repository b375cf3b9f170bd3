# SPDX-License-Identifier: MIT
"""Readers' names, in any script."""

from __future__ import annotations

import unicodedata

LONGEST_NAME = 80
"""Characters, also of the form in which names compare."""


class NameRefused(ValueError):
    """A name that is taken or cannot be one.

    Args:
        name: it, shortened.
        what: what is wrong, without a full stop.
        mend: what to do about it, a sentence.
    """

    def __init__(self, name: str, what: str, mend: str) -> None:
        super().__init__(f"{name}: {what}. {mend}")
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
        raise NameRefused(f"{name!r}", "a name needs at least one letter", "Write a name.")
    if kinds & {"Cc", "Cs"}:
        raise NameRefused(
            f"{name!r}", "the name has a character that cannot be shown", "Leave it out."
        )
    if max(len(name), len(folded(name))) > LONGEST_NAME:
        raise NameRefused(
            f"{name[:20]}…", f"the name is longer than {LONGEST_NAME} characters", "Shorten it."
        )
    return name


def folded(name: str) -> str:
    """The name as it compares: capitals and compatible forms are one (Unicode NFKC, casefold)."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
