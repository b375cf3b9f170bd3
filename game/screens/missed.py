# SPDX-License-Identifier: MIT
"""The notes that were missed in a round, each on a card: what was shown, and what was played."""

from __future__ import annotations

from typing import TYPE_CHECKING

from game.engraving import Mark
from game.rounds import Round, SlotResult
from game.screens import theme
from game.screens.prompt_view import ghost_in
from game.screens.text import _, plural, seconds
from game.screens.why import Missed, missed_of
from game.screens.widgets import Canvas, Rect

if TYPE_CHECKING:
    from game.screens.stage import Stage

_GAP = 14  # between two cards


class MissedNotes:
    """Stateful: the slots of a round that were missed, and which page of their cards is in view."""

    def __init__(self, stage: Stage, ended: Round) -> None:
        self._stage, self._round = stage, ended
        missed = [item for item in ended.results if not item.right]
        self._cards = [(item, missed_of(stage, ended, item)) for item in missed]
        longest = max(len(prompt.slots) for prompt in ended.prompts)
        self._least, self._most = (226, 390) if longest == 1 else (380, 590)  # width of a card
        self._page = 0

    def __len__(self) -> int:
        return len(self._cards)

    def pages(self, canvas: Canvas) -> int:
        """How many pages there are in a window of this size."""
        return -(-len(self) // self._across(canvas))

    def turn(self, by: int = 1) -> None:
        """Go on by so many pages; after the last comes the first."""
        self._page += by

    def _across(self, canvas: Canvas) -> int:
        """How many cards stand side by side."""
        gap = canvas.px(_GAP)
        return max(1, (canvas.width - canvas.px(80) + gap) // (canvas.px(self._least) + gap))

    def paint(self, canvas: Canvas, top: int, bottom: int) -> None:
        """A page of cards under their heading, between two heights."""
        px, number = canvas.px, len(self)
        words = plural("{n} note to look at again", "{n} notes to look at again", number)
        canvas.text(words.format(n=number), (px(40), top), size=20, face="title")
        top += px(34)
        gap, across, most = px(_GAP), self._across(canvas), px(self._most)
        shown = max((canvas.width - px(80)) // most, min(across, number))
        width = min(most, (canvas.width - px(80) - gap * (shown - 1)) // shown)
        first = self._page % self.pages(canvas) * across
        for place, (item, missed) in enumerate(self._cards[first : first + across]):
            rect = Rect(px(40) + place * (width + gap), top, width, bottom - top)
            self._card(canvas, rect, item, missed)

    def _card(self, canvas: Canvas, rect: Rect, item: SlotResult, missed: Missed) -> None:
        px = canvas.px
        canvas.panel(rect)
        x, y, width = rect.x + px(12), rect.bottom - px(29), rect.width - px(24)
        if missed.reason:
            canvas.text(missed.reason, (x, y), size=15, colour=theme.MUTED, width=width)
            y -= px(22)
        names = self._stage.options.names
        what = _("no answer") if item.first_press is None else _("not together")
        if missed.wrong:
            played = " ".join(names.name(pitch, octave=True) for pitch in missed.played)
            what = _("played {name}").format(name=played)
        size, wrong = 16, theme.WRONG
        canvas.text(what, (x, y), size=size, face="strong", colour=wrong, width=width - px(66))
        if item.t is not None:
            at = (rect.right - px(12), y)
            canvas.text(seconds(item.t), at, size=size, colour=theme.MUTED, anchor="topright")
        y -= px(23)
        prompt = self._round.prompts[item.prompt]
        notes = prompt.slots[item.slot].notes
        hidden = bool(prompt.hidden)  # asked for, and any octave answered
        right = " ".join(names.name(note.pitch, octave=not hidden) for note in notes)
        shown = (_("asked for {name}") if hidden else _("shown {name}")).format(name=right)
        canvas.text(shown, (x, y), size=size, face="strong", width=width)
        ringed = [one.note for one in missed.wrong] or notes
        marks = tuple(Mark(name, "wrong", wrong) for name in {note.id: None for note in ringed})
        ghosts = tuple(ghost_in(prompt, one.note, one.played) for one in missed.wrong)
        room = Rect(rect.x, rect.y + px(4), rect.width, y - px(4) - rect.y - px(4))
        canvas.sample(self._stage.engraver, prompt, room, marks, ghosts)
