# SPDX-License-Identifier: MIT
"""The example of a misread as it is drawn: the note that was missed, and what was played."""

from __future__ import annotations

from dataclasses import replace

from game.engraving import Ghost, Mark, ghost_for
from game.engraving.ghost import Colour
from game.reader import Example


def example_marks(example: Example, colour: Colour) -> tuple[tuple[Mark, ...], tuple[Ghost, ...]]:
    """A ring around the note, and the ghost of the key that was pressed."""
    prompt, note, read = example.prompt, example.note, example.read
    bar = prompt.bar_before(note)
    ghost = ghost_for(example.played, note, prompt.signature, bar, colour=colour)
    if read.key == example.played:  # what it was taken for is known: spelled so
        sign = bar.after(note.staff, note.pitch).sign(ghost.staff, read)
        ghost = replace(ghost, pitch=read, sign=sign)
    return (Mark(note.id, "wrong", colour),), (ghost,)
