# SPDX-License-Identifier: MIT
"""The notes that were missed in a round, each on a card: what was shown, and what was played."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from game.engraving import Mark
from game.rounds import Round, SlotResult
from game.screens.play.prompt_view import ghost_in
from game.screens.play.why import Missed, missed_of
from game.ui import theme
from game.ui.scroll import drawn, prose
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _, plural, seconds

if TYPE_CHECKING:
    from game.ui.stage import Stage

_GAP = 14  # between two cards


class MissedNotes:
    """The slots of a round that were missed, and their cards."""

    def __init__(self, stage: Stage, ended: Round) -> None:
        self._stage, self._round = stage, ended
        missed = [item for item in ended.results if not item.right]
        self._cards = [(item, missed_of(stage, ended, item)) for item in missed]
        longest = max(len(prompt.slots) for prompt in ended.prompts)
        self._least, self._most = (226, 390) if longest == 1 else (380, 590)  # width of a card

    def __len__(self) -> int:
        return len(self._cards)

    def rows(self, canvas: Canvas, room: Rect) -> list[Control]:
        """The heading and the cards, as rows of a page: as high as the room, if that is enough."""
        px, number, gap = canvas.px, len(self), canvas.px(_GAP)
        words = plural("{n} note to look at again", "{n} notes to look at again", number)
        rows = prose(canvas, words.format(n=number), room, size=20, face="title")
        top = rows[-1].rect.bottom + px(6)
        across = max(1, (room.width + gap) // (px(self._least) + gap))
        most = px(self._most)
        shown = max(room.width // most, min(across, number))
        width = min(most, (room.width - gap * (shown - 1)) // shown)
        high = max(px(230), room.bottom - top)
        for place, (item, missed) in enumerate(self._cards):
            down, right = divmod(place, across)
            rect = Rect(room.x + right * (width + gap), top + down * (high + gap), width, high)
            rows.append(drawn(rect, partial(self._card, item, missed)))
        return rows

    def _card(self, item: SlotResult, missed: Missed, canvas: Canvas, rect: Rect) -> None:
        px = canvas.px
        canvas.panel(rect)
        x, y, width = rect.x + px(12), rect.bottom - px(8), rect.width - px(24)
        if missed.reason:
            y = self._lines(canvas, missed.reason, (x, y), width, size=15, colour=theme.MUTED)
        names = self._stage.settings.now.names
        what = _("no answer") if item.first_press is None else _("not together")
        if missed.wrong:
            played = " ".join(names.name(pitch, octave=True) for pitch in missed.played)
            what = _("played {name}").format(name=played)
        wrong, taken = theme.WRONG, "" if item.t is None else seconds(item.t)
        wide = width - theme.text_width(taken, "text", px(16)) - px(10)
        y = self._lines(canvas, what, (x, y), wide, size=16, face="strong", colour=wrong)
        at = rect.right - px(12), y
        canvas.text(taken, at, size=16, colour=theme.MUTED, anchor="topright")
        prompt = self._round.prompts[item.prompt]
        notes = prompt.slots[item.slot].notes
        hidden = bool(prompt.hidden)  # asked for, and any octave answered
        right = " ".join(names.name(note.pitch, octave=not hidden) for note in notes)
        shown = (_("asked for {name}") if hidden else _("shown {name}")).format(name=right)
        y = self._lines(canvas, shown, (x, y), width, size=16, face="strong")
        ringed = [one.note for one in missed.wrong] or notes
        marks = tuple(Mark(name, "wrong", wrong) for name in {note.id: None for note in ringed})
        ghosts = tuple(ghost_in(prompt, one.note, one.played) for one in missed.wrong)
        room = Rect(rect.x, rect.y + px(4), rect.width, y - px(4) - rect.y - px(4))
        canvas.sample(self._stage.engraver, prompt, room, marks, ghosts)

    @staticmethod
    def _lines(canvas: Canvas, words: str, at: tuple[int, int], width: int, **how: Any) -> int:
        """Lines that end at a height; the y above them."""
        lines = prose(canvas, words, Rect(at[0], 0, width, 0), **how)
        top = at[1] - lines[-1].rect.bottom
        for line in lines:
            line.draw(canvas, line.rect.move(0, top))
        return top
