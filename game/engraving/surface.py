# SPDX-License-Identifier: MIT
"""Drawings as pygame surfaces, through SDL_image's SVG reader. Paper is transparent."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

from game.engraving.drawing import Engraving
from game.engraving.ghost import Colour, Ghost
from game.engraving.marks import Mark, Painted, feedback
from game.engraving.svg import ABOVE, BELOW, Frame, painted, svg_document

if TYPE_CHECKING:
    import pygame


def render(
    engraving: Engraving,
    space_px: int,
    *,
    ink: Colour,
    marks: Sequence[Mark] = (),
    ghosts: Sequence[Ghost] = (),
    above: float = ABOVE,
    below: float = BELOW,
) -> pygame.Surface:
    """A drawing in pixels, with per-pixel alpha.

    Args:
        engraving: what to draw.
        space_px: height of a staff space in whole pixels, 3 or more.
        ink: colour of the music.
        marks, ghosts: feedback to draw on top.
        above, below: room outside the staves, in staff spaces; the default holds seven
            ledger lines.

    Raises:
        ValueError: `space_px` is too small, or a mark or ghost names an unknown note.
    """
    frame = Frame(space_px, engraving.right, above, below)
    return rasterised(painted(engraving, ink, marks, ghosts), frame)


def overlay(
    engraving: Engraving,
    space_px: int,
    marks: Sequence[Mark],
    ghosts: Sequence[Ghost],
    *,
    above: float = ABOVE,
    below: float = BELOW,
) -> pygame.Surface:
    """Only the marks and ghosts, to be laid over :func:`render`'s picture: same size, quicker."""
    frame = Frame(space_px, engraving.right, above, below)
    return rasterised(feedback(engraving, marks, ghosts), frame)


def rasterised(items: Iterable[Painted], frame: Frame) -> pygame.Surface:
    """A drawing as a surface of the frame's size."""
    import pygame  # here: commands without a window must start without it

    items = tuple(items)
    text = svg_document(items, frame)
    surface = pygame.image.load(io.BytesIO(text.encode()), "prompt.svg")
    # In the display's own format a picture is laid on it about twenty times as quickly.
    with suppress(pygame.error):  # there is no display
        return surface.convert_alpha()
    return surface
