# SPDX-License-Identifier: MIT
"""The small shared set of things that screens draw."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pygame

from game.engraving import Engraver, Ghost, Mark
from game.keyboards import ComputerKeyboard, PianoKey, PianoLayout
from game.levels import Prompt
from game.ui import theme
from game.ui.theme import Colour, Metrics

if TYPE_CHECKING:
    from game.ui.stage import Stage

Rect = pygame.Rect


@dataclass
class Control:
    """Something to choose with mouse, computer keyboard or piano.

    Args:
        id: stays the same while the layout changes; the focus is kept by it.
        rect: where it is, pixels.
        label: its words.
        act: what choosing it does.
        style: ``button``, ``primary``, ``quiet``, ``row``, ``words`` that are only read, or of a
            contents page ``entry`` and ``chapter``; or ``drawn``.
        value: shown at the right of a row.
        adjust: for a setting, called with -1 or 1.
        mark: a small sign before a row's label.
        enabled: whether it can be chosen now; one that cannot is never in focus.
        why: what it waits for while it cannot, where that is not plain to see.
        before: where a click asks for the value before; known once it was drawn.
        view: the part of the window that its list has; None for what is in no list.
        draw: draws what is ``drawn``.
    """

    id: str
    rect: Rect
    label: str
    act: Callable[[], None]
    style: str = "button"
    value: str = ""
    adjust: Callable[[int], None] | None = None
    mark: str = ""
    enabled: bool = True
    why: str = ""
    before: Rect = field(default_factory=lambda: Rect(0, 0, 0, 0))
    view: Rect | None = None
    draw: Callable[[Canvas, Rect], None] = lambda _canvas, _rect: None

    @property
    def seen(self) -> bool:
        """Whether its list is scrolled so that it is in view; of one that is higher than the list,
        whether some of it is."""
        view, rect = self.view, self.rect
        if view is not None and rect.height > view.height:
            return rect.top < view.bottom and rect.bottom > view.top
        return view is None or (view.top <= rect.top and rect.bottom <= view.bottom)


class Canvas:
    """Stateful: the window's surface with the metrics of its size, and ways to draw on it."""

    def __init__(
        self,
        surface: pygame.Surface,
        metrics: Metrics | None = None,
        flip: Callable[[], None] | None = None,
    ) -> None:
        self.surface = surface
        self._flip = flip
        self.metrics = metrics or Metrics(*surface.get_size())
        self.px = self.metrics.px
        self.width, self.height = surface.get_size()
        self.narrow = self.width < self.px(1000)  # what stands side by side has no room for it

    def flip(self) -> None:
        """Bring what was drawn to the screen."""
        (self._flip or pygame.display.flip)()

    def clear(self) -> None:
        """A blank sheet."""
        self.surface.fill(theme.PAPER)

    def text(
        self,
        words: str,
        at: tuple[int, int],
        *,
        size: float = 18,
        face: str = "text",
        colour: Colour = theme.INK,
        anchor: str = "topleft",
        width: int | None = None,
    ) -> Rect:
        """One line of text; `anchor` names the point of it that stands at `at`."""
        pixels = self.px(size)
        if width is not None:
            words = theme.fitted(words, face, pixels, width)
        picture = theme.text_surface(words, face, pixels, colour)
        rect = picture.get_rect(**{anchor: at})
        self.surface.blit(picture, rect)
        return rect

    def paragraph(
        self,
        words: str,
        at: tuple[int, int],
        width: int,
        *,
        size: float = 18,
        face: str = "text",
        colour: Colour = theme.INK,
    ) -> int:
        """Wrapped text; returns the y below it."""
        pixels = self.px(size)
        x, y = at
        for line in theme.wrapped(words, face, pixels, width):
            self.text(line, (x, y), size=size, face=face, colour=colour)
            y += round(theme.line_height(face, pixels) * 1.08)
        return y

    def centred(
        self,
        words: str,
        at: tuple[int, int],
        width: int,
        *,
        size: float = 18,
        face: str = "text",
        colour: Colour = theme.INK,
        up: bool = False,
    ) -> int:
        """Wrapped text, each line in the middle; it begins at a height, or (`up`) ends there.

        Returns: the y of its other end.
        """
        pixels, (x, y) = self.px(size), at
        lines, high = theme.wrapped(words, face, pixels, width), theme.line_height(face, pixels)
        top = y - high * len(lines) if up else y
        for number, line in enumerate(lines):
            where = x, top + number * high
            self.text(line, where, size=size, face=face, colour=colour, anchor="midtop")
        return top if up else top + high * len(lines)

    def rule(self, x: int, y: int, width: int, colour: Colour = theme.RULE) -> None:
        """A thin horizontal line."""
        self.surface.fill(colour, Rect(x, y, width, max(1, self.px(1))))

    def panel(self, rect: Rect, fill: Colour = theme.CARD, edge: Colour = theme.RULE) -> None:
        """A sheet laid on the paper."""
        pygame.draw.rect(self.surface, fill, rect)
        pygame.draw.rect(self.surface, edge, rect, max(1, self.px(1)))

    def control(self, control: Control, *, focused: bool) -> None:
        """A control as its style asks; the focused one has a bar at its left and a frame."""
        if control.style == "drawn":
            control.draw(self, control.rect)
        elif control.style == "chapter":
            self._chapter(control, focused=focused)
        elif control.style == "words":
            self._words(control)
        elif control.style in ("row", "entry"):
            self._row(control, focused=focused)
        else:
            self._button(control, focused=focused)

    def _button(self, control: Control, *, focused: bool) -> None:
        rect, quiet = control.rect, control.style == "quiet"
        primary = control.style == "primary" and control.enabled
        fill = theme.INK if primary else theme.CARD
        colour = theme.PAPER if primary else theme.INK if control.enabled else theme.MUTED
        if not (quiet or control.enabled):
            self._dashed(rect)
        elif not quiet:
            pygame.draw.rect(self.surface, fill, rect)
            pygame.draw.rect(
                self.surface, theme.INK if primary else theme.MUTED, rect, max(1, self.px(1))
            )
        if focused:
            frame = rect.inflate(self.px(8), self.px(8))
            pygame.draw.rect(self.surface, theme.ACCENT, frame, max(2, self.px(2.5)))
        self.text(
            control.label,
            rect.center,
            size=16 if quiet else 18,
            face="strong" if control.enabled else "text",
            colour=theme.MUTED if quiet and not focused else colour,
            anchor="center",
            width=rect.width - self.px(12),
        )

    def _dashed(self, rect: Rect) -> None:
        """The frame of a button that cannot be chosen: broken, around nothing."""
        pen, dash = max(1, self.px(1)), self.px(5)
        for x in range(rect.left, rect.right, 2 * dash):
            wide = min(dash, rect.right - x)
            for y in (rect.top, rect.bottom - pen):
                self.surface.fill(theme.MUTED, Rect(x, y, wide, pen))
        for y in range(rect.top, rect.bottom, 2 * dash):
            high = min(dash, rect.bottom - y)
            for x in (rect.left, rect.right - pen):
                self.surface.fill(theme.MUTED, Rect(x, y, pen, high))

    def _chapter(self, control: Control, *, focused: bool) -> None:
        rect = control.rect
        if focused:
            pygame.draw.rect(self.surface, theme.ACCENT_WASH, rect)
        value = self.text(
            control.value,
            (rect.right - self.px(14), rect.centery),
            colour=theme.MUTED,
            anchor="midright",
        )
        width = value.left - rect.x - self.px(12)
        self.text(
            control.label,
            (rect.x, rect.centery),
            size=20,
            face="title",
            anchor="midleft",
            width=width,
        )

    def _words(self, control: Control) -> None:
        """What is only read: the label, and at the right what is said of it."""
        rect, end = control.rect, control.rect.right - self.px(14)
        if control.value:
            self.rule(rect.x, rect.bottom - self.px(1), end - rect.x)
            value = self.text(
                control.value, (end, rect.centery), size=17, colour=theme.MUTED, anchor="midright"
            )
            end = value.left - self.px(16)
        at = rect.x
        if control.mark:
            sign = (at, rect.centery)
            self.text(control.mark, sign, face="strong", colour=theme.WRONG, anchor="midleft")
        at += self.px(16) if control.mark else 0
        width = end - at
        self.text(control.label, (at, rect.centery), size=17, anchor="midleft", width=width)

    def _row(self, control: Control, *, focused: bool) -> None:
        rect, pad = control.rect, self.px(14)
        if focused:
            pygame.draw.rect(self.surface, theme.ACCENT_WASH, rect)
            self.surface.fill(theme.ACCENT, Rect(rect.x, rect.y, self.px(4), rect.height))
        x = rect.x + pad
        if control.mark or control.style == "entry":
            self.text(
                control.mark,
                (x, rect.centery),
                face="strong",
                colour=theme.ACCENT,
                anchor="midleft",
            )
            x += self.px(30)
        value_x = rect.right - pad
        if control.value:
            value = self.text(
                control.value,
                (rect.right - pad, rect.centery),
                face="strong" if control.adjust else "text",
                colour=theme.INK if control.adjust else theme.MUTED,
                anchor="midright",
                width=self._beside(control, value_x - x),
            )
            value_x = value.left
            if control.adjust:
                control.before = self._chevrons(rect, value, focused=focused)
                value_x = control.before.left
        label = self.text(
            control.label,
            (x, rect.centery),
            anchor="midleft",
            face="strong" if focused else "text",
            colour=theme.INK if control.enabled else theme.MUTED,
            width=value_x - x - self.px(12),
        )
        if control.style == "entry" and control.value:
            self._leader(label.right + self.px(10), value_x - self.px(10), label.bottom)

    def _beside(self, control: Control, room: int) -> int:
        """The width that a row has for its value: what the label leaves, or half of it."""
        label = theme.text_width(control.label, "strong", self.px(18)) + self.px(12)
        return max(room - label, room // 2) - (self.px(40) if control.adjust else 0)

    def _chevrons(self, rect: Rect, value: Rect, *, focused: bool) -> Rect:
        """The signs beside a value that can be changed; where a click asks for the one before."""
        colour = theme.ACCENT if focused else theme.MUTED
        before = self.text(
            "‹",
            (value.left - self.px(6), rect.centery),
            size=22,
            face="strong",
            colour=colour,
            anchor="midright",
        )
        self.text(
            "›",
            (value.right + self.px(4), rect.centery),
            size=22,
            face="strong",
            colour=colour,
            anchor="midleft",
        )
        left = max(before.left - self.px(10), rect.centerx + 1)  # the middle is the row's
        return Rect(left, rect.y, value.left + self.px(6) - left, rect.height)

    def _leader(self, start: int, end: int, bottom: int) -> None:
        """The dots of a contents page, from a title to its figure."""
        gap, dot = self.px(9), max(1, self.px(1.6))
        y = bottom - self.px(8)
        first = -(-start // gap) * gap
        for x in range(first, end, gap):
            self.surface.fill(theme.RULE, Rect(x, y, dot, dot))

    def sample(
        self,
        engraver: Engraver,
        prompt: Prompt,
        room: Rect,
        marks: tuple[Mark, ...] = (),
        ghosts: tuple[Ghost, ...] = (),
    ) -> None:
        """A prompt engraved as large as the room allows, in its middle."""
        picture = engraver.card(prompt, room.size, theme.INK, marks, ghosts)
        self.surface.blit(picture, picture.get_rect(center=room.center))

    def hints(
        self, pairs: list[tuple[str, str]], *, message: str = "", first: bool = False
    ) -> None:
        """The foot of a page: which keys do what, and at the right a quiet message. Where both have
        no room the message gives way, or (`first`) the keys do."""
        y, gap, pixels = self.height - self.px(22), self.px(20), self.px(15)
        self.rule(self.px(40), self.height - self.px(42), self.width - self.px(80))
        x, end = self.px(40), self.width - self.px(40)
        wides = [
            theme.text_width(key, "strong", pixels)
            + self.px(6)
            + theme.text_width(words, "text", pixels)
            for key, words in pairs
        ]
        wide = theme.text_width(message, "text", pixels)
        if message and (first or x + sum(wides) + gap * len(wides) + wide <= end):
            at = end, y
            said = self.text(
                message, at, size=15, colour=theme.MUTED, anchor="midright", width=end - x
            )
            end = said.left - gap
        for (key, words), wide in zip(pairs, wides, strict=True):
            if x + wide > end:
                break
            after = self.text(key, (x, y), size=15, face="strong", anchor="midleft").right
            where = after + self.px(6), y
            x = self.text(words, where, size=15, colour=theme.MUTED, anchor="midleft").right + gap


FIRST_SPAN = 48, 84
"""The keys that a newcomer is shown: more to the right of middle C, where small keyboards reach."""


class PianoView:
    """Stateful: the on-screen piano; remembers which keys are down and where it was drawn."""

    def __init__(self, low: int, high: int) -> None:
        self.low, self.high = low, high
        self.down: set[int] = set()
        self._layout: PianoLayout | None = None
        self._origin = (0, 0)
        self._drawn: tuple[PianoLayout, ComputerKeyboard | None] | None = None
        self._picture: pygame.Surface | None = None
        self._under_mouse: int | None = None  # the key that the mouse holds down

    def draw(self, canvas: Canvas, rect: Rect, computer: ComputerKeyboard | None = None) -> None:
        """Draw it; with `computer`, the letters of the computer keyboard on its keys.

        With all keys up it is drawn once, since a frame has better things to do; then those that
        are down, with the black keys that lie over them.
        """
        layout = PianoLayout(self.low, self.high, rect.width, rect.height)
        if layout != self._layout:  # a layout works out its keys once
            self._layout = layout
        self._origin = rect.topleft
        keys = sorted(self._layout.keys(), key=lambda key: key.black)
        if self._picture is None or self._drawn != (self._layout, computer):
            self._picture = pygame.Surface(rect.size)
            self._drawn = self._layout, computer
            up = Canvas(self._picture, canvas.metrics)
            for key in keys:
                _draw_key(up, key, (0, 0), computer, down=False)
        canvas.surface.blit(self._picture, rect)
        for key in keys:
            down = key.key in self.down
            if down or (key.black and not self.down.isdisjoint((key.key - 1, key.key + 1))):
                _draw_key(canvas, key, rect.topleft, computer, down=down)

    def place(self, canvas: Canvas) -> Rect:
        """Where it lies on the pages that are played on: at the foot, its keys as wide on each."""
        height = canvas.px(120)
        keys = self.high - self.low + 1
        width = min(canvas.width - canvas.px(40), round(height * 0.16 * keys))
        left, top = (canvas.width - width) // 2, canvas.height - height - canvas.px(12)
        return Rect(left, top, width, height)

    def point(self, canvas: Canvas, number: int) -> None:
        """An arrow down to a MIDI key where it was drawn last, and a frame around its free part."""
        key, px = self.rect_of(number), canvas.px
        if not key.width:
            return
        half, height, x, y = px(11), px(16), key.centerx, key.top - px(8)
        points = [(x - half, y - height), (x + half, y - height), (x, y)]
        pygame.draw.polygon(canvas.surface, theme.ACCENT, points)
        free = Rect(key.x, key.y + round(key.height * 0.66), key.width, round(key.height * 0.34))
        pygame.draw.rect(canvas.surface, theme.ACCENT, free, max(2, px(3)))

    def mouse(self, event: pygame.event.Event, stage: Stage) -> bool:
        """Play it with the mouse; whether the event was for it."""
        if event.type == pygame.MOUSEBUTTONUP and self._under_mouse is not None:
            stage.piano.release(self._under_mouse)
            self._under_mouse = None
            return True
        if event.type == pygame.MOUSEBUTTONDOWN and event.button == 1:
            self._under_mouse = self.key_at(event.pos)
            if self._under_mouse is not None:
                stage.piano.press(self._under_mouse, 80)
                return True
        return False

    def rect_of(self, key: int) -> Rect:
        """Where a key was drawn last; empty when it was not."""
        keys = self._layout.keys() if self._layout is not None else ()
        found = next((item for item in keys if item.key == key), None)
        if found is None:
            return Rect(self._origin, (0, 0))
        x, y = self._origin
        return Rect(found.x + x, found.y + y, found.width, found.height)

    def key_at(self, position: tuple[int, int]) -> int | None:
        """The MIDI key under the mouse."""
        if self._layout is None:
            return None
        return self._layout.key_at(position[0] - self._origin[0], position[1] - self._origin[1])


def _draw_key(
    canvas: Canvas,
    key: PianoKey,
    origin: tuple[int, int],
    computer: ComputerKeyboard | None,
    *,
    down: bool,
) -> None:
    area = Rect(key.x + origin[0], key.y + origin[1], key.width, key.height)
    fill = theme.INK if key.black else theme.CARD
    if down:
        fill = theme.MUTED  # neither of the colours of right and wrong
    pygame.draw.rect(canvas.surface, fill, area)
    pygame.draw.rect(canvas.surface, theme.MUTED, area, 1)
    if key.key == 60:
        middle = (area.centerx, area.bottom - canvas.px(9))
        pygame.draw.circle(canvas.surface, theme.MUTED, middle, max(2, canvas.px(3)))
    letter = computer.label_for(key.key) if computer is not None else None
    if letter:
        canvas.text(
            letter,
            (area.centerx, area.bottom - canvas.px(28)),
            size=13,
            colour=theme.PAPER if key.black or down else theme.MUTED,
            anchor="center",
        )
