# SPDX-License-Identifier: MIT
"""What is heard: a soft piano-like tone for a press, and a quiet wrong cue."""

from game.sound.player import SoundPlayer
from game.sound.tone import piano_tone, wrong_cue

__all__ = ["SoundPlayer", "piano_tone", "wrong_cue"]
