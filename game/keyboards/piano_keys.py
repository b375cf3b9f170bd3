# SPDX-License-Identifier: MIT
"""The geometry of a drawn piano: where each key lies, and which one is at a point."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

_BLACK = {1, 3, 6, 8, 10}
# How far the middle of a black key lies from the line between its two white neighbours, in
# widths of a black key: the pairs and threes stand apart, as on the instrument.
_LEAN = {1: -0.12, 3: 0.12, 6: -0.2, 8: 0.0, 10: 0.2}
_BLACK_WIDTH, _BLACK_LENGTH = 0.58, 0.63  # of a white key


@dataclass(frozen=True, slots=True)
class PianoKey:
    """A key's rectangle in whole pixels."""

    key: int
    x: int
    y: int
    width: int
    height: int
    black: bool

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies on the rectangle."""
        return self.x <= x < self.x + self.width and self.y <= y < self.y + self.height


@dataclass(frozen=True)
class PianoLayout:
    """A piano of the keys `low` to `high`, filling `width` by `height` pixels without gaps.

    A black key at either end is drawn within the width, as half a key.
    """

    low: int
    high: int
    width: int
    height: int

    @cached_property
    def keys(self) -> tuple[PianoKey, ...]:
        """All keys, lowest first."""
        white = [key for key in range(self.low, self.high + 1) if key % 12 not in _BLACK]
        count = max(1, len(white))
        edges = [round(n * self.width / count) for n in range(count + 1)]
        places = {key: n for n, key in enumerate(white)}
        keys = [
            PianoKey(key, edges[n], 0, edges[n + 1] - edges[n], self.height, False)
            for key, n in places.items()
        ]
        wide = max(1, round(self.width / count * _BLACK_WIDTH))
        for key in range(self.low, self.high + 1):
            if key % 12 in _BLACK:
                seam = edges[places[key - 1] + 1] if key - 1 in places else 0
                left = round(seam - wide / 2 + _LEAN[key % 12] * wide)
                left, right = max(0, left), min(self.width, left + wide)
                length = round(self.height * _BLACK_LENGTH)
                keys.append(PianoKey(key, left, 0, right - left, length, True))
        return tuple(sorted(keys, key=lambda item: item.key))

    def key_at(self, x: float, y: float) -> int | None:
        """The MIDI key at a point; black keys lie on top."""
        hits = [item for item in self.keys if item.holds(x, y)]
        return max(hits, key=lambda item: item.black).key if hits else None
