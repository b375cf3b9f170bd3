# SPDX-License-Identifier: MIT
"""How long the choice of a practice round takes: python tests/studies benchmarks/choosing [TIMES]

The reader has answered 100,000 times and knows every sign of the ladder; every level is reached.
Prints milliseconds of processor time for the choice, for dealing what it is made from, and for
writing it all out (`practice`, the two included).
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from random import Random

from game.files.resources import levels_folder
from game.levels import read_ladder
from game.reader import DAY_S, Answer, Knowledge, practice
from game.reader.practice import choose, pool_of

PRESSES = 100_000
NOW = 1.7e9


def main(times: int) -> None:
    """Measure, and print."""
    rungs = read_ladder(levels_folder()).rungs
    pools = [pool_of(rungs, seed) for seed in range(16)]
    signs = sorted({sign for pool in pools for sign in pool.signs}, key=lambda sign: sign.name)
    rng, knowledge = Random(1), Knowledge()
    for number in range(PRESSES):
        sign = signs[int(rng.random() * len(signs))]
        at = NOW - 60 * DAY_S * (1 - number / PRESSES)
        right = rng.random() < 0.85
        knowledge = knowledge.after(Answer(sign, right, 0.8 + rng.random() if right else None, at))
    print(f"{len(rungs)} levels, {len(signs)} signs, {PRESSES:,} answers; ms")
    print(f"{'':10}{'p50':>8}{'p90':>8}{'p99':>8}{'max':>8}")
    at = NOW + 600
    show("choosing", times, lambda n: choose(knowledge, pools[n % 16], at))
    show("dealing", times, lambda n: pool_of(rungs, n))
    show("practice", times, lambda n: practice(knowledge, rungs, n, at))


def show(name: str, times: int, do: Callable[[int], object]) -> None:
    """A row of the table."""
    found = []
    for number in range(times):
        start = time.process_time()
        do(number)
        found.append(1000 * (time.process_time() - start))
    found.sort()
    ranks = (found[min(times - 1, int(share * times))] for share in (0.5, 0.9, 0.99, 1.0))
    print(f"{name:10}" + "".join(f"{ms:8.1f}" for ms in ranks))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
