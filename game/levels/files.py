# SPDX-License-Identifier: MIT
"""Reads level files from a folder: the one part of levels/ that touches the disk."""

from __future__ import annotations

from pathlib import Path

from game.levels.check import Fault, LevelFaults, parse_level
from game.levels.ladder import Ladder, Rung


def read_level(path: Path) -> Rung:
    """Read one level file.

    Raises:
        LevelFaults: it cannot be read, is not UTF-8 or TOML, or breaks the format.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        fault = Fault(path.name, "the file", error.strerror or str(error), "a readable file")
        raise LevelFaults((fault,)) from None
    except UnicodeDecodeError as error:
        fault = Fault(path.name, f"byte {error.start}", "bytes that are not UTF-8", "UTF-8 text")
        raise LevelFaults((fault,)) from None
    return Rung(parse_level(text, path.name), text)


def level_files(folder: Path) -> tuple[Path, ...]:
    """The level files of a folder and its subfolders, in the order of the ladder (by path)."""
    return tuple(sorted(folder.rglob("*.toml")))


def read_ladder(*folders: Path) -> Ladder:
    """The ladder of all level files in these folders.

    A faulty file is left out and its faults are kept; of two levels with one id the first stays.
    """
    rungs: dict[str, Rung] = {}
    faults: list[Fault] = []
    for folder in folders:
        for path in level_files(folder):
            try:
                rung = read_level(path)
            except LevelFaults as error:
                faults.extend(error.faults)
                continue
            if rung.level.id in rungs:
                faults.append(
                    Fault(path.name, "id", repr(rung.level.id), "an id that no other level has")
                )
            else:
                rungs[rung.level.id] = rung
    return Ladder(tuple(rungs.values()), tuple(faults))
