# SPDX-License-Identifier: MIT
"""The engraver of a running game: one Verovio toolkit, and what it has drawn lately."""

from __future__ import annotations

from functools import lru_cache
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING

from game.engraving.drawing import GRAND_HEIGHT, Engraving
from game.engraving.ghost import Colour, Ghost
from game.engraving.marks import Mark
from game.engraving.surface import overlay, rasterised, render
from game.engraving.svg import Frame, painted
from game.engraving.verovio_svg import Typesetter
from game.levels import Prompt

if TYPE_CHECKING:
    import pygame

_SMALLEST = 3
_CARD_MARGIN = 0.5  # staff spaces


class Engraver:
    """Stateful: owns a Verovio toolkit, made at the first engraving, and caches of its work.

    Surfaces that it hands out are shared: blit them, do not draw on them. For one thread only.

    Args:
        resources: folder of Verovio's fonts; None for those inside its package.
    """

    def __init__(self, resources: Path | None = None) -> None:
        self._resources = resources
        self._typesetter: Typesetter | None = None
        self.engrave = lru_cache(maxsize=128)(self._engrave)
        self._surfaces = lru_cache(maxsize=6)(self._surface)
        self._overlays = lru_cache(maxsize=4)(self._overlay)
        self._cards = lru_cache(maxsize=24)(self._card)

    def prepare(self, prompt: Prompt, space_px: int, ink: Colour) -> None:
        """Draw what :meth:`surface` will be asked for, so that it comes at once.

        Raises:
            EngravingError: Verovio is missing or broken.
        """
        self._surfaces(prompt, space_px, ink)

    def surface(self, prompt: Prompt, space_px: int, ink: Colour) -> pygame.Surface:
        """A prompt in pixels; see :func:`render`.

        Raises:
            EngravingError: Verovio is missing or broken.
        """
        return self._surfaces(prompt, space_px, ink)

    def overlay(
        self,
        prompt: Prompt,
        space_px: int,
        marks: tuple[Mark, ...],
        ghosts: tuple[Ghost, ...],
    ) -> pygame.Surface:
        """Marks and ghosts alone, of the size of :meth:`surface`."""
        return self._overlays(prompt, space_px, marks, ghosts)

    def frame(self, prompt: Prompt, space_px: int) -> Frame:
        """The way from the drawing to the pixels of :meth:`surface`."""
        return Frame(space_px, self.engrave(prompt).right)

    def staff_middle(self, prompt: Prompt, space_px: int) -> int:
        """The row of :meth:`surface` halfway between the staves; for no prompt another."""
        return self.frame(prompt, space_px).middle

    def card(
        self,
        prompt: Prompt,
        room: tuple[int, int],
        ink: Colour,
        marks: tuple[Mark, ...] = (),
        ghosts: tuple[Ghost, ...] = (),
    ) -> pygame.Surface:
        """A prompt as large as the room (width, height in pixels) allows, without wide margins.

        The picture is no larger than the room, unless the room is too small to draw in.
        """
        return self._cards(prompt, tuple(room), ink, marks, ghosts)

    def _engrave(self, prompt: Prompt) -> Engraving:
        if self._typesetter is None:
            self._typesetter = Typesetter(self._resources)
        return self._typesetter.engrave(prompt)

    def _surface(self, prompt: Prompt, space_px: int, ink: Colour) -> pygame.Surface:
        return render(self.engrave(prompt), space_px, ink=ink)

    def _overlay(
        self,
        prompt: Prompt,
        space_px: int,
        marks: tuple[Mark, ...],
        ghosts: tuple[Ghost, ...],
    ) -> pygame.Surface:
        return overlay(self.engrave(prompt), space_px, marks, ghosts)

    def _card(
        self,
        prompt: Prompt,
        room: tuple[int, int],
        ink: Colour,
        marks: tuple[Mark, ...],
        ghosts: tuple[Ghost, ...],
    ) -> pygame.Surface:
        engraving = self.engrave(prompt)
        items = painted(engraving, ink, marks, ghosts)
        above = _CARD_MARGIN - min(one.item.box[1] for one in items)
        below = _CARD_MARGIN + max(one.item.box[3] for one in items) - GRAND_HEIGHT
        width, height = room
        space = max(_SMALLEST, ceil(max(room) / 10))
        while space > _SMALLEST:
            frame = Frame(space, engraving.right, above, below)
            if frame.size[0] <= width and frame.size[1] <= height:
                break
            space -= 1
        return rasterised(items, Frame(space, engraving.right, above, below))
