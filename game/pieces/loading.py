# SPDX-License-Identifier: MIT
"""A piece from a file, read in a process of its own: see :mod:`game.pieces.child`."""

from __future__ import annotations

import json
import os
import pickle
import re
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryFile
from time import monotonic

from game.pieces.piece import Piece, PieceError

MOST_MEMORY = 450 * 2**20
_PATIENCE_S = 120.0  # where the system limits no processor time
_TICK_S = 0.25
_LIMITS = sys.platform not in ("win32", "darwin")  # whether a process can limit its own memory
# What Verovio says that touches neither a pitch nor an onset.
_HARMLESS = re.compile(
    "slur|trill|wedge|hairpin|pedal|beam|[Ll]yric|syl|dynam|fermata|[Tt]empo|font|[Ff]ingering"
    "|MEI version found or not known|No header found|No data loaded|Error importing data"
    "|not fully supported yet|is ignored$|could not be matched"
)
_CHILD = [sys.executable, "-P", "-W", "ignore", "-m", "game.pieces.child"]
_OUT_OF_TIME = -getattr(signal, "SIGXCPU", 0) or None
_LESS = "export a part of the piece"
_AGAIN = "open it in a notation program and export it again as MusicXML"

Wait = Callable[[float], None]
"""Called now and then with the seconds that a reading has taken so far."""


def load_piece(
    path: Path, part: str | None = None, number: int | None = None, wait: Wait | None = None
) -> Piece:
    """Read a file of sheet music: MusicXML, compressed MusicXML, MEI, ABC or Humdrum.

    Args:
        path: the file.
        part: number or name of an instrument, or two of one staff each, ``1,2``.
        number: which piece of a file that holds several, from 1.
        wait: called now and then with the seconds that it has taken.

    Raises:
        PieceError: it cannot be read, or there is a choice to make; the message says which.
    """
    arguments = json.dumps([str(path), part, number, MOST_MEMORY if _LIMITS else 0])
    ended, out, log = _run(arguments, wait)
    complaints, worst = _complaints(log)
    try:
        kind, found = pickle.loads(out)
    except (EOFError, pickle.UnpicklingError):
        kind, found = ended or ("memory" if "bad_alloc" in log else "broken"), ""
    if isinstance(found, Piece):
        return replace(found, complaints=complaints)
    why = f": {found or worst}" if found or worst else ""
    reasons = {
        "refused": str(found),
        "empty": f"{path}: there is no note in it{why}; export the piece again",
        "unread": f"{path}: it cannot be read{why}; {_AGAIN}",
        "strange": f"{path}: there is something in it that makes no sense; {_AGAIN}",
        "broken": f"{path}: reading it broke off{why}; {_AGAIN}",
        "time": f"{path}: it takes too long to read; {_LESS}",
        "memory": f"{path}: it takes more than {MOST_MEMORY >> 20} MB of memory to read; {_LESS}",
    }
    raise PieceError(reasons[kind])


def _run(arguments: str, wait: Wait | None) -> tuple[str, bytes, str]:
    """Why the process was ended, or ""; its answer; and what was said on standard error."""
    begun, ended = monotonic(), ""
    home = str(Path(__file__).resolve().parents[2])  # where it finds this package, as we do
    paths = os.pathsep.join(filter(None, (home, os.environ.get("PYTHONPATH"))))
    with TemporaryFile() as out, TemporaryFile() as log:  # a pipe would have to be emptied
        child = subprocess.Popen(
            [*_CHILD, arguments],
            stdin=subprocess.DEVNULL,
            stdout=out,
            stderr=log,
            env={**os.environ, "PYTHONPATH": paths, "OPENBLAS_NUM_THREADS": "1"},
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
        try:
            while not ended:
                try:
                    child.wait(_TICK_S)
                    break
                except subprocess.TimeoutExpired:
                    taken = monotonic() - begun
                if taken > _PATIENCE_S:
                    ended = "time"
                elif not _LIMITS and _memory_of(child.pid) > MOST_MEMORY:
                    ended = "memory"
                elif wait is not None:
                    wait(taken)
        finally:
            if child.poll() is None:
                child.kill()
            status = child.wait()
        out.seek(0)
        log.seek(0)
        return (
            "time" if status == _OUT_OF_TIME else ended,
            out.read(),
            log.read().decode("utf-8", "replace"),
        )


def _memory_of(process: int) -> int:
    """Bytes of memory that a process holds; 0 once it has ended."""
    import psutil

    try:
        return int(psutil.Process(process).memory_info().rss)
    except psutil.Error:
        return 0


def _complaints(log: str) -> tuple[tuple[str, ...], str]:
    """What Verovio said, each once, and the worst of it in one line."""
    lines = dict.fromkeys(re.findall(r"^\[(\w+)\]\s*(.*\S)", log, re.MULTILINE))
    told = [line for line in lines if not _HARMLESS.search(line[1])]
    errors = [text for kind, text in told if kind == "Error"] or [text for _, text in told]
    broken = re.search(r"^Error on line:? (\d+):\s*(.*\S)", log, re.MULTILINE)  # of Humdrum
    worst = f"line {broken[1]}: {' '.join(broken[2].split())}" if broken else "".join(errors[:1])
    return tuple(text for _, text in told), worst.rstrip(".")
