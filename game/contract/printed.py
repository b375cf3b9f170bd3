# SPDX-License-Identifier: MIT
"""The JSON of what is read: the ladder, and prompts dealt from it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal, TypedDict

from game.contract.form import PrintedNote, told
from game.levels import Level, Prompt, Slot, difficulty


class LevelJson(TypedDict):
    """A level: `limit_s` is d of the score, in seconds."""

    id: str
    title: str
    limit_s: float


class LevelsJson(TypedDict):
    """``levels --json``: the ladder, from the first level to the last."""

    format: Literal[1]
    levels: list[LevelJson]


class NoteJson(PrintedNote):
    """A note of a prompt.

    `id` is the note's ``xml:id`` in the prompt's MEI. `staff` is 1 (upper) or 2 (lower), `clef`
    ``treble``, ``bass`` or another. `sign` is the accidental printed at the note (``#`` ``b`` ``n``
    ``##`` ``bb``), or null where the signature or an earlier sign of the bar already says it.
    `tied` is true where it continues a tie: printed, and not pressed. `length` is in quarters,
    null in music without a metre.
    """

    length: float | None


class SlotJson(TypedDict):
    """The notes whose keys go down together.

    `bar` counts the bars of the prompt from 0; `beat` the quarters from its beginning, null in
    music without a metre. `asks` is ``altered``, ``major tonic`` or ``minor tonic`` where the note
    is asked for and not printed, and any octave answers; else it is empty. A slot of nothing but
    tied notes asks for no key.
    """

    notes: list[NoteJson]
    bar: int
    beat: float | None
    asks: str


class PromptJson(TypedDict):
    """A bar or a few to read.

    `signature` is -7 (seven flats) to 7 (seven sharps). `metre` is as printed, ``[3, 4]``, or
    null. `name` is what a level that is written out calls it, else empty. `difficulty` is the
    number that the ladder is ordered by.
    """

    mei: str
    signature: int
    metre: list[int] | None
    name: str
    difficulty: float
    slots: list[SlotJson]


class DealJson(TypedDict):
    """``deal --json``: the prompts of a level under a seed, in order."""

    format: Literal[1]
    level: str
    seed: int
    prompts: list[PromptJson]


def levels_json(levels: Iterable[Level]) -> LevelsJson:
    """The levels in order."""
    return told(LevelsJson, levels=[told(LevelJson, level) for level in levels])


def deal_json(level_id: str, seed: int, prompts: Sequence[Prompt], mei: Sequence[str]) -> DealJson:
    """A deal; `mei` is the engraving text of each prompt."""
    printed = [
        told(
            PromptJson,
            prompt,
            mei=text,
            signature=prompt.signature.fifths,
            difficulty=difficulty(prompt),
            slots=[_slot(slot) for slot in prompt.slots],
        )
        for prompt, text in zip(prompts, mei, strict=True)
    ]
    return told(DealJson, level=level_id, seed=seed, prompts=printed)


def _slot(slot: Slot) -> SlotJson:
    notes = [told(NoteJson, note, spelling=note.pitch.spelling) for note in slot.notes]
    return told(SlotJson, slot, notes=notes)
