# SPDX-License-Identifier: MIT
"""The settings page: one row a setting, changed in place and kept at once."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from game.levels import USUAL_LOWEST
from game.screens.reader.key_range import KeyRange
from game.screens.reader.ready_page import ReadyPage
from game.screens.reader.set_beat import SetBeat
from game.session.options import CHOICES, SHIFTS, Options
from game.ui.list_page import ListPage
from game.ui.widgets import Control
from game.words.text import _, plural


class Settings(ListPage):
    """Stateful: the settings being changed."""

    name = "settings"
    narrow = 760
    high = 36
    top = 90

    @property
    def title(self) -> str:
        return _("Settings")

    def rows(self) -> list[Control]:
        return [
            self.row(
                name,
                label,
                partial(self._change, name, 1),
                value,
                adjust=partial(self._change, name),
            )
            for name, label, value in self._settings(self.stage.settings.now)
        ]

    def feet(self) -> list[Control]:
        return [
            self.button("back", _("Done"), self.back, "primary"),
            self.button("set_beat", _("Set the beat"), self._set_beat),
            self.button(
                "learn", _("Learn its keys"), self._learn, enabled=self.stage.piano.connected
            ),
            self.button("ready", _("Check this computer"), self._ready),
        ]

    def _set_beat(self) -> None:
        self.stage.go.show(SetBeat(self.stage, partial(self.stage.go.show, self)))

    def _ready(self) -> None:
        self.stage.go.show(ReadyPage(self.stage, self))

    def _learn(self) -> None:
        self.stage.go.show(KeyRange(self.stage, partial(self.stage.go.show, self)))

    def _settings(self, options: Options) -> list[tuple[str, str, str]]:
        compass = self.stage.piano.compass
        middle = self.stage.piano.name_key(60)
        span = (
            f"{self.stage.piano.name_key(compass.low)} – {self.stage.piano.name_key(compass.high)}"
        )
        return [
            ("keyboard", _("Listen to"), self._listen_to(options.keyboard)),
            ("keys", _("Keys on your keyboard"), f"{compass.keys}  ({span})"),
            ("shift", _("Its middle C"), self._middle_c(options.shift)),
            ("note_names", _("Note names"), options.names.title),
            ("middle_c", _("Octave numbers"), _("{name} is middle C").format(name=middle)),
            ("staff_size", _("Staff size"), _(options.staff_size)),
            ("screen_piano", _("Show the on-screen piano"), _(options.screen_piano)),
            ("sound", _("Sound the keys here"), _(options.sound)),
            ("beat", _("Sound the beat"), _(options.beat)),
            ("volume", _("Volume"), f"{options.volume} %"),
            ("pace", _("Pace to read against"), _(options.pace)),
            ("motion", _("Motion"), _(options.motion)),
            ("full_screen", _("Full screen"), _("yes") if options.full_screen else _("no")),
        ]

    def _listen_to(self, chosen: str) -> str:
        if chosen and chosen not in self.stage.piano.keyboards.there:
            return _("{name} (not plugged in)").format(name=chosen)
        return chosen or _("every keyboard")

    def _middle_c(self, shift: int) -> str:
        """Which key of the keyboard is middle C."""
        octaves = abs(shift) // 12
        if not shift:
            return _("as it sends it")
        if shift < 0:
            words = plural("{n} octave lower than sent", "{n} octaves lower than sent", octaves)
        else:
            words = plural("{n} octave higher than sent", "{n} octaves higher than sent", octaves)
        return words.format(n=octaves)

    def hints(self) -> list[tuple[str, str]]:
        hints = self.menu_hints()
        at = next(n for n, (keys, _does) in enumerate(hints) if "←" in keys)
        hints[at : at + 1] = [("↑ ↓", _("move")), ("← →", _("change"))]
        return hints

    def _change(self, name: str, by: int) -> None:
        options = self.stage.settings.now
        if name == "keyboard":
            names = ("", *self.stage.piano.keyboards.there)
            place = names.index(options.keyboard) if options.keyboard in names else 0
            changed = replace(options, keyboard=names[(place + by) % len(names)])
        elif name == "shift":
            place = (SHIFTS.index(options.shift) + by) % len(SHIFTS)
            changed = replace(options, shift=SHIFTS[place])
        else:
            assert name in CHOICES
            if name == "keys":  # from the size that is shown
                now = self.stage.piano.compass.keys
                size = min(USUAL_LOWEST, key=lambda size: abs(size - now))
                options = replace(options, keys=size)
            changed = options.cycled(name, by)
        self.stage.settings.save(changed)

    def leave_page(self) -> None:
        self.stage.go.go_back()
