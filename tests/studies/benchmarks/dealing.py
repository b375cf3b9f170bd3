# SPDX-License-Identifier: MIT
"""How long 10,000 prompts of a level take: python tests/studies benchmarks/dealing [LEVEL …]

Prints seconds of processor time, the slowest level first.
"""

from __future__ import annotations

import sys
import time

from game.files.resources import levels_folder
from game.levels import deal, read_ladder

PROMPTS = 10_000


def main(names: list[str]) -> None:
    """Deal, and print the times."""
    rungs = [r for r in read_ladder(levels_folder()).rungs if not names or r.level.id in names]
    times = []
    for rung in rungs:
        start = time.process_time()
        deal(rung.level, 3, PROMPTS)
        times.append((time.process_time() - start, rung.level.id))
    for seconds, name in sorted(times, reverse=True):
        print(f"{seconds:6.2f}  {name}")


if __name__ == "__main__":
    main(sys.argv[1:])
