# SPDX-License-Identifier: MIT
"""What a page draws, box by box: whether all of it has its room."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import combinations

import pygame
import pytest

from game.ui import theme
from game.ui.screen import Screen
from game.ui.widgets import Canvas, Control, Rect

_HAIR = 1  # pixels that two boxes may share


@dataclass
class Ink:
    """Something drawn: its pixels, and what it is."""

    box: Rect
    mask: pygame.mask.Mask
    corner: tuple[int, int]
    words: str
    control: str
    row: bool = False

    def touches(self, other: Ink) -> bool:
        """Whether they share ink."""
        if not self.box.colliderect(other.box):
            return False
        x, y = self.corner
        return self.mask.overlap(other.mask, (other.corner[0] - x, other.corner[1] - y)) is not None

    def __str__(self) -> str:
        return f"{self.words[:50]!r}" if self.words else f"a picture at {tuple(self.box)}"


@dataclass
class Drawn:
    """All that one drawing of a page left on the window."""

    size: tuple[int, int]
    inks: list[Ink] = field(default_factory=list)
    controls: list[Control] = field(default_factory=list)
    panels: list[Rect] = field(default_factory=list)
    cut: list[str] = field(default_factory=list)

    def faults(self, may_be_cut: tuple[str, ...] = ()) -> list[str]:
        """What has not its room.

        Args:
            may_be_cut: names and titles so long that they are shortened anywhere.
        """
        window = Rect(0, 0, *self.size)
        found = [f"{ink} leaves the window" for ink in self.inks if not window.contains(ink.box)]
        found += [
            f"{words[:60]!r} is cut"
            for words in self.cut
            if not any(name[:12] in words for name in may_be_cut)
        ]
        looked_at = ("words", "drawn")
        rects = {one.id: one.rect for one in self.controls if one.style not in looked_at}
        for name, rect in rects.items():
            if not window.contains(rect):
                found.append(f"the control {name} leaves the window")
            for ink in self.inks:
                inner = rect.inflate(-2 * _HAIR, -2 * _HAIR)
                if ink.control != name and ink.words and inner.colliderect(ink.box):
                    found.append(f"{ink} lies over the control {name}")
                elif ink.control == name and not rect.inflate(2, 2).contains(ink.box):
                    found.append(f"{ink} leaves its control {name}")
        for (one, here), (other, there) in combinations(rects.items(), 2):
            if here.inflate(-2 * _HAIR, -2 * _HAIR).colliderect(there):
                found.append(f"the controls {one} and {other} overlap")
        for panel in self.panels:
            if not window.contains(panel):
                found.append(f"a panel at {tuple(panel)} leaves the window")
            for name, rect in rects.items():
                if panel.colliderect(rect) and not panel.contains(rect):
                    found.append(f"the control {name} leaves the panel at {tuple(panel)}")
            for ink in self.inks:
                if ink.words and panel.colliderect(ink.box) and not panel.contains(ink.box):
                    found.append(f"{ink} crosses the edge of the panel at {tuple(panel)}")
        for one, other in combinations(self.inks, 2):
            if (one.words or other.words) and one.touches(other):
                found.append(f"{one} and {other} overlap")
        return found


class Unpainted(pygame.Surface):
    """A surface that takes no pixels, as large windows are slow to paint; it tells what it was
    given."""

    def __init__(self, size: tuple[int, int]) -> None:
        super().__init__(size)
        self.log: list[tuple[pygame.Surface, Rect]] = []

    def fill(self, colour, rect=None, *_more):
        return Rect(rect or self.get_rect()).clip(self.get_clip())

    def blit(self, source, dest, *_more, **_how):
        at = dest.topleft if isinstance(dest, Rect) else tuple(dest)
        whole = Rect(at, source.get_size())
        part = whole.clip(self.get_clip())
        if self.get_clip() != self.get_rect() and part.width and part.height:
            whole, source = part, source.subsurface(part.move(-at[0], -at[1]))
        if self.get_clip() == self.get_rect() or part.width:
            self.log.append((source, whole))
        return part


def drawn(screen: Screen, size: tuple[int, int]) -> Drawn:
    """Draw a page in a window of this size, and say what was drawn."""
    canvas = Canvas(Unpainted(size))
    log = canvas.surface.log
    screen.draw(canvas)  # what is measured once is there, as the pages of missed notes
    made = Drawn(size)
    with _watching(canvas, log, made):
        screen.draw(canvas)
    made.controls = [one for one in screen.controls if one.seen]
    return made


@contextmanager
def _watching(canvas: Canvas, log: list, made: Drawn) -> Iterator[None]:
    words, control = [""], [""]
    real = Canvas.text, Canvas.control, Canvas.panel, theme.fitted

    def text(self, said, at, **how):
        take()
        words[0] = said
        rect = real[0](self, said, at, **how)
        take()
        words[0] = ""
        return rect

    def take() -> None:
        for source, rect in log:
            box = source.get_bounding_rect()
            picture = not words[0] and source.get_flags() & pygame.SRCALPHA
            if box.width and (picture or words[0].strip(" ·.…›‹")):
                mask, corner = pygame.mask.from_surface(source, 100), rect.topleft
                made.inks.append(Ink(box.move(corner), mask, corner, words[0], control[0]))
        log.clear()

    def drawn_control(self, item, *, focused):
        take()
        control[0] = item.id
        real[1](self, item, focused=focused)
        take()
        control[0] = ""

    def panel(self, rect, *more, **how):
        made.panels.append(Rect(rect))
        return real[2](self, rect, *more, **how)

    def fitted(words, *how):
        short = real[3](words, *how)
        if short != words:
            made.cut.append(words)
        return short

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Canvas, "text", text)
        patch.setattr(Canvas, "control", drawn_control)
        patch.setattr(Canvas, "panel", panel)
        patch.setattr(theme, "fitted", fitted)
        log.clear()
        yield
        take()
