# SPDX-License-Identifier: MIT
"""How many rounds tell a counter from a recogniser: the table of the contributor's guide.

python tests/studies slope_rounds
"""

from __future__ import annotations

from random import Random

from simulated_readers import TimedReader, round_of

from game.reader import Counting, counting

TREBLE = range(-2, 10)  # C4 to G5, the level of the whole upper staff
ROUNDS = (1, 2, 3, 4, 6, 8, 12)
READERS = {
    "recognises, 0 ms": TimedReader(0),
    "recognises, 30 ms": TimedReader(30, (2, 6)),
    "counts, 200 ms, one landmark": TimedReader(200),
    "counts, 300 ms, one landmark": TimedReader(300),
    "counts, 300 ms, three landmarks": TimedReader(300, (-2, 2, 6)),
    "counts, 300 ms, uneven times": TimedReader(300, (-2, 2), spread=0.5),
}


def seen(reader: TimedReader, rounds: int, seed: int) -> Counting | None:
    """What so many rounds of 24 notes show of a reader."""
    rng = Random(seed)
    return counting(reader.timings(round_of(TREBLE, rng, 24 * rounds), rng))


def main() -> None:
    """Print the table: share of 200 readers told rightly, and wrongly."""
    print("| reader | " + " | ".join(f"{n} round{'s' * (n > 1)}" for n in ROUNDS) + " |")
    print("| --- " * (len(ROUNDS) + 1) + "|")
    for name, reader in READERS.items():
        truth = reader.ms_per_step > 100
        cells = []
        for rounds in ROUNDS:
            found = [seen(reader, rounds, seed) for seed in range(200)]
            said = [slope.counts for slope in found if slope is not None]
            wrong = said.count(not truth) / 200
            cells.append(f"{said.count(truth) / 200:.2f}" + f" ({wrong:.2f} wrong)" * (wrong > 0))
        print(f"| {name} | " + " | ".join(cells) + " |")


if __name__ == "__main__":
    main()
