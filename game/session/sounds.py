# SPDX-License-Identifier: MIT
"""What is sounded, as the settings have it."""

from __future__ import annotations

from collections.abc import Sequence

from game.keyboards import KeyDown, KeyUp
from game.session.clock import Clock
from game.session.options import Options
from game.session.settings import SettingsInUse
from game.sound import SoundPlayer

_AGAIN_S = 10.0  # a speaker may be connected meanwhile: it is looked for between pages


class Sounds:
    """Stateful: the sound player, and the settings that it goes by."""

    def __init__(self, settings: SettingsInUse, clock: Clock) -> None:
        self._settings, self._clock = settings, clock
        self.player = SoundPlayer.open(settings.now.volume / 100)
        self._again_at = clock.now() + _AGAIN_S
        settings.watch.append(self._turned)

    def _turned(self, _before: Options, now: Options) -> None:
        self.player.set_volume(now.volume / 100)

    def key(self, event: KeyDown | KeyUp, *, midi: bool) -> None:
        """A key was played: of a MIDI keyboard, which may sound by itself, or on screen."""
        wish = self._settings.now.sound
        if wish == "never" or (midi and wish != "always"):
            return
        if isinstance(event, KeyDown):
            self.player.play(event.key, event.velocity)
        else:
            self.player.release(event.key)

    def wrong(self) -> None:
        """The quiet sound of a key that was not the one, unless sound is off."""
        if self._settings.now.sound != "never":
            self.player.wrong()

    def click(self, *, first: bool) -> None:
        """The sound of a beat, the first of its bar or another."""
        self.player.click(first=first)

    def beats(self, beats: Sequence[tuple[float, bool]]) -> None:
        """The sound of beats to come, in the place of any before: when on the game's clock, and
        whether it is the first of its bar."""
        now = self._clock.now()
        self.player.beats([(t - now, first) for t, first in beats])

    def look_again(self) -> None:
        """Try again to open a device that was not there; now and then."""
        if not self.player.available and self._clock.now() >= self._again_at:
            self.player = SoundPlayer.open(self._settings.now.volume / 100)
            self._again_at = self._clock.now() + _AGAIN_S
