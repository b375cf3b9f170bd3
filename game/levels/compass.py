# SPDX-License-Identifier: MIT
"""The keys that a keyboard has."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from game.levels.prompt import Prompt

USUAL_LOWEST = {25: 48, 32: 41, 37: 48, 49: 36, 61: 36, 76: 28, 88: 21}
"""Number of keys -> usual lowest MIDI key. Common practice of keyboard makers."""


@dataclass(frozen=True, slots=True)
class Compass:
    """An unbroken range of keys.

    Args:
        low: lowest MIDI key, 0 to 127.
        high: highest MIDI key, `low` to 127.
    """

    low: int
    high: int

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.high <= 127:
            raise ValueError(f"keys {self.low} to {self.high} are not a range within 0 to 127")

    @classmethod
    def of_size(cls, keys: int, lowest: int | None = None) -> Compass:
        """A keyboard of a usual size.

        Args:
            keys: 25, 32, 37, 49, 61, 76 or 88.
            lowest: its lowest MIDI key; None takes the usual one.

        Raises:
            ValueError: another size, or keys outside MIDI's 0 to 127.
        """
        if keys not in USUAL_LOWEST:
            sizes = ", ".join(map(str, USUAL_LOWEST))
            raise ValueError(f"a keyboard of {keys} keys is not known; sizes: {sizes}")
        low = USUAL_LOWEST[keys] if lowest is None else lowest
        return cls(low, low + keys - 1)

    def contains(self, key: int) -> bool:
        """Whether the keyboard has this MIDI key."""
        return self.low <= key <= self.high

    def reaches(self, prompts: Iterable[Prompt]) -> bool:
        """Whether the keyboard has all keys of these prompts; where any octave answers, it has."""
        slots = (slot for prompt in prompts for slot in prompt.slots if not slot.asks)
        return all(self.contains(key) for slot in slots for key in slot.keys)

    @property
    def keys(self) -> int:
        """How many keys it has."""
        return self.high - self.low + 1
