# SPDX-License-Identifier: MIT
"""Does the choice of practice work? Simulated readers learn under four ways to choose.

python tests/studies practice_bench [READERS [PLOT.svg]]

Readers (learning_readers.py) practise six minutes a day, in rounds, on the levels from the first
to the first ledger lines (30 signs), until nine signs in ten are fluent: recognised within
2.5 s with a probability of 0.75 or more a week after the last practice. The same readers practise
by

- **adaptive**: `choose` on a `Knowledge` fed by their answers, empty at first (no placement);
- **random**: prompts of the same pool, each as likely as another;
- **even**: the signs of the pool at random, each as likely as another, whereas the levels show
  some far more often; the hardest to beat;
- **ladder**: the rounds of each level in turn until it is passed; after the last the first again.

Prints the median minutes and notes, with the 95 % interval of the median, and the median of the
ratio to the adaptive choice, paired by reader, by bootstrap over readers. The plot needs
matplotlib, which the game does not.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from random import Random
from statistics import mean, median
from typing import Protocol

import numpy as np
from builders import shipped
from learning_readers import LearningReader, Setting

from game.levels import Prompt, Rung, deal
from game.notation import Clef
from game.reader import DAY_S, Answer, Knowledge, ReadingItem, signs_of
from game.reader.practice import SLOTS, Pool, choose, pool_of

TARGET = "ledger-one"
DAILY_S = 360.0
MOST_DAYS = 40
SHARE = 0.9
EPOCH = 1.7e9  # the simulated month begins at these seconds since 1970
SEEDS = 16  # of deals, which are made once and come again

SETTINGS = (
    Setting("power law, slow forgetting, no transfer", "power", 0.8, 0.0),
    Setting("power law, fast forgetting, much transfer", "power", 1.1, 0.3),
    Setting("exponential, slow forgetting, much transfer", "exponential", 0.7, 0.3),
    Setting("exponential, fast forgetting, no transfer", "exponential", 1.2, 0.0),
    Setting("power law, who knows the treble clef", "power", 0.8, 0.0, Clef.TREBLE),
    Setting("exponential, who knows the treble clef", "exponential", 0.7, 0.0, Clef.TREBLE),
)
Slot = Sequence[tuple[ReadingItem, bool, float]]  # of each note, whether right, and seconds


@dataclass(frozen=True)
class Ground:
    """What is practised: levels, pools dealt from them, and the signs in these."""

    rungs: tuple[Rung, ...]
    pools: tuple[Pool, ...]
    signs: tuple[ReadingItem, ...]


@cache
def ground(target: str = TARGET) -> Ground:
    """The levels up to one."""
    ladder = shipped().rungs
    ids = [rung.level.id for rung in ladder]
    rungs = ladder[: ids.index(target) + 1]
    pools = tuple(pool_of(rungs, seed) for seed in range(SEEDS))
    signs = sorted({sign for pool in pools for sign in pool.signs}, key=lambda sign: sign.name)
    return Ground(rungs, pools, tuple(signs))


@cache
def dealt(place: int, seed: int) -> tuple[Prompt, ...]:
    """A round of a level of the usual ground."""
    level = ground().rungs[place].level
    return deal(level, seed, level.round.prompts)


class Way(Protocol):
    """Stateful. A way to choose what is practised."""

    def round(self, now: float) -> Sequence[Prompt]:
        """The prompts of the next round."""

    def learn(self, slot: Slot, now: float) -> None:
        """Notice how a slot was answered."""


@dataclass
class Adaptive:
    """Stateful. The game's own choice."""

    seed: int
    over: Ground = field(default_factory=ground)
    knowledge: Knowledge = field(default_factory=Knowledge)

    def round(self, now: float) -> Sequence[Prompt]:
        self.seed += 1
        pool = self.over.pools[self.seed % SEEDS]
        chosen = choose(self.knowledge, pool, EPOCH + now).prompts
        return [pool.prompts[index][0] for index in chosen]

    def learn(self, slot: Slot, now: float) -> None:
        if all(right for _, right, _ in slot):
            for sign, _, t in slot:
                alone = t if len(slot) == 1 else None
                self.knowledge = self.knowledge.after(Answer(sign, True, alone, EPOCH + now))
        else:
            missed = next(sign for sign, right, _ in slot if not right)
            self.knowledge = self.knowledge.after(Answer(missed, False, None, EPOCH + now))


@dataclass
class AtRandom:
    """Stateful. Any prompt of the same pools."""

    seed: int

    def __post_init__(self) -> None:
        self.rng = Random(self.seed)

    def round(self, now: float) -> Sequence[Prompt]:
        self.seed += 1
        prompts = ground().pools[self.seed % SEEDS].prompts
        chosen: list[Prompt] = []
        while sum(len(prompt.slots) for prompt in chosen) < SLOTS:
            chosen.append(prompts[int(self.rng.random() * len(prompts))][0])
        return chosen

    def learn(self, slot: Slot, now: float) -> None:
        pass


@cache
def single(sign: ReadingItem) -> Prompt:
    """A prompt of this sign alone."""
    every = (prompt for pool in ground().pools for prompt, _ in pool.prompts)
    return next(p for p in every if len(p.notes) == 1 and sign in signs_of(p).values())


class Even(AtRandom):
    """Stateful. Any sign of the ground."""

    def round(self, now: float) -> Sequence[Prompt]:
        signs = ground().signs
        return [single(signs[int(self.rng.random() * len(signs))]) for _ in range(SLOTS)]


@dataclass
class LadderOrder:
    """Stateful. Level by level."""

    seed: int
    place: int = 0
    answers: list[tuple[bool, float]] = field(default_factory=list)

    def round(self, now: float) -> Sequence[Prompt]:
        level = ground().rungs[self.place].level
        times = [t for right, t in self.answers if right]
        if times:
            accuracy = len(times) / len(self.answers)
            passed = level.passed(accuracy, median(times))
            self.place = (self.place + passed) % len(ground().rungs)
        self.answers = []
        self.seed += 1
        return dealt(self.place, self.seed % SEEDS)

    def learn(self, slot: Slot, now: float) -> None:
        self.answers.append((all(right for _, right, _ in slot), sum(t for _, _, t in slot)))


WAYS: dict[str, Callable[[int], Way]] = {
    "adaptive": Adaptive,
    "random": AtRandom,
    "even": Even,
    "ladder": LadderOrder,
}


@dataclass(frozen=True)
class Outcome:
    """How a reader fared.

    Args:
        minutes: of practice until fluent; all of it for one who never was.
        notes: read in that time.
        fluent: whether it was reached.
        rounds: after each, minutes practised, share of signs fluent, and share of slots missed.
    """

    minutes: float
    notes: int
    fluent: bool
    rounds: tuple[tuple[float, float, float], ...]

    def missed(self, first: int | None = None) -> float:
        """Share of slots missed, in all rounds or in the first ones."""
        return mean(missed for _, _, missed in self.rounds[:first])


def simulate(
    way: Way,
    setting: Setting,
    seed: int,
    over: Ground | None = None,
    days: int = MOST_DAYS,
) -> Outcome:
    """A reader practises until fluent, or for so many days."""
    reader = LearningReader((over or ground()).signs, setting, seed)
    began, used, notes = reader.now, 0.0, 0
    rounds: list[tuple[float, float, float]] = []
    for day in range(days):
        reader.rest_until(max(reader.now, began + day * DAY_S))
        today = 0.0
        while today < DAILY_S:
            since, answered = reader.now, []
            for prompt in way.round(reader.now):
                signs = signs_of(prompt)
                for slot in prompt.slots:
                    read = [(signs[n.id], *reader.read(signs[n.id])) for n in slot.notes]
                    way.learn(read, reader.now)
                    answered.append(all(right for _, right, _ in read))
                    notes += len(read)
            reader.know()
            today += reader.now - since
            used += reader.now - since
            share = float(reader.fluent().mean())
            rounds.append((used / 60, share, 1 - mean(answered)))
            if share >= SHARE:
                return Outcome(used / 60, notes, True, tuple(rounds))
    return Outcome(used / 60, notes, False, tuple(rounds))


def interval(values: Sequence[float], seed: int = 1) -> tuple[float, float, float]:
    """The median with the ends of its 95 % interval, by 2000 bootstrap samples (Efron 1979)."""
    chance = np.random.default_rng(seed)
    sample = np.array(values)[chance.integers(len(values), size=(2000, len(values)))]
    low, high = np.quantile(np.median(sample, axis=1), (0.025, 0.975))
    return median(values), float(low), float(high)


def plot(curves: dict[tuple[str, str], list[Outcome]], file: Path) -> None:
    """Share of signs fluent against minutes, the mean of all readers, told apart by dashes."""
    import matplotlib

    matplotlib.use("svg")
    matplotlib.rcParams["svg.hashsalt"] = "practice"
    from matplotlib import pyplot

    figure, axes = pyplot.subplots(2, 3, figsize=(9, 5.2), sharey=True, layout="constrained")
    looks = {
        "adaptive": {"color": "black", "linewidth": 2.2},
        "random": {"color": "0.25", "linestyle": "--"},
        "even": {"color": "0.45", "linestyle": "-"},
        "ladder": {"color": "0.25", "linestyle": ":", "linewidth": 2},
    }
    for axis, setting in zip(axes.flat, SETTINGS, strict=True):
        end = 2.0 * median(o.minutes for o in curves[setting.name, "adaptive"])
        grid = np.linspace(0, end, 120)
        for name, look in looks.items():
            shares = [
                np.interp(grid, *zip(*[(m, share) for m, share, _ in o.rounds], strict=True))
                for o in curves[setting.name, name]
            ]
            axis.plot(grid, np.mean(shares, axis=0), label=name, **look)
        axis.axhline(SHARE, color="0.7", linewidth=0.8)
        axis.set_title(setting.name.replace(", ", ",\n", 1), fontsize=9)
    for axis in axes[1]:
        axis.set_xlabel("minutes of practice")
    for axis in axes[:, 0]:
        axis.set_ylabel("share of signs fluent")
    axes[0, 0].legend(frameon=False, fontsize=8)
    figure.savefig(file, metadata={"Date": None})


def one(run: tuple[str, Setting, int]) -> Outcome:
    """One reader's outcome, by one way in one setting."""
    name, setting, seed = run
    return simulate(WAYS[name](seed), setting, seed)


def main(readers: int, file: Path | None) -> None:
    """Print the table, and draw the plot."""
    curves: dict[tuple[str, str], list[Outcome]] = {}
    print("| readers | way | minutes | notes | / adaptive | fluent | missed |")
    print("| --- " * 7 + "|")
    ground()  # before the workers, which then have it too
    workers = ProcessPoolExecutor()
    for setting in SETTINGS:
        for name in WAYS:
            found = list(workers.map(one, [(name, setting, seed) for seed in range(readers)]))
            curves[setting.name, name] = found
            first = curves[setting.name, "adaptive"]
            ratio = interval([a.minutes / b.minutes for a, b in zip(found, first, strict=True)])
            minutes = interval([o.minutes for o in found])
            print(
                f"| {setting.name} | {name} | {minutes[0]:.0f} ({minutes[1]:.0f}–{minutes[2]:.0f})"
                f" | {median(o.notes for o in found):.0f}"
                f" | {ratio[0]:.2f} ({ratio[1]:.2f}–{ratio[2]:.2f})"
                f" | {mean(o.fluent for o in found):.2f}"
                f" | {mean(o.missed() for o in found):.3f} |",
                flush=True,
            )
    if file is not None:
        plot(curves, file)


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 60,
        Path(sys.argv[2]) if len(sys.argv) > 2 else None,
    )
