# SPDX-License-Identifier: MIT
"""Simulated mistakes against explanations: the confusion matrix of the contributor's guide.

python tests/studies misread_matrix
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice

from builders import level, shipped
from simulated_readers import Mistake, mistakes_of

from game.levels import Level
from game.reader import Explanation, Habits, Misread, explain, readings

KINDS = tuple(kind for kind in Misread if kind is not Misread.UNKNOWN)
MISTAKES = 400  # of each kind, at most
MEDIAN_S = 1.2  # the reading time of the simulated readers


@dataclass
class Tally:
    """Stateful: what one kind of mistake was explained as.

    Args:
        apart: kind -> count, for mistakes whose key no other kind leads to (a slip apart, which
            its time tells; for a slip: no other kind at all).
        shared: likewise, for mistakes whose key another kind leads to as well.
        own_share: sum of the shares given to the true kind among `shared`.
        rivals: the other kinds that led to the key.
        note_found: how many explanations blamed the note that was misread.
    """

    apart: Counter[Misread] = field(default_factory=Counter)
    shared: Counter[Misread] = field(default_factory=Counter)
    own_share: float = 0.0
    rivals: Counter[Misread] = field(default_factory=Counter)
    note_found: int = 0

    def count(self, mistake: Mistake, kind: Misread, explained: Explanation) -> None:
        """Take in one mistake and what it was explained as."""
        self.note_found += explained.note_id == mistake.note.id
        others = rivals(mistake, kind)
        if others:
            self.shared[explained.kind] += 1
            self.own_share += explained.shares.get(kind, 0.0)
            self.rivals.update(others)
        else:
            self.apart[explained.kind] += 1

    def recall(self, kind: Misread) -> float:
        """Share of the mistakes that can be told apart which were named rightly."""
        return self.apart[kind] / self.apart.total()


def rivals(mistake: Mistake, kind: Misread) -> set[Misread]:
    """Other kinds that lead to the key of a mistake, at any note of its slot."""
    slot = mistake.prompt.slots[mistake.slot]
    found = {
        reading.kind
        for note in slot.notes
        for reading in readings(mistake.prompt, note, mistake.before)
        if reading.pitch.key == mistake.press.key
        # one double octave or whole-tone slip in twenty is no rival to speak of
        and reading.chance >= 0.1
    }
    return found - {kind} - ({Misread.SLIP} if kind is not Misread.SLIP else set())


def levels() -> list[Level]:
    """The shipped ladder, and chords."""
    triads = 'treble = "C4 to G5"\ntexture = "chord"\nshapes = [[3, 5], [3, 6], [4, 6]]\n'
    chords = [level(triads + f"signatures = {keys}") for keys in ("[0]", "[-2, 3]")]
    return [rung.level for rung in shipped().rungs] + chords


def tally(kind: Misread, *, most: int = MISTAKES, learns: bool = True) -> Tally:
    """What the mistakes of a reader with one kind of mistake are explained as.

    Args:
        kind: the mistake.
        most: how many to take.
        learns: whether habits grow from explanation to explanation, as in the game.
    """
    found, habits = Tally(), Habits()
    for mistake in islice(made(kind), most):
        explained = _explained(mistake, habits)
        habits = habits.after(explained) if learns else habits
        found.count(mistake, kind, explained)
    return found


def mixed(most: int = MISTAKES) -> dict[Misread, Tally]:
    """The same for one reader who makes every kind of mistake in turn, so that none is a habit."""
    tallies, habits = {kind: Tally() for kind in KINDS}, Habits()
    for turn in zip(*(islice(made(kind), most) for kind in KINDS), strict=False):
        for kind, mistake in zip(KINDS, turn, strict=True):
            explained = _explained(mistake, habits)
            habits = habits.after(explained)
            tallies[kind].count(mistake, kind, explained)
    return tallies


def made(kind: Misread) -> Iterator[Mistake]:
    """Mistakes of one kind, on all levels in turn."""
    return mistakes_of(kind, levels(), seed=1, rounds=20)


def _explained(mistake: Mistake, habits: Habits) -> Explanation:
    return explain(
        mistake.prompt,
        mistake.slot,
        mistake.press,
        habits,
        median_s=MEDIAN_S,
        before=mistake.before,
    )


def main() -> None:
    """Print the tables."""
    tallies = {kind: tally(kind) for kind in KINDS}
    print("| made | n | " + " | ".join(kind.value for kind in Misread) + " |")
    print("| --- " * (len(Misread) + 2) + "|")
    for kind, found in tallies.items():
        total = found.apart.total()
        cells = [f"{found.apart[other] / total:.2f}".replace("0.00", "·") for other in Misread]
        print(f"| {kind.value} | {total} | " + " | ".join(cells) + " |")
    print()
    print(
        "| made | recall | before any habit | all kinds in turn | shared keys "
        "| own share there, before any habit | shared with |"
    )
    print("| --- " * 7 + "|")
    in_turn = mixed()
    for kind, found in tallies.items():
        fresh = tally(kind, learns=False)
        shared, total = found.shared.total(), found.apart.total() + found.shared.total()
        shares = [f"{t.own_share / shared:.2f}" if shared else "-" for t in (found, fresh)]
        others = ", ".join(f"{other.value} {n}" for other, n in found.rivals.most_common(3))
        print(
            f"| {kind.value} | {found.recall(kind):.2f} | {fresh.recall(kind):.2f} "
            f"| {in_turn[kind].recall(kind):.2f} | {shared} of {total} "
            f"| {shares[0]}, {shares[1]} | {others} |"
        )


if __name__ == "__main__":
    main()
