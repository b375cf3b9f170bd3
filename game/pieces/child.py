# SPDX-License-Identifier: MIT
"""The process that reads a piece: ``python -m game.pieces.child``, begun by :mod:`.loading`.

Files come from anywhere, and what reads them is large: some make Verovio abort, or would take all
memory or time. That may end a process that holds nothing else. It answers on its standard output
with a pickled pair: ``piece`` and a :class:`Piece`; ``refused`` and the reason; ``unread`` or
``empty`` and "", where the reason is what Verovio wrote to the standard error; ``memory`` or
``strange`` and "".
"""

from __future__ import annotations

import json
import os
import pickle
import sys
from pathlib import Path

from game.engraving.convert import to_mei
from game.pieces.files import read_text
from game.pieces.piece import Piece, PieceError
from game.pieces.reading import read_piece

# Seconds of a processor: at least and at most; and bytes for one more, a fifth of what it reads.
_LEAST_S, _MOST_S = 8, 40
_ABC_PER_S, _OTHERS_PER_S = 1_000, 200_000


def _answer(path: Path, part: str | None, number: int | None) -> tuple[str, Piece | str]:
    given = read_text(path)
    more_s = len(given.text) // (_ABC_PER_S if given.kind == "abc" else _OTHERS_PER_S)
    _limit("CPU", min(_MOST_S, _LEAST_S + more_s))
    if given.kind == "abc":
        from game.pieces.abc import as_musicxml

        given, number = as_musicxml(given, number), None
    try:
        mei = to_mei(given.text, given.kind)
    except ImportError as error:
        raise PieceError(f"Verovio is missing: {error}. Install Stavewise again.") from error
    if mei is None:
        return "unread", ""
    if "<note " not in mei:
        return "empty", ""
    return "piece", read_piece(mei, given, part, number, path.stem.replace("_", " "))


def _limit(kind: str, most: int) -> None:
    """Hold this process to so many bytes (``AS``) or seconds of a processor (``CPU``).

    Windows has no such limits, and macOS does not hold to that of memory: there the parent looks.
    """
    if sys.platform != "win32":
        import resource

        which = getattr(resource, f"RLIMIT_{kind}")
        hard = resource.getrlimit(which)[1]
        allowed = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(which, (allowed, hard))


def main(path: str, part: str | None, number: int | None, most_bytes: int) -> None:
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever else is printed
    if most_bytes:
        _limit("AS", most_bytes)
    _limit("CPU", _LEAST_S)
    answer: tuple[str, Piece | str]
    try:
        answer = _answer(Path(path), part, number)
    except PieceError as error:
        answer = "refused", str(error)
    except MemoryError:
        answer = "memory", ""
    except Exception:  # whatever a file holds, its reader learns that the file is at fault
        answer = "strange", ""
    with out:
        pickle.dump(answer, out)


if __name__ == "__main__":
    main(*json.loads(sys.argv[1]))
