# SPDX-License-Identifier: MIT
"""A prompt that shows what a level is about."""

from __future__ import annotations

from functools import lru_cache

from game.levels import Compass, Level, Prompt, deal
from game.notation import ledger_lines


def _telling(prompt: Prompt) -> int:
    """How much a prompt shows of what a level is about: ledger lines, signs, signature."""
    ledgers = sum(abs(ledger_lines(note.position)) for note in prompt.notes)
    signs = sum(note.sign is not None for note in prompt.notes)
    return ledgers + 2 * signs + abs(prompt.signature.fifths)


@lru_cache(maxsize=8)
def example(level: Level, compass: Compass) -> Prompt:
    """The most telling of the level's first prompts; dealt once, not at every drawing."""
    return max(deal(level, 3, 12, compass), key=_telling)
