# SPDX-License-Identifier: MIT
"""The geometry of a piano on screen."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

_WHITE = (0, 2, 4, 5, 7, 9, 11)
# Middle of each black key in white-key widths from the left of its C. Between C and E, and
# between F and B, the parts of the white keys that reach between the black ones are equally
# wide, as on the instrument (common practice).
_BLACK_MIDDLE = {1: 0.9, 3: 2.1, 6: 3 + 6 / 7, 8: 5.0, 10: 6 + 1 / 7}
# Of a white key: 13.7 mm of 23.5 mm wide, 95 mm of 150 mm long (common practice).
_BLACK_WIDTH, _BLACK_LENGTH = 0.58, 0.63


@dataclass(frozen=True, slots=True)
class PianoKey:
    """A key and its rectangle in whole pixels."""

    key: int
    black: bool
    x: int
    y: int
    width: int
    height: int

    def covers(self, x: float, y: float) -> bool:
        """Whether a point lies on the rectangle."""
        return self.x <= x < self.x + self.width and self.y <= y < self.y + self.height


@dataclass(frozen=True)
class PianoLayout:
    """A piano laid over a rectangle whose upper left corner is 0, 0.

    White keys stand side by side without a gap; black keys lie over them. A range that ends
    on a black key is drawn up to the white key beside it.

    Args:
        low: lowest MIDI key, 0 to 127.
        high: highest MIDI key, `low` to 127.
        width: pixels.
        height: pixels.
    """

    low: int
    high: int
    width: int
    height: int

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.high <= 127:
            raise ValueError(f"keys {self.low} to {self.high} are not a range within 0 to 127")

    def keys(self) -> tuple[PianoKey, ...]:
        """All keys, from low to high."""
        return self._keys

    def key_at(self, x: float, y: float) -> int | None:
        """The MIDI key at a point; black keys lie on top. None beside the piano."""
        under = [key for key in self._keys if key.covers(x, y)]
        return max(under, key=lambda key: key.black).key if under else None

    @cached_property
    def _keys(self) -> tuple[PianoKey, ...]:
        first = self.low - (not _is_white(self.low))
        last = self.high + (not _is_white(self.high))
        whites = sum(map(_is_white, range(first, last + 1)))
        scale = self.width / whites
        start = _left(first)

        def laid(key: int) -> PianoKey:
            if _is_white(key):
                x = round((_left(key) - start) * scale)
                end = round((_left(key) - start + 1) * scale)
                return PianoKey(key, False, x, 0, end - x, self.height)
            width = max(1, round(_BLACK_WIDTH * scale))
            middle = 7 * (key // 12) + _BLACK_MIDDLE[key % 12] - start
            x = round(middle * scale - width / 2)
            return PianoKey(key, True, x, 0, width, round(_BLACK_LENGTH * self.height))

        return tuple(map(laid, range(first, last + 1)))


def _is_white(key: int) -> bool:
    return key % 12 in _WHITE


def _left(key: int) -> int:
    """White keys below this white key."""
    return 7 * (key // 12) + _WHITE.index(key % 12)
