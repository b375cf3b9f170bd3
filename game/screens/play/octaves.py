# SPDX-License-Identifier: MIT
"""What is said of a keyboard that is shifted by octaves."""

from __future__ import annotations

from game.rounds import OctaveRun
from game.words.text import _, plural


def shift_words(run: OctaveRun) -> str:
    """What a run tells of the keyboard, and where to set it right; empty while it tells nothing."""
    if not run.tells:
        return ""
    far = abs(run.octaves)
    line = (
        plural(
            "Every key is an octave too low: is your keyboard shifted?",
            "Every key is {n} octaves too low: is your keyboard shifted?",
            far,
        )
        if run.octaves < 0
        else plural(
            "Every key is an octave too high: is your keyboard shifted?",
            "Every key is {n} octaves too high: is your keyboard shifted?",
            far,
        )
    ).format(n=far)
    return line + " " + _("“Its middle C” in the settings puts it right.")
