# SPDX-License-Identifier: MIT
"""Mutated pieces and level files: each is read or refused in one line, in time and in 500 MB.

    python tests/studies fuzz_pieces --seed 1 --pieces 500 --levels 500

prints what went wrong with the seed that makes it again (``--seed S --pieces 1``), and the worst
time and memory. A piece that is read must make levels that can be read.
"""

from __future__ import annotations

import argparse
import io
import re
import resource
import sys
import tempfile
import time
import zipfile
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from places import PIECES as PIECE_FOLDER
from places import ROOT

from game.levels import EmptyPool, LevelFaults, deal, read_level
from game.levels.check import parse_level
from game.pieces import PieceError, hands_of, load_piece, piece_level

BAD = {"empty", "no-notes", "not-music", "other", "plain-text", "torn", "utf-16"}  # from the start
PIECES = sorted(path for path in PIECE_FOLDER.iterdir() if path.stem not in BAD)
LEVELS = sorted((ROOT / "levels").rglob("*.toml"))
MOST_BYTES = 500 * 2**20
MOST_S = 30.0  # of a loaded machine; processor time is limited to 8 s
# fmt: off
NUMBERS = ["-1", "0", "1", "3", "7", "-3", "64", "255", "65536", "999999999",
           "99999999999999999999", "-2147483649", "0.5", "1e9", "nan", "", "x", "½", "1/0", "4/4"]
WORDS = ["", " ", "\t", "\n\n", "[", "]", "{", "}", "<", ">", "&", "&amp;", "&#0;", "\x00",
         "\ufeff", "\u202e", "|", "::", "(3", "<<", "Z9", "K:G", "[K:D]", "[V:2]", "true", "'",
         '"', "C#4", "H9", "="]
# fmt: on
# The words of the libraries underneath, which nobody should have to read.
NOT_PLAIN = re.compile(
    r"Traceback|Error\b|Exception|valid integer|Input should|instance of|datetime\.|codec"
    r"|terminate called|makes no sense|NoneType|0x[0-9a-f]{6}"
)


@dataclass
class Tally:
    """Stateful: what came of them."""

    outcomes: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    slowest_s: float = 0.0

    def took(self, name: str, seconds: float) -> None:
        self.slowest_s = max(self.slowest_s, seconds)
        if seconds > MOST_S:
            self.wrong.append(f"{name}: took {seconds:.0f} s")

    def said(self, name: str, message: str) -> None:
        if "\n" in message or NOT_PLAIN.search(message):
            self.wrong.append(f"{name}: {message}")


def mutated(text: str, chance: Random, others: list[str]) -> str:
    """The text with a few changes, mostly to numbers, so that it can be read for a while."""
    for _ in range(chance.choice([1, 1, 1, 2, 4])):
        numbers = [match.span() for match in re.finditer(r"(?<![\w.])-?\d+(?:\.\d+)?", text)]
        lines = text.splitlines(keepends=True) or [""]
        at, to = sorted(chance.randrange(len(text) + 1) for _ in range(2))
        to = min(to, at + chance.choice([1, 5, 60, 400]))
        match chance.choice([0, 0, 0, 0, 0, 0, 3, 4, 5, 6, 6, 7, 8, 8]):
            case 0 if numbers:
                first, last = chance.choice(numbers)
                text = text[:first] + chance.choice(NUMBERS) + text[last:]
            case 3:
                text = text[:at] + text[to:]
            case 4:
                text = text[:at] + text[at:to] * chance.choice([2, 3, 200]) + text[to:]
            case 5:
                text = text[:at] + chance.choice(WORDS) + text[at:]
            case 6:
                line = chance.randrange(len(lines))
                other = chance.choice(others).splitlines(keepends=True) or [""]
                text = "".join([*lines[:line], chance.choice(other), *lines[line:]])
            case 7:
                one, two = (chance.randrange(len(lines)) for _ in range(2))
                lines[one], lines[two] = lines[two], lines[one]
                text = "".join(lines)
            case _:
                words = re.findall(r"[A-Za-z][\w.-]+", text) or ["x"]
                old, new = chance.choice(words), chance.choice(words)
                text = text.replace(old, new, chance.choice([1, 1, -1]))
    return text


def mutated_piece(chance: Random) -> tuple[str, bytes]:
    """The name and content of a file."""
    path = chance.choice(PIECES)
    data = path.read_bytes()
    if path.suffix == ".mxl" and chance.random() < 0.5:
        file, sound = io.BytesIO(), zipfile.ZipFile(io.BytesIO(data))
        with sound, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            for name in sound.namelist():
                text = sound.read(name).decode("utf-8", "replace")
                archive.writestr(name, mutated(text, chance, [text]))
        return path.name, file.getvalue()
    if path.suffix == ".mxl" or chance.random() < 0.1:
        flipped = bytearray(data)
        for _ in range(chance.randint(1, 8)):
            flipped[chance.randrange(len(flipped))] = chance.randrange(256)
        return path.name, bytes(flipped)
    alike = [other for other in PIECES if other.suffix == path.suffix]
    text = data.decode("utf-8", "replace")
    others = [other.read_bytes().decode("utf-8", "replace") for other in alike]
    return path.name, mutated(text, chance, others).encode("utf-8", "surrogatepass")


def try_piece(seed: int, folder: Path, tally: Tally) -> None:
    name, content = mutated_piece(Random(f"piece {seed}"))
    path = folder / name
    path.write_bytes(content)
    label = f"piece --seed {seed} ({name})"
    begun = time.monotonic()
    try:
        piece = load_piece(path)
        tally.outcomes["pieces read"] += 1
        for hand in (None, *hands_of(piece)):
            for kind in ("bars", "hardest", "notes"):
                with suppress(PieceError):  # too little is left
                    parse_level(piece_level(piece, kind, hand), name)
    except PieceError as error:
        tally.outcomes["pieces refused"] += 1
        tally.said(label, str(error).removeprefix(str(path)))
    except LevelFaults as error:
        tally.wrong.append(f"{label}: makes no level: {error}")
    except Exception as error:
        tally.wrong.append(f"{label}: {type(error).__name__}: {error}")
    tally.took(label, time.monotonic() - begun)


def try_level(seed: int, folder: Path, tally: Tally) -> None:
    chance = Random(f"level {seed}")
    texts = [path.read_text(encoding="utf-8") for path in LEVELS]
    path = folder / "level.toml"
    text = mutated(chance.choice(texts), chance, texts)
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    label = f"level --seed {seed}"
    begun = time.monotonic()
    try:
        level = read_level(path).level
        tally.outcomes["levels read"] += 1
        with suppress(EmptyPool):
            deal(level, seed, 5)
    except LevelFaults as error:
        tally.outcomes["levels refused"] += 1
        for fault in error.faults:
            tally.said(label, str(fault))
    except Exception as error:
        tally.wrong.append(f"{label}: {type(error).__name__}: {error}")
    tally.took(label, time.monotonic() - begun)


def largest_bytes() -> int:
    """The most memory that this process or one of its children has held."""
    whose = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    unit = 1 if sys.platform == "darwin" else 1024
    return max(resource.getrusage(each).ru_maxrss for each in whose) * unit


def fuzz(seed: int, pieces: int, levels: int) -> Tally:
    """So many of each, from this seed on."""
    tally, before = Tally(), largest_bytes()
    with tempfile.TemporaryDirectory() as name:
        for at in range(pieces):
            try_piece(seed + at, Path(name), tally)
        for at in range(levels):
            try_level(seed + at, Path(name), tally)
    if largest_bytes() > max(before, MOST_BYTES):
        tally.wrong.append(f"{largest_bytes() >> 20} MB were held")
    return tally


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--pieces", type=int, default=500)
    parser.add_argument("--levels", type=int, default=500)
    args = parser.parse_args()
    found = fuzz(args.seed, args.pieces, args.levels)
    print(*found.wrong, sep="\n")
    print(dict(found.outcomes), f"slowest {found.slowest_s:.1f} s, most {largest_bytes() >> 20} MB")
    sys.exit(bool(found.wrong))
