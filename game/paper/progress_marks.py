# SPDX-License-Identifier: MIT
"""The example of a misread as it is drawn: the note that was missed, and what was played."""

from __future__ import annotations

from game.engraving import Ghost, Mark, ghost_for
from game.engraving.ghost import Colour
from game.reader import Example, spelled


def example_marks(example: Example, colour: Colour) -> tuple[tuple[Mark, ...], tuple[Ghost, ...]]:
    """A ring around the note, and the ghost of the key that was pressed."""
    prompt, note = example.prompt, example.note
    played = spelled(prompt, note, example.played, example.read)
    ghost = ghost_for(prompt, note, played, colour=colour)
    return (Mark(note.id, "wrong", colour),), (ghost,)
