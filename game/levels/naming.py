# SPDX-License-Identifier: MIT
"""Key signatures to be named: only the signature is printed, and its notes are asked for.

First the notes that it alters, in the order in which they are printed, then the tonics of its
major and its minor key. Any octave answers; what was asked for is shown once it is found.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from random import Random

from game.levels.bag import Bag
from game.levels.prompt import UPPER, Note, Prompt, Slot
from game.levels.show import Question, Show
from game.notation import Bar, KeySignature, Pitch


def prompts(show: Show, rng: Random) -> Iterator[Prompt]:
    """Prompts without end, the signatures evenly."""
    bag = Bag(show.signatures, rng)
    room = max(sum(1 for _ in _asked(show, KeySignature(one))) for one in show.signatures)
    for index in count():
        signature = KeySignature(bag.draw())
        bar = Bar(signature)
        slots = []
        for number, (question, pitch) in enumerate(_asked(show, signature)):
            sign = bar.sign(UPPER, pitch)
            note = Note(f"p{index}s{number}n0", pitch, UPPER, show.clefs[0], sign)
            slots.append(Slot((note,), asks=question))
        yield Prompt(signature, tuple(slots), room=room, clefs=show.clefs)


def _asked(show: Show, signature: KeySignature) -> Iterator[tuple[Question, Pitch]]:
    clef = show.clefs[0]
    for question in show.asks:
        if question == "altered":
            for place in signature.places(clef):
                yield question, signature.pitch_at(clef.step_at(place))
            continue
        name = signature.major if question == "major tonic" else signature.minor
        tonic = Pitch.parse(f"{name}4")  # then where it stands inside the staff
        lowest = clef.bottom_line.step
        yield question, Pitch.at_step(lowest + (tonic.step - lowest) % 7, tonic.alter)
