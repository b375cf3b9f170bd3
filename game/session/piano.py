# SPDX-License-Identifier: MIT
"""The reader's piano: the MIDI keyboards that there are, and the keys on screen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from game.keyboards import ComputerKeyboard, Keyboards, KeyDown, KeyUp
from game.levels import Compass
from game.notation import likeliest
from game.rounds import ON_SCREEN
from game.session.clock import Clock
from game.session.settings import SettingsInUse
from game.words.text import _

_NAMED = 3  # keyboards whose names stand in a line; of more it says how many


class Piano:
    """Stateful: what the reader can play on, and which of it was played last."""

    def __init__(self, settings: SettingsInUse, clock: Clock) -> None:
        self._settings, self._clock = settings, clock
        self.keyboards = Keyboards()
        """The MIDI keyboards that there are."""
        self.computer = ComputerKeyboard()
        self.played: Callable[[KeyDown | KeyUp], None] = lambda _event: None
        """Who hears the keys on screen."""
        self._last = ""  # the label of the keyboard

    def press(self, key: int, velocity: int = 80) -> None:
        """A key of the on-screen piano goes down."""
        self.played(KeyDown(self._clock.now(), key, velocity, ON_SCREEN))

    def release(self, key: int) -> None:
        """It comes up."""
        self.played(KeyUp(self._clock.now(), key, ON_SCREEN))

    @property
    def connected(self) -> bool:
        """Whether a MIDI keyboard is there."""
        return bool(self.keyboards.heard)

    @property
    def playing_on(self) -> str:
        """The label of the keyboard that was played last, or of one that is there."""
        there = self.keyboards.heard
        if self._last in (*there, ON_SCREEN):
            return self._last
        return there[0] if there else ON_SCREEN

    @playing_on.setter
    def playing_on(self, label: str) -> None:
        self._last = label

    @property
    def line(self) -> str:
        """One line: which keyboards, through which MIDI backend; or why none is heard."""
        heard, reached = self.keyboards.heard, self.keyboards.reached
        if self.other:
            words = _("Listening to {chosen}, which isn't plugged in. Plugged in: {names}")
            there = ", ".join(self.keyboards.there)
            return words.format(chosen=self._settings.now.keyboard, names=there)
        if self.keyboards.refused:
            held = ", ".join(self.keyboards.refused)
            return _("{name}: another program uses it. Close that program.").format(name=held)
        names = ", ".join(sorted(heard))
        if len(heard) > _NAMED:
            names = _("{n} keyboards").format(n=len(heard))
        if reached.startswith("none: "):
            return names or _("MIDI cannot be reached here: ‘stavewise keyboards’ says why")
        names = names or _("no MIDI keyboard yet")
        return f"{names} · MIDI: {reached}" if reached else names

    @property
    def other(self) -> str:
        """The keyboard that is there where the one that was chosen is not; empty otherwise."""
        chosen, there = self._settings.now.keyboard, self.keyboards.there
        return there[0] if chosen and there and chosen not in there else ""

    def use_other(self) -> None:
        """Listen to that one from now on."""
        self._settings.save(replace(self._settings.now, keyboard=self.other))

    @property
    def compass(self) -> Compass:
        """The keys that the reader's keyboard has."""
        return self._settings.now.compass(self.playing_on)

    def name_key(self, key: int) -> str:
        """A piano key's name in the reader's note names."""
        return self._settings.now.names.name(likeliest(key), octave=True)
