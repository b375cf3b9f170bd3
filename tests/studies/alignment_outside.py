# SPDX-License-Identifier: MIT
"""Our alignment against a published one, on the same performances with planted slips.

The other is DualDTWNoteMatcher of the package parangonar (3.4.0), which its documentation names as
its best for a performance against its score, and which was made for recordings of whole pieces.
It knows matches, missed notes and extra presses and no wrong keys, so a wrong key here counts as
one missed note and one extra press in the truth and in both answers. Notes in each other's place
are left out: to it they are right and out of order, to us they are wrong.

`python tests/studies alignment_outside` prints the table of DEVELOPERS.md (parangonar, tqdm).
"""

from __future__ import annotations

import warnings
from collections import Counter
from collections.abc import Callable, Iterable
from functools import cache

import numpy as np
from performances import MANNERS, SLIPS, Performance, performances

from game.rounds.alignment import Outcome, align
from game.rounds.events import Press

Links = dict[str, Press]
SEEDS = range(5000, 5100)
PLANTED = tuple(slip for slip in SLIPS if slip != "swapped")
HELD_S = 0.2  # of no weight to either


def ours(truth: Performance) -> Links:
    """The right notes that our alignment finds, by id, with their presses."""
    return {
        note.expected.id: note.press
        for note in align(truth.expected, truth.presses, truth.beat_s).notes
        if note.press is not None and note.outcome is Outcome.RIGHT
    }


@cache
def matcher() -> Callable[..., list[dict[str, str]]]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from parangonar import DualDTWNoteMatcher
    return DualDTWNoteMatcher()


def theirs(truth: Performance) -> Links:
    """The same, of the other package."""
    score = np.array(
        [
            (note.onset / truth.beat_s, HELD_S / truth.beat_s, note.key, note.id, False)
            for note in truth.expected
        ],
        dtype=[
            ("onset_beat", "f4"),
            ("duration_beat", "f4"),
            ("pitch", "i4"),
            ("id", "U16"),
            ("is_grace", "?"),
        ],
    )
    heard = np.array(
        [(p.t, HELD_S, p.key, 64, str(place)) for place, p in enumerate(truth.presses)],
        dtype=[
            ("onset_sec", "f4"),
            ("duration_sec", "f4"),
            ("pitch", "i4"),
            ("velocity", "i4"),
            ("id", "U16"),
        ],
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = matcher()(score, heard)
    return {
        str(pair["score_id"]): truth.presses[int(pair["performance_id"])]
        for pair in found
        if pair["label"] == "match"
    }


def counts(truth: Performance, links: Links) -> Counter[str]:
    """Planted, found, and both, of right notes, missed notes and extra presses."""
    right = {(name, press) for name, press in truth.played.items() if truth.kinds[name] == "right"}
    linked = set(links.items())
    names = {note.id for note in truth.expected}
    planted = {
        "right": right,
        "missed": names - {name for name, _ in right},
        "extra": set(truth.presses) - {press for _, press in right},
    }
    found = {
        "right": linked,
        "missed": names - set(links),
        "extra": set(truth.presses) - set(links.values()),
    }
    counted: Counter[str] = Counter()
    for kind in planted:
        counted[f"planted {kind}"] = len(planted[kind])
        counted[f"found {kind}"] = len(found[kind])
        counted[f"both {kind}"] = len(planted[kind] & found[kind])
    return counted


def totals(find: Callable[[Performance], Links], truths: Iterable[Performance]) -> Counter[str]:
    total: Counter[str] = Counter()
    for truth in truths:
        total += counts(truth, find(truth))
    return total


def precision_recall(total: Counter[str], kind: str) -> tuple[float, float]:
    both = total[f"both {kind}"]
    return both / total[f"found {kind}"], both / total[f"planted {kind}"]


def main() -> None:
    kinds = ("right", "missed", "extra")
    print("| played | hands | whose | " + " | ".join(kinds) + " |")
    print("| --- | --- | --- |" + " --- |" * len(kinds))
    for name, manner in MANNERS.items():
        for hands in (1, 2):
            truths = list(performances(manner, SEEDS, hands=hands, slips=PLANTED))
            for whose, find in (("ours", ours), ("parangonar", theirs)):
                total = totals(find, truths)
                cells = ("{:.3f} / {:.3f}".format(*precision_recall(total, k)) for k in kinds)
                print(f"| {name} | {hands} | {whose} | " + " | ".join(cells) + " |")


if __name__ == "__main__":
    main()
