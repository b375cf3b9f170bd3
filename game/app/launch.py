# SPDX-License-Identifier: MIT
"""How the game is opened."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from game.levels import Rung


@dataclass(frozen=True)
class RobotSettings:
    """How the robot reader plays: its seed, median seconds, spread and share of errors."""

    seed: int = 1
    speed_s: float = 0.9
    spread: float = 0.25
    error_rate: float = 0.1


@dataclass(frozen=True)
class AppOptions:
    """How the game is opened.

    Args:
        rung: a level to play at once; None opens at the list of readers.
        seed: of that round; None for a new one.
        count: its prompts; None for the level's own number.
        seconds: makes it a timed round.
        robot: plays it by itself, then closes.
        shots: folder for a picture of every screen passed.
        store: path or URL; None for the usual place.
        fullscreen: whether to fill the screen.
        size: of the window, pixels.
        piece: a file of sheet music to make levels of, once the reader is chosen.
    """

    rung: Rung | None = None
    seed: int | None = None
    count: int | None = None
    seconds: int | None = None
    robot: RobotSettings | None = None
    shots: Path | None = None
    store: str | None = None
    fullscreen: bool = False
    size: tuple[int, int] | None = None
    piece: Path | None = None
