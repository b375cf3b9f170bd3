# SPDX-License-Identifier: MIT
"""A seat's part of the projector's picture when all play together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import pygame

from game.rounds import Verdict
from game.screens.school.seat_staff import SeatStaff
from game.ui import theme
from game.ui.widgets import Canvas, Rect
from game.words.text import _

LEAST_TEXT = 36
"""Size of the smallest letters on the projector, of a window 720 high: a twentieth of it. The
teacher's line at the foot alone is smaller."""

_HEAD, _SECOND, _ASKED, _FOOT = 48, 40, 44, 17  # heights, of a window of 1280x720
_NARROW, _WIDE = 270, 400  # widths of tiles


@dataclass(frozen=True)
class Face:
    """All that decides how a tile looks, but for its staff.

    Args:
        name: of the seat.
        place: shown before the name, such as ``2.``; empty for none.
        verdict: of the last answer.
        words: in place of the staff, such as that the seat is ready; empty shows the staff.
        blank: the staff without marks.
        share: how much of the prompts is done, 0 to 1; None for no bar.
        count: prompts read, where no bar can be drawn; None where there is one.
        chosen: the teacher has chosen this seat.
        pale: it does not count.
        question: what is asked for where it is not printed.
        beat: which beat of the bar it is, from 1, and how many there are.
    """

    name: str
    place: str = ""
    verdict: Verdict | None = None
    words: str = ""
    blank: bool = False
    share: float | None = None
    count: int | None = None
    chosen: bool = False
    pale: bool = False
    beat: tuple[int, int] | None = None
    question: str = ""


class SeatTile:
    """Stateful: a tile, drawn anew only when something on it has changed."""

    def __init__(self, staff: SeatStaff) -> None:
        self.staff = staff
        self.drawn = 0  # how often: for the benchmark
        self._looks: object = None
        self._surface = pygame.Surface((1, 1))

    def draw(self, canvas: Canvas, rect: Rect, face: Face) -> None:
        """Lay the tile on the window."""
        looks = rect.size, canvas.metrics.unit, face, self.staff.looks
        if looks != self._looks:
            self._looks = looks
            self.drawn += 1
            self._surface = pygame.Surface(rect.size).convert(canvas.surface)
            self._paint(Canvas(self._surface, canvas.metrics), face)
        canvas.surface.blit(self._surface, rect)

    def _paint(self, tile: Canvas, face: Face) -> None:
        px, width, height = tile.px, tile.width, tile.height
        whole = Rect(0, 0, width, height)
        edge = theme.ACCENT if face.chosen else theme.RULE
        tile.panel(whole, theme.PAPER if face.pale else theme.CARD, edge)
        if face.chosen:
            pygame.draw.rect(tile.surface, theme.ACCENT, whole, px(3))
        bar = px(7)
        room, foot = tile_rooms(tile, self.staff, width, height, counts=face.count is not None)
        if foot is not None:
            at = foot.center
            tile.text(told(face), at, size=LEAST_TEXT, colour=theme.MUTED, anchor="center")
        self._head(tile, face, told(face, short=width < px(_WIDE)) if foot is None else "")
        if face.question:
            at = (width // 2, room.bottom + px(_ASKED) // 2)
            tile.text(face.question, at, size=LEAST_TEXT, anchor="center", width=room.width)
        if face.words.isdigit():  # of the count-in
            announce(tile, face.words, room)
        elif face.words:
            lines = theme.wrapped(face.words, "strong", px(LEAST_TEXT), room.width)
            high = px(LEAST_TEXT + 6)
            y = room.centery - high * (len(lines) - 1) // 2
            for number, line in enumerate(lines):
                tile.text(
                    line,
                    (room.centerx, y + number * high),
                    size=LEAST_TEXT,
                    colour=theme.MUTED,
                    anchor="center",
                    width=room.width,
                )
        else:
            self.staff.draw_in(tile.surface, room, blank=face.blank)
        if face.beat is not None:
            self._beat(tile, room, *face.beat)
        if face.share is not None:
            drawn = Rect(px(14), height - bar - px(6), width - px(28), bar)
            tile.surface.fill(theme.RULE, drawn)
            drawn.width = round(drawn.width * min(1.0, face.share))
            tile.surface.fill(theme.MUTED, drawn)

    def _head(self, tile: Canvas, face: Face, count: str) -> None:
        """Name, place, count and last verdict; in a narrow tile the name has its own line."""
        px, head = tile.px, tile.px(_HEAD)
        left, right, y = px(14), tile.width - px(12), head // 2
        below = y + (px(_SECOND) if is_narrow(tile, tile.width) else 0)
        signs = verdict_width(head)
        room = Rect(right - signs, below - head // 2, signs, head)
        draw_verdict(tile.surface, room, face.verdict)
        x, end = left, room.left - px(8)
        if count:
            at = (end, below)
            end = tile.text(count, at, size=LEAST_TEXT, colour=theme.MUTED, anchor="midright").left
            end -= px(8)
        if face.place:
            x = tile.text(
                face.place,
                (x, below),
                size=LEAST_TEXT,
                face="title",
                colour=theme.ACCENT,
                anchor="midleft",
            ).right + px(8)
        if below > y:
            x, end = left, right
        tile.text(
            face.name,
            (x, y),
            size=LEAST_TEXT,
            face="strong",
            colour=theme.MUTED if face.pale else theme.INK,
            anchor="midleft",
            width=max(1, end - x),
        )

    def _beat(self, tile: Canvas, room: Rect, number: int, count: int) -> None:
        """A dot for each beat of the bar; that of now is full."""
        gap = tile.px(26)
        for one in range(1, count + 1):
            x = room.centerx + round((one - (count + 1) / 2) * gap)
            full = one == number
            colour = theme.INK if full else theme.RULE
            pygame.draw.circle(tile.surface, colour, (x, room.top + tile.px(8)), tile.px(7))


def told(face: Face, *, short: bool = False) -> str:
    """How much is read, in words or only in figures; empty where it is not told so."""
    if face.count is None:
        return ""
    return str(face.count) if short else _("{n} read").format(n=face.count)


def is_narrow(canvas: Canvas, width: int) -> bool:
    """Whether a tile of this width has its name on a line of its own."""
    return width < canvas.px(_NARROW)


def staff_room(canvas: Canvas, width: int, height: int, *, asks: bool = False) -> Rect:
    """Where the staff stands in a tile of this size.

    Args:
        canvas: gives the metrics.
        width, height: of the tile, pixels.
        asks: there is a line below for what is asked.
    """
    px = canvas.px
    head = px(_HEAD) + (px(_SECOND) if is_narrow(canvas, width) else 0)
    foot = px(_FOOT) + (px(_ASKED) if asks else 0)
    return Rect(px(6), head, width - px(12), height - head - foot)


def tile_rooms(
    canvas: Canvas, staff: SeatStaff, width: int, height: int, *, counts: bool
) -> tuple[Rect, Rect | None]:
    """Where the staff stands, and below it how much is read.

    Args:
        canvas: gives the metrics.
        staff: of the seat.
        width, height: of the tile, pixels.
        counts: what is read is told by a number. It stands below only where that makes no staff
            smaller, else in the head.
    """
    room, line = staff_room(canvas, width, height, asks=staff.asks), canvas.px(_SECOND)
    more = line - canvas.px(_FOOT)  # there is no bar where there is a number
    if not (counts and staff.spares(room.width, room.height, more)):
        return room, None
    room.height -= more
    return room, Rect(room.x, height - line - canvas.px(5), room.width, line)


def verdict_width(height: int) -> int:
    """Room for the two places of a verdict's sign, pixels."""
    return round(height * 1.5)


def draw_verdict(surface: pygame.Surface, room: Rect, verdict: Verdict | None) -> None:
    """The last answer: a tick at the right if it was right, else a cross at the left.

    Shape and place tell it as well as colour.
    """
    if verdict is None:
        return
    right = verdict is Verdict.RIGHT
    sign = _sign(right, min(room.width, round(room.height * 0.62)))
    at = sign.get_rect(centery=room.centery)
    if right:
        at.right = room.right
    else:
        at.left = room.left
    surface.blit(sign, at)


@lru_cache(maxsize=16)
def _sign(right: bool, size: int) -> pygame.Surface:
    """A tick or a cross, smooth-edged."""
    big, pen = size * 4, max(4, size // 2)
    surface = pygame.Surface((big, big), pygame.SRCALPHA)
    strokes = (
        [((0.08, 0.55), (0.38, 0.85)), ((0.38, 0.85), (0.92, 0.15))]
        if right
        else [((0.14, 0.14), (0.86, 0.86)), ((0.86, 0.14), (0.14, 0.86))]
    )
    colour = theme.RIGHT if right else theme.WRONG
    surface.fill((*colour, 0))
    for start, end in strokes:
        one, two = pygame.Vector2(start) * big, pygame.Vector2(end) * big
        across = (two - one).normalize().rotate(90) * pen / 2
        pygame.draw.polygon(
            surface, colour, [one + across, two + across, two - across, one - across]
        )
        for point in (one, two):
            pygame.draw.circle(surface, colour, point, pen / 2)
    return pygame.transform.smoothscale(surface, (size, size))


def announce(canvas: Canvas, words: str, room: Rect) -> None:
    """A number in the middle of a room, as large as it fits, up to a third of the window."""
    unit = canvas.metrics.unit
    size = min(220.0, 0.8 * room.height / unit, 0.6 * room.width / unit)
    canvas.text(words, room.center, size=size, face="title", anchor="center")
