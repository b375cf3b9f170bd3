# SPDX-License-Identifier: MIT
"""Rounds of the robot, scored by other processes: ``python tests/studies replays [HOW MANY]``.

Each round is written down as a record. Other processes, each with a PYTHONHASHSEED of its own, read
it and score it again; every slot, press, figure and pairing must be the same to the last bit.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from hashlib import sha256
from pathlib import Path

from builders import shipped
from places import MODULES
from robot_rounds import robot_record, robot_terms

from game.keyboards import RobotReader
from game.levels import Compass
from game.rounds import Round, Terms, day_seed
from game.session.records import SharedRound, check, parse_record, record_text

HASH_SEEDS = ("0", "1", "4711")
KINDS = (
    "counted", "known", "timed", "endless", "accuracy", "day", "smaller keyboard", "own tempo",
    "paused", "broken off",
)  # fmt: skip


def terms_of(level_id: str, kind: str, seed: int) -> Terms:
    """Terms of one kind of round."""
    more: dict[str, object] = {"prompts": 6}
    if kind == "timed":
        more = {"seconds": 20, "prompts": 80}
    elif kind == "endless":
        more = {"prompts": 40, "misses": 3}
    elif kind == "accuracy":
        more["untimed"] = True
    elif kind == "day":
        text = shipped().find(level_id).text
        day = f"2026-11-{seed % 28 + 1:02d}"
        return robot_terms(level_id, day_seed(day, text), prompts=6, day=day)
    elif kind == "known":
        more["known"] = True
    elif kind == "own tempo":
        more["tempo"] = 90.0
    elif kind == "smaller keyboard":
        keys = Compass.of_size(61)
        more |= {"compass_low": keys.low, "compass_high": keys.high}
    return robot_terms(level_id, seed, **more)


def rounds(number: int) -> list[tuple[str, SharedRound]]:
    """So many rounds with their kinds, over all levels of the ladder in turn."""
    made = []
    ladder = shipped().rungs
    for seed in range(number):
        rung = ladder[seed % len(ladder)]
        kinds = [kind for kind in KINDS if kind != "own tempo" or rung.level.time is not None]
        kind = kinds[seed % len(kinds)]
        if rung.level.time is not None and seed % 2:
            kind = "own tempo"
        robot = RobotReader(seed, speed_s=0.4 + seed % 5 / 4, error_rate=seed % 4 / 8)
        how = {"paused": {"pause_at": 2}, "broken off": {"stop_at": 3}}.get(kind, {})
        terms = terms_of(rung.level.id, kind, seed)
        made.append((kind, robot_record(terms, robot, **how)))
    return made


def outcome(ended: Round) -> str:
    """All that a round came to, in 64 characters."""
    told = (ended.results, ended.phrases, ended.score, ended.complete, ended.ended, ended.prompts)
    return sha256(repr(told).encode()).hexdigest()


def outcomes(folder: Path) -> list[str]:
    """What the records of a folder come to in this process."""
    found = []
    for path in sorted(folder.glob("*.json")):
        checked = check(parse_record(path.read_text(encoding="utf-8"), path.name), path.name)
        assert checked.agrees, (path.name, checked.differing)
        found.append(outcome(checked.round))
    return found


def write(made: list[tuple[str, SharedRound]], folder: Path) -> list[str]:
    """Write the records down; what they come to here."""
    for number, (_kind, shared) in enumerate(made):
        path = folder / f"{number:05d}.json"
        path.write_text(record_text(shared), encoding="utf-8")
    return [outcome(shared.terms.replay(shared.events)) for _kind, shared in made]


def elsewhere(folder: Path, hash_seed: str) -> list[str]:
    """What the records come to in another process under another hash seed."""
    code = "import sys, pathlib, replays; print(*replays.outcomes(pathlib.Path(sys.argv[1])))"
    done = subprocess.run(
        [sys.executable, "-c", code, str(folder)],
        env={**os.environ, "PYTHONPATH": MODULES, "PYTHONHASHSEED": hash_seed},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.split()


def main(number: int) -> int:
    start = time.monotonic()
    made = rounds(number)
    slots = sum(len(shared.terms.replay(shared.events).results) for _kind, shared in made)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        here = write(made, folder)
        size = sum(path.stat().st_size for path in folder.glob("*.json")) / number
        apart = {seed: elsewhere(folder, seed) for seed in HASH_SEEDS}
    levels = len({shared.terms.level_id for _kind, shared in made})
    print(f"{number} rounds of {slots} slots on {levels} levels, {size / 1000:.1f} kB a record")
    print(dict(Counter(kind for kind, _ in made)))
    differing = 0
    for seed, found in apart.items():
        wrong = sum(a != b for a, b in zip(here, found, strict=True))
        differing += wrong
        print(f"PYTHONHASHSEED={seed}: {wrong} differ")
    print(f"{time.monotonic() - start:.0f} s")
    return 1 if differing else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000))
