# SPDX-License-Identifier: MIT
"""How hard a prompt is to read, in one number.

The ladder is in its order: in tenths, no level is easier than the one before it in its stage, and
no stage ends easier than the one before it ended. A stage may open on easier ground than the last
one closed on, since it opens with something new.

A slot costs what has to be taken in before its keys can go down. The weights are ours, in units
of "one note next to a landmark of the open staff"; what they are of is common practice of teachers.
"""

from __future__ import annotations

from game.levels.deal import deal
from game.levels.level import Level
from game.levels.prompt import LOWER, UPPER, Note, Prompt, Slot
from game.notation import Bar, ledger_lines

PER_STEP = 0.15  # from the nearest landmark
PER_LEDGER_LINE = 0.4  # beyond the first
SIGN = 1.1  # printed
UNSEEN = 1.6  # unsigned, after an earlier sign of its letter that holds here or does not
SIGNATURE_NOTE = 0.8  # altered by the signature
PER_SIGNATURE_SIGN = 0.15  # held in mind for the whole prompt
DOUBLE = 1.0  # more, for a double sign
RARE = 0.6  # more, for a white key under a black key's kind of name
OTHER_HAND = 0.25  # where both staves are read at once
SHAPE = 1.72  # two notes on one staff at once
PER_NOTE_MORE = 0.3  # in a shape of three notes or four
PER_LEAP_STEP = 0.03  # beyond a third, from the slot before
ASKED = {"": 0.0, "altered": 0.5, "major tonic": 1.3, "minor tonic": 1.6}  # not printed
LINE = 2.0  # music with a metre, which is read ahead
PER_LENGTH = 0.25  # of note lengths that are not a quarter
IN_TIME = 1.0  # for a whole level: to a beat that does not wait


def difficulty(prompt: Prompt) -> float:
    """The difficulty of a prompt: the mean of its slots' that ask for a key.

    Raises:
        ValueError: no slot asks for one.
    """
    costs = []
    bars = {note.id: bar for note, bar in prompt.walk()}
    shown = _altered_before(prompt)
    before: Slot | None = None
    for slot in prompt.slots:
        if slot.keys:
            costs.append(_slot(slot, before, bars, prompt, shown))
        before = slot
    if not costs:
        raise ValueError("a prompt without a key to press has no difficulty")
    return sum(costs) / len(costs)


def level_difficulty(level: Level, seeds: int = 4, prompts: int = 50) -> float:
    """The mean difficulty of a level's prompts, over the first ones of the seeds 0, 1 …"""
    dealt = [prompt for seed in range(seeds) for prompt in deal(level, seed, prompts)]
    mean = sum(map(difficulty, dealt)) / len(dealt)
    return mean if level.time is None else mean + IN_TIME


def _slot(
    slot: Slot,
    before: Slot | None,
    bars: dict[str, Bar],
    prompt: Prompt,
    shown: frozenset[str],
) -> float:
    notes = [note for note in slot.notes if not note.tied]
    # What goes down at once is taken in together: the hardest note, and something for each more.
    cost = max(_note(note, bars[note.id], unseen=note.id in shown) for note in notes)
    counts = [sum(note.staff == staff for note in notes) for staff in (UPPER, LOWER)]
    cost += sum(SHAPE + PER_NOTE_MORE * (count - 2) for count in counts if count > 1)
    cost += OTHER_HAND if all(counts) else 0
    cost += LINE if prompt.metre is not None else 0
    cost += PER_SIGNATURE_SIGN * abs(prompt.signature.fifths)
    cost += ASKED[slot.asks]
    if before is not None and not slot.asks:
        leap = min(abs(a.pitch.step - b.pitch.step) for a in notes for b in before.notes)
        cost += PER_LEAP_STEP * max(0, leap - 2)
    if any(note.length not in (None, 1.0) for note in notes):
        cost += PER_LENGTH
    return cost


def _note(note: Note, bar: Bar, *, unseen: bool) -> float:
    position, pitch = note.position, note.pitch
    nearest = min(abs(position - landmark) for landmark in note.clef.landmarks)
    cost = 1.0 + PER_STEP * nearest + PER_LEDGER_LINE * max(0, abs(ledger_lines(position)) - 1)
    if note.sign is not None:
        cost += SIGN
    elif unseen:
        cost += UNSEEN
    elif bar.signature.alter(pitch.letter):
        cost += SIGNATURE_NOTE
    if abs(pitch.alter) == 2:
        cost += DOUBLE
    elif pitch.rare:
        cost += RARE
    return cost


def _altered_before(prompt: Prompt) -> frozenset[str]:
    """Unsigned notes whose letter carried a sign earlier in the prompt: what holds must be told
    from what does not, in another octave or after the barline."""
    signed: set[str] = set()
    found = set()
    for note in prompt.notes:
        if note.sign is not None:
            signed.add(note.pitch.letter)
        elif note.pitch.letter in signed and not note.tied:
            found.add(note.id)
    return frozenset(found)
