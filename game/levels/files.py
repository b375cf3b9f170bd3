# SPDX-License-Identifier: MIT
"""Reads level files from a folder: the one part of levels/ that touches the disk."""

from __future__ import annotations

from pathlib import Path

from game.levels.check import Fault, LevelFaults, parse_level
from game.levels.ladder import Ladder, Rung

_MOST_BYTES = 2 * 2**20


def read_level(path: Path, name: str | None = None) -> Rung:
    """Read one level file.

    Args:
        path: where it is.
        name: what messages call it; None takes the file's own name.

    Raises:
        LevelFaults: it cannot be read, is not UTF-8 or TOML, or breaks the format.
    """
    name = name or path.name
    try:
        if path.exists() and not path.is_file():
            raise LevelFaults((Fault(name, "the file", "no file", "a file of text"),))
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
        text = data.decode("utf-8-sig")  # some editors put a mark in front
    except OSError as error:
        fault = Fault(name, "the file", error.strerror or str(error), "a readable file")
        raise LevelFaults((fault,)) from None
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        fault = Fault(name, f"line {line}", "letters that are not UTF-8", "text saved as UTF-8")
        raise LevelFaults((fault,)) from None
    if len(data) > _MOST_BYTES:
        size = f"{_MOST_BYTES >> 20} MB"
        fault = Fault(name, "the file", f"more than {size}", f"{size}, which is many levels' worth")
        raise LevelFaults((fault,))
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return Rung(parse_level(text, name), text)


def level_files(folder: Path) -> tuple[Path, ...]:
    """The level files of a folder and its subfolders, in the order of the ladder (by path)."""
    return tuple(sorted(folder.rglob("*.toml")))


def marks_of(*folders: Path) -> tuple[tuple[str, int, int], ...]:
    """Path, time and size of every level file: other ones when a file is added, mended or gone."""
    found = []
    for folder in folders:
        for path in level_files(folder):
            try:
                status = path.stat()
            except OSError:
                continue
            found.append((str(path), status.st_mtime_ns, status.st_size))
    return tuple(found)


def read_ladder(*folders: Path) -> Ladder:
    """The ladder of all level files in these folders; levels of a stage stand together.

    A faulty file is left out and its faults are kept; of two levels with one id the first stays.
    A folder that does not exist has no levels.
    """
    rungs: dict[str, Rung] = {}
    names: dict[str, str] = {}
    faults: list[Fault] = []
    for folder in folders:
        for path in level_files(folder):
            # One's own files are named in full: their folder is not where the game's are.
            name = path.relative_to(folder).as_posix() if folder == folders[0] else str(path)
            try:
                rung = read_level(path, name)
            except LevelFaults as error:
                faults.extend(error.faults)
                continue
            level_id = rung.level.id
            if level_id in rungs:
                allowed = f"an id that no other level has; {names[level_id]} has this one"
                faults.append(Fault(name, "id", repr(level_id), allowed))
            else:
                rungs[level_id], names[level_id] = rung, name
    stages = list(dict.fromkeys(rung.level.stage for rung in rungs.values()))
    ordered = sorted(rungs.values(), key=lambda rung: stages.index(rung.level.stage))
    return Ladder(tuple(ordered), tuple(faults))
