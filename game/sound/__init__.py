# SPDX-License-Identifier: MIT
"""What is heard: a soft piano-like tone for a press, a quiet wrong cue, a beat."""

from game.sound.player import SoundPlayer
from game.sound.tone import beat_click, piano_tone, wrong_cue

__all__ = ["SoundPlayer", "beat_click", "piano_tone", "wrong_cue"]
