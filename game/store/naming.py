# SPDX-License-Identifier: MIT
"""Names that must differ: the rows' own rule, in words."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import exc

from game.reader.names import NameRefused


@contextmanager
def naming(name: str, who: str) -> Iterator[None]:
    """While a name is given: that it is taken shows in the rules that the rows break.

    Raises:
        NameRefused: `who` has it.
    """
    try:
        yield
    except exc.IntegrityError:
        raise NameRefused(
            f"{name!r}", f"{who} has this name already", "Choose another name."
        ) from None
