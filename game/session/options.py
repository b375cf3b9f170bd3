# SPDX-License-Identifier: MIT
"""The settings: their values, their choices and how they are kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from game.keyboards import label_now
from game.levels import USUAL_LOWEST, Compass
from game.notation import NOTE_NAMES, NoteNames
from game.rounds import MOST_DELAY_S
from game.session.paces import BEST, PACES

CHOICES: dict[str, tuple[object, ...]] = {
    "keys": tuple(sorted(USUAL_LOWEST)),
    "note_names": tuple(NOTE_NAMES),
    "middle_c": (4, 3),
    "staff_size": ("small", "medium", "large"),
    "screen_piano": ("when no keyboard", "always", "never"),
    "sound": ("when no keyboard", "always", "never"),
    "beat": ("always", "count-in only", "never"),
    "volume": (20, 40, 60, 80, 100),
    "pace": PACES,
    "motion": ("full", "less"),
    "full_screen": (False, True),
}
"""Field -> the values that it may take."""
SHIFTS = (-48, -36, -24, -12, 0, 12, 24, 36, 48)
"""Semitones by which a keyboard may be off."""


@dataclass(frozen=True)
class Options:
    """The settings.

    Args:
        keyboard: label of the one MIDI keyboard to listen to; empty for all.
        keys: size of a keyboard whose own keys are not known.
        lowest: its lowest MIDI key; None for the usual one of that size.
        spans: the lowest and the highest key of a keyboard, by its label, as it sends them.
        shift: semitones added to every key of a MIDI keyboard; whole octaves.
        note_names: a key of NOTE_NAMES.
        middle_c: number of the octave that begins at middle C.
        staff_size: small, medium or large.
        screen_piano: when the on-screen piano is shown.
        sound: when presses sound here.
        beat: when the beat is heard in phrases that are read in time.
        volume: percent.
        pace: what is read against.
        motion: full, or less.
        full_screen: whether the window fills the screen.
        delays: seconds by which the keys of a keyboard, by its label, arrive late.
    """

    keyboard: str = ""
    keys: int = 88
    lowest: int | None = None
    spans: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    shift: int = 0
    note_names: str = "letters"
    middle_c: int = 4
    staff_size: str = "medium"
    screen_piano: str = "when no keyboard"
    sound: str = "when no keyboard"
    beat: str = "always"
    volume: int = 60
    pace: str = BEST
    motion: str = "full"
    full_screen: bool = False
    delays: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def from_kept(cls, kept: object) -> Options:
        """From what the store kept; anything unknown or out of its choices is left out."""
        if not isinstance(kept, dict):
            return cls()
        good: dict[str, Any] = {
            name: kept[name]
            for name, choices in CHOICES.items()
            if name in kept and kept[name] in choices
        }
        if isinstance(kept.get("keyboard"), str):
            good["keyboard"] = label_now(kept["keyboard"])
        if kept.get("shift") in SHIFTS:
            good["shift"] = kept["shift"]
        if isinstance(delays := kept.get("delays"), dict):
            good["delays"] = {
                label: delay
                for label, delay in delays.items()
                if isinstance(delay, float) and 0 < delay <= MOST_DELAY_S
            }
        if isinstance(spans := kept.get("spans"), dict):
            good["spans"] = {label: (one[0], one[1]) for label, one in spans.items() if _span(one)}
        options = cls(**good)
        lowest = kept.get("lowest")
        if isinstance(lowest, int) and 0 <= lowest <= 128 - options.keys:
            options = replace(options, lowest=lowest)
        return options

    def kept(self) -> dict[str, object]:
        """What the store keeps."""
        return asdict(self)

    def compass(self, *keyboards: str) -> Compass:
        """The keys that all of these keyboards have, by their labels; of those that have none in
        common, the fewest."""
        usual = Compass.of_size(self.keys, self.lowest)
        found = [self._moved(*self.spans[one]) if one in self.spans else usual for one in keyboards]
        low = max((one.low for one in found), default=usual.low)
        high = min((one.high for one in found), default=usual.high)
        return Compass(low, high) if low <= high else min(found, key=lambda one: one.keys)

    def _moved(self, low: int, high: int) -> Compass:
        return Compass(max(0, low + self.shift), min(127, high + self.shift))

    @property
    def names(self) -> NoteNames:
        """How notes are called."""
        return replace(NOTE_NAMES[self.note_names], middle_c=self.middle_c)

    def cycled(self, name: str, by: int) -> Options:
        """With the next (1) or previous (-1) choice of a field."""
        choices = CHOICES[name]
        place = (choices.index(getattr(self, name)) + by) % len(choices)
        changes: dict[str, Any] = {name: choices[place]}
        if name == "keys":
            changes |= {"lowest": None, "spans": {}}
        return replace(self, **changes)


def _span(kept: object) -> bool:
    match kept:
        case [int(low), int(high)]:
            return 0 <= low < high <= 127
    return False
