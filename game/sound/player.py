# SPDX-License-Identifier: MIT
"""Plays tones through pygame's mixer, or keeps quiet where there is nothing to play on."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import pygame

from game.notation import frequency
from game.sound.quiet import quiet
from game.sound.tone import Samples, beat_click, beat_track, piano_tone, wrong_cue

_RATE = 44_100
_BUFFER = 512  # samples: 12 ms from press to ear
_VOICES = 32
_TONE_S = 1.5
_RELEASE_MS = 140
_LAYER = 16  # velocities that share one tone
_KEPT = 128  # tones in memory, 130 kB each


class SoundPlayer:
    """Stateful: the audio device while it is open, and the tones made so far.

    Attributes:
        available: whether anything can be heard.
        reason: why not, in a plain line; empty while it can.
    """

    def __init__(self, volume: float, reason: str = "") -> None:
        self.available = not reason
        self.reason = reason
        self._tone = lru_cache(maxsize=_KEPT)(_make_tone)
        self._cue: pygame.mixer.Sound | None = None
        self._clicks: dict[bool, pygame.mixer.Sound] = {}
        self._voices: list[pygame.mixer.Channel] = []  # the longest unused first
        self._sounding: dict[int, pygame.mixer.Channel] = {}
        self._volume = 0.0
        self.set_volume(volume)

    @classmethod
    def open(cls, volume: float) -> SoundPlayer:
        """Open the audio device; without one, a player that keeps quiet. Makes no tone yet.

        Args:
            volume: 0 to 1; what lies beyond counts as the nearer end.
        """
        try:
            pygame.mixer.quit()  # the format asked for counts only on a closed mixer
            with quiet():
                pygame.mixer.init(_RATE, -16, 1, _BUFFER, allowedchanges=0)
            pygame.mixer.set_num_channels(_VOICES + 1)  # and the beat's
        except (pygame.error, NotImplementedError) as error:  # the latter: a pygame without mixer
            return cls(volume, f"No sound: no audio device could be opened ({error}).")
        player = cls(volume)
        player._voices = [pygame.mixer.Channel(number) for number in range(_VOICES)]
        return player

    def play(self, key: int, velocity: int) -> None:
        """Sound a key, in place of its own earlier tone; with all voices busy the oldest gives way.

        Args:
            key: MIDI key number, 0 to 127.
            velocity: 1 to 127.
        """
        self.release(key)
        if self.available:
            self._sounding[key] = self._start(self._tone(key, velocity // _LAYER))

    def release(self, key: int) -> None:
        """Let the tone of a key fade out; nothing happens where it does not sound."""
        channel = self._sounding.pop(key, None)
        if channel is not None:
            channel.fadeout(_RELEASE_MS)

    def wrong(self) -> None:
        """Sound the wrong cue."""
        if self.available:
            self._cue = self._cue or _sound(wrong_cue(_RATE))
            self._start(self._cue)

    def click(self, *, first: bool) -> None:
        """Sound a beat; `first` of its bar."""
        if self.available:
            if first not in self._clicks:
                self._clicks[first] = _sound(beat_click(_RATE, first=first))
            self._start(self._clicks[first])

    def beats(self, beats: Sequence[tuple[float, bool]]) -> None:
        """Sound beats to come, in the place of those asked for before; none: be silent.

        They are one sound, so whatever keeps the game busy moves none of them.

        Args:
            beats: seconds from now (those that are over are left out), and whether the beat is
                the first of its bar.
        """
        if not self.available:
            return
        channel = pygame.mixer.Channel(_VOICES)
        channel.stop()
        if beats := [beat for beat in beats if beat[0] >= 0]:
            sound = _sound(beat_track(_RATE, beats))
            sound.set_volume(self._volume)
            channel.play(sound)

    def set_volume(self, volume: float) -> None:
        """Change the volume, also of what sounds now.

        Args:
            volume: 0 to 1; what lies beyond counts as the nearer end.
        """
        self._volume = min(1.0, max(0.0, volume))
        for channel in self._sounding.values():
            sound = channel.get_sound()
            if sound is not None:
                sound.set_volume(self._volume)

    def close(self) -> None:
        """Stop all sound and give the device back. Closing twice does no harm."""
        if self.available:
            self.available, self.reason = False, "The sound is closed."
            self._sounding.clear()
            pygame.mixer.quit()

    def _start(self, sound: pygame.mixer.Sound) -> pygame.mixer.Channel:
        voices = self._voices
        channel = next((voice for voice in voices if not voice.get_busy()), voices[0])
        voices.remove(channel)
        voices.append(channel)
        # A voice is taken over: the key that had it must no longer be able to end it.
        self._sounding = {key: used for key, used in self._sounding.items() if used is not channel}
        sound.set_volume(self._volume)
        channel.play(sound)
        return channel


def _make_tone(key: int, layer: int) -> pygame.mixer.Sound:
    """The tone of a key for the velocities of a layer, made for their middle."""
    velocity = layer * _LAYER + _LAYER // 2
    return _sound(piano_tone(frequency(key), _TONE_S, _RATE, velocity))


def _sound(samples: Samples) -> pygame.mixer.Sound:
    return pygame.mixer.Sound(buffer=(samples * 32767).astype(np.int16).tobytes())
