# SPDX-License-Identifier: MIT
"""Every kind of prompt, engraved and read back: the picture alone says the keys to be pressed."""

from __future__ import annotations

import pytest
from builders import shipped
from engraved import Music, Seen, drawn_page, read_page, verovio_page

from game.engraving import Typesetter, prompt_mei, svg_file
from game.engraving.layout import set_width
from game.levels import Level, Prompt, deal

LEVELS = [rung.level for rung in shipped().rungs]
SEEDS, EACH, DRAWN = (11, 1), 20, 5  # prompts of each seed, and how many of them are drawn

levels = pytest.mark.parametrize("level", LEVELS, ids=lambda level: level.id)


@pytest.fixture(scope="module")
def typesetter() -> Typesetter:
    return Typesetter()


def dealt(level: Level, each: int = EACH) -> list[Prompt]:
    return [prompt for seed in SEEDS for prompt in deal(level, seed, each)]


def meant(prompt: Prompt, hidden: bool = True) -> Music:
    """What a prompt is to say; without its hidden notes where those are not printed."""
    bars: list[list[tuple[Seen, ...]]] = [[] for _ in range(prompt.bars)]
    for slot in prompt.slots:
        notes = [note for note in slot.notes if hidden or note.id not in prompt.hidden]
        onset = None if slot.beat is None else slot.beat - slot.bar * (prompt.bar_quarters or 0)
        seen = [Seen(n.staff, n.key, n.tied, n.length, onset) for n in notes]
        if seen:
            bars[slot.bar].append(tuple(sorted(seen)))
    return Music(prompt.signature.fifths, prompt.metre, tuple(map(tuple, bars)))


def as_verovio_has_it(typesetter: Typesetter, prompt: Prompt) -> str:
    return typesetter.svg(prompt_mei(prompt), set_width(prompt))


@levels
def test_what_verovio_prints_says_the_keys(typesetter, level):
    for prompt in dealt(level):
        svg = as_verovio_has_it(typesetter, prompt)
        assert read_page(verovio_page(svg)) == meant(prompt), prompt


@levels
def test_what_is_shown_says_the_keys_and_nothing_that_is_hidden(typesetter, level):
    for prompt in dealt(level, DRAWN):
        svg = svg_file(typesetter.engrave(prompt))
        assert read_page(drawn_page(svg)) == meant(prompt, hidden=False), prompt
