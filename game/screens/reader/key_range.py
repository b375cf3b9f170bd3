# SPDX-License-Identifier: MIT
"""Learns which keys a MIDI keyboard has: its lowest is pressed, then its highest."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from game.keyboards import Keyboards, KeyDown, KeyUp
from game.rounds import ON_SCREEN
from game.ui import theme
from game.ui.screen import Screen
from game.ui.widgets import FIRST_SPAN, Canvas, Control, PianoView, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage

MIDDLE_C = 60
_FEWEST = 24  # keys of a keyboard that can be read on: fewer are two presses in its middle
_SHOWN_S = 1.2  # what was found stays in view so long


def ends_unknown(stage: Stage) -> bool:
    """Whether a MIDI keyboard is played whose lowest and highest key nobody has told."""
    label = stage.piano.playing_on
    return label in stage.piano.keyboards.heard and label not in stage.settings.now.spans


class KeyRange(Screen):
    """Stateful: the lowest key, once it was pressed, and what was found.

    Args:
        stage: keeps what is found, by the keyboard's label.
        after: goes on from here, whether it was found or skipped.
    """

    name = "key range"

    def __init__(self, stage: Stage, after: Callable[[], None]) -> None:
        super().__init__(stage)
        self._after = after
        self._piano = PianoView(*FIRST_SPAN)
        self._lowest: KeyDown | None = None
        self._found = ""
        self._message = ""
        self._over_at: float | None = None

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        rect = Rect(canvas.width - px(160), px(16), px(120), px(38))
        return [Control("skip", rect, _("Skip this"), self.back, "quiet")]

    def paint(self, canvas: Canvas) -> None:
        px, middle = canvas.px, canvas.width // 2
        wide = canvas.width - px(80)
        canvas.text(_("Your keyboard"), (px(40), px(40)), size=34, face="title", anchor="midleft")
        asked = (
            _("Press its lowest key, at the far left.")
            if self._lowest is None
            else _("Now its highest key, at the far right.")
        )
        y = round(canvas.height * 0.25)
        canvas.text(
            self._found or asked, (middle, y), size=28, face="title", anchor="center", width=wide
        )
        why = _("So you are only shown notes that it has. Or do this later, in the settings.")
        canvas.text(
            self._message or why,
            (middle, y + px(44)),
            size=18,
            face="strong" if self._message else "text",
            colour=theme.WRONG if self._message else theme.MUTED,
            anchor="center",
            width=wide,
        )
        piano = self._piano.place(canvas)
        piano.top = round(canvas.height * 0.5)
        self._piano.draw(canvas, piano)
        if not self._found:
            self._piano.point(canvas, FIRST_SPAN[self._lowest is not None])
        canvas.hints([(_("Enter"), _("skip")), (_("Esc"), _("skip"))])

    def wait(self, now: float) -> float | None:
        return None if self._over_at is None else max(0.0, self._over_at - now)

    def tick(self, now: float) -> None:
        if self._over_at is not None and now >= self._over_at:
            self._over_at = None
            self._after()

    def piano(self, event: KeyDown | KeyUp) -> None:
        """Only real keyboards are asked about; all of their keys answer."""
        if isinstance(event, KeyUp) or event.keyboard == ON_SCREEN or self._found:
            return
        low = self._lowest
        if low is None or low.keyboard != event.keyboard:
            self._lowest, self._message = event, ""
            self._piano.down = {FIRST_SPAN[0]}
        elif low.key <= MIDDLE_C <= event.key and event.key - low.key >= _FEWEST - 1:
            self._keep(low, event)
        else:
            self._lowest, self._piano.down = None, set()
            self._message = _("These are not its ends: the far left first, then the far right.")

    def _keep(self, low: KeyDown, high: KeyDown) -> None:
        stage, shift = self.stage, self.stage.settings.now.shift
        span = low.key - shift, high.key - shift
        stage.settings.save(
            replace(stage.settings.now, spans={**stage.settings.now.spans, low.keyboard: span})
        )
        self._found = _("{n} keys, from {low} to {high}.").format(
            n=high.key - low.key + 1,
            low=stage.piano.name_key(low.key),
            high=stage.piano.name_key(high.key),
        )
        self._piano.down = {*FIRST_SPAN}
        self._over_at = stage.clock.now() + _SHOWN_S

    def keyboards_changed(self, event: Keyboards) -> None:
        if not event.heard:
            self.back()

    def back(self) -> None:
        self._over_at = None
        self._after()
