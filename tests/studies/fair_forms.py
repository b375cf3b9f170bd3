# SPDX-License-Identifier: MIT
"""How equal the forms of a heat are, level by level: ``fair_forms.py [HEATS [split]]``.

With ``split`` they are of one keyboard that is split between two seats, at several keys.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

from builders import shipped
from heat_builders import halves, setup_of

from game.heats import Form, Forms, HeatSetup, form_of
from game.heats.forms import EVEN, gap
from game.levels import EmptyPool, Prompt, difficulty
from game.notation import ledger_lines


@dataclass(frozen=True)
class Unfairness:
    """The largest differences between the seats of a heat.

    Args:
        slots: of slots to answer, in all.
        total: of total difficulty from the mean of the seats, as a share of it.
        ahead: after any prompt, of the difficulty so far from that of the model, beyond the mean
            difficulty of the slots so far, in prompts of mean difficulty.
        slots_ahead: after any prompt, of slots so far from the model's.
        kinds: of notes of one kind (staff, signed or not, on ledger lines or not), as a share of
            all notes.
        alike: pairs of seats with one form.
    """

    slots: int
    total: float
    ahead: float
    slots_ahead: int
    kinds: float
    alike: int


def forms_of(setup: HeatSetup) -> list[Form]:
    """The forms of a heat's seats, in order."""
    forms: list[Form] = []
    for seat in setup.seats:
        forms.append(form_of(setup, seat, 0, forms))
    return forms


def unfairness(setup: HeatSetup, forms: Sequence[Form]) -> Unfairness:
    """What :class:`Unfairness` says, worked out from the prompts alone."""
    from dataclasses import replace

    model = form_of(replace(setup, forms=Forms.SAME), setup.seats[0])
    sums = [list(_so_far(form)) for form in forms]
    wanted = list(_so_far(model))
    totals, slots = [so[-1][1] for so in sums], [so[-1][0] for so in sums]
    mean = sum(totals) / len(totals)
    per_slot, per_prompt = wanted[-1][1] / wanted[-1][0], wanted[-1][1] / len(model)
    off = [
        (abs(s - ws), abs(d - wd - per_slot * (s - ws)) / per_prompt)
        for so in sums
        for (s, d), (ws, wd) in zip(so, wanted, strict=True)
    ]
    kinds = [_kinds(form) for form in forms]
    notes = max(sum(kind.values()) for kind in kinds)
    spreads = [
        max(kind[name] for kind in kinds) - min(kind[name] for kind in kinds)
        for name in set().union(*kinds)
    ]
    pairs = [(a, b) for index, a in enumerate(forms) for b in forms[:index]]
    return Unfairness(
        max(slots) - min(slots),
        max(abs(total - mean) for total in totals) / mean,
        max(ahead for _, ahead in off),
        max(more for more, _ in off),
        max(spreads) / notes,
        sum(all(map(Prompt.looks_like, a, b)) for a, b in pairs),
    )


def _so_far(form: Form) -> Iterator[tuple[int, float]]:
    """Slots to answer and difficulty, after each prompt."""
    slots = [sum(bool(slot.keys) for slot in prompt.slots) for prompt in form]
    costs = [difficulty(prompt) * count for prompt, count in zip(form, slots, strict=True)]
    return zip(accumulate(slots), accumulate(costs), strict=True)


def _kinds(form: Form) -> Counter[tuple[int, bool, bool]]:
    return Counter(
        (note.staff, note.sign is not None, ledger_lines(note.position) != 0)
        for prompt in form
        for note in prompt.notes
        if not note.tied
    )


def main(heats: int) -> None:
    """A line for each level."""
    print(f"{'':26}  slots  total %  ahead, prompts  slots ahead  kinds %  alike")
    for rung in shipped().rungs:
        worst = Unfairness(0, 0.0, 0.0, 0, 0.0, 0)
        for seed in range(heats):
            setup = setup_of(8, text=rung.text, prompts=rung.level.round.prompts, seed=seed)
            found = unfairness(setup, forms_of(setup))
            worst = Unfairness(
                *(max(getattr(worst, n), getattr(found, n)) for n in Unfairness.__annotations__)
            )
        print(
            f"{rung.level.id:26}  {worst.slots:5}  {100 * worst.total:7.2f}  {worst.ahead:14.2f}  "
            f"{worst.slots_ahead:11}  {100 * worst.kinds:7.1f}  {worst.alike:5}"
        )


SPLITS = (48, 55, 60, 64, 67, 72)


def split(heats: int) -> None:
    """A line for each level that can be dealt on both parts of a keyboard."""
    print(
        "How much harder one part is than the other, at most, in %: each by itself, and as dealt."
    )
    print(f"{'':26}" + "".join(f"{f'at {at}':>14}" for at in SPLITS))
    told: Counter[str] = Counter()
    for rung in shipped().rungs:
        cells = []
        for at in SPLITS:
            worst = [0.0, 0.0]
            try:
                for seed in range(heats):
                    for dealt in (1, 2):
                        setup = setup_of(
                            halves(at),
                            text=rung.text,
                            prompts=rung.level.round.prompts,
                            seed=seed,
                            dealt=dealt,
                        )
                        found = gap(forms_of(setup))
                        told[f"above the tolerance, dealt {dealt}"] += found > EVEN
                        worst[dealt - 1] = max(worst[dealt - 1], found)
            except EmptyPool:
                cells.append("–")
            else:
                told["heats"] += heats
                cells.append(f"{100 * worst[0]:.1f} {100 * worst[1]:5.2f}")
        if set(cells) != {"–"}:
            print(f"{rung.level.id:26}" + "".join(f"{cell:>14}" for cell in cells), flush=True)
    print(dict(told))


if __name__ == "__main__":
    heats = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    split(heats) if "split" in sys.argv else main(heats)
