# SPDX-License-Identifier: MIT
"""Buttons side by side."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from game.screens.widgets import Control, Rect

Button = tuple[str, str, Callable[[], None], bool]
"""Id, words, what it does, and whether it can."""


def button_row(first: Rect, gap: int, buttons: Sequence[Button]) -> list[Control]:
    """Buttons from left to right, as large as the first, which is the likeliest choice."""
    step = first.width + gap
    return [
        Control(
            name,
            first.move(number * step, 0),
            label,
            act,
            "primary" if number == 0 else "button",
            enabled=enabled,
        )
        for number, (name, label, act, enabled) in enumerate(buttons)
    ]
