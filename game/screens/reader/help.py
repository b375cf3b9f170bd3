# SPDX-License-Identifier: MIT
"""The help page: how it works, which keys do what, and how to play without harm."""

from __future__ import annotations

from typing import TYPE_CHECKING

from game.ui.button_row import button, in_rows
from game.ui.screen import (
    PIANO_AFTER,
    PIANO_BACK,
    PIANO_BEFORE,
    PIANO_PAGE_AFTER,
    PIANO_PAGE_BEFORE,
    PIANO_YES,
    Screen,
)
from game.ui.scroll import Scroll, prose
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage


_COLUMNS = 3


class Help(Screen):
    """Stateful only in its focus."""

    name = "help"

    def __init__(self, stage: Stage) -> None:
        super().__init__(stage)
        (self._text,) = self.lists = (Scroll(),)

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        done = button("back", _("Done"), self.back, "primary")
        foot = Rect(px(40), 0, canvas.width - px(80), canvas.height - px(58))
        top = px(92)
        room = Rect(foot.x, top, foot.width, in_rows(canvas, [done], foot) - px(12) - top)
        gap = px(36)
        wide = (room.width - gap * (_COLUMNS - 1)) // _COLUMNS
        passages = self._wrapped(canvas, wide)
        for deep in range(room.height // 2, room.height + 1, px(8)):
            if self._flow(canvas, passages, room, deep) <= room.right:
                break  # as even as can be
        else:  # one column, to be scrolled
            passages = self._wrapped(canvas, min(room.width - px(20), px(760)))
            self._flow(canvas, passages, room, 10**6)
        lines = [line for _title, lines in passages for line in lines]
        return [*self._text.place(canvas, lines, room, ""), done]

    def _wrapped(self, canvas: Canvas, wide: int) -> list[tuple[bool, list[Control]]]:
        """The lines of every passage, and whether it is a title."""
        found = []
        for title, passages in self._passages():
            for words in (title, *passages):
                size, face = (22, "title") if words == title else (17, "text")
                lines = prose(canvas, words, Rect(0, 0, wide, 0), size=size, face=face)
                found.append((words == title, lines))
        return found

    def _flow(
        self, canvas: Canvas, passages: list[tuple[bool, list[Control]]], room: Rect, deep: int
    ) -> int:
        """Place the lines in columns that are no deeper than that; the right end of the last."""
        px, x, y, right = canvas.px, room.x, room.y, room.x
        for title, lines in passages:
            y += px(14) if title and y > room.y else 0
            for line in lines:
                high = line.rect.height + (px(60) if title else 0)
                if y + high > room.y + deep:
                    x, y = right + px(36), room.y
                line.rect.topleft = x, y
                y, right = line.rect.bottom, line.rect.right
            y += px(8 if title else 9)
        return right

    def paint(self, canvas: Canvas) -> None:
        at = canvas.px(40), canvas.px(46)
        canvas.text(_("Help"), at, size=36, face="title", anchor="midleft")
        canvas.hints(self.menu_hints(), message=self.stage.piano.line)

    def _passages(self) -> list[tuple[str, list[str]]]:
        name = self.stage.piano.name_key
        return [
            (
                _("A round"),
                [
                    _(
                        "A note appears on the staff. Press its key. The first press counts; when "
                        "it is not the one, keep looking: the next note comes when you have found "
                        "it."
                    ),
                    _(
                        "Quick and right earns most, slow and right little. Quick and wrong costs "
                        "most, so guessing does not pay."
                    ),
                    _(
                        "A blue note with a tick was right. An orange ring was not; the pale "
                        "orange note beside it is the one you played."
                    ),
                    _("Notes on one stem or on both staves at one place go down together."),
                    _(
                        "A level is passed at its own accuracy and time, and known when passed on "
                        "two different days."
                    ),
                ],
            ),
            (
                _("Keys"),
                [
                    _(
                        "Piano, in menus: {yes} yes, {after} next, {before} previous, {back} back, "
                        "{page_after} and {page_before} a stage or page on and back. "
                        "In a round, a flat hand (five keys at once) pauses, and is no "
                        "answer."
                    ).format(
                        yes=name(PIANO_YES),
                        after=name(PIANO_AFTER),
                        before=name(PIANO_BEFORE),
                        back=name(PIANO_BACK),
                        page_after=name(PIANO_PAGE_AFTER),
                        page_before=name(PIANO_PAGE_BEFORE),
                    ),
                    _(
                        "Computer: arrows move, Page Up and Page Down go by stages or pages, "
                        "Enter chooses, Esc goes back or pauses, R restarts a round, F11 fills the "
                        "screen."
                    ),
                    _(
                        "Computer as a piano: the row {white} has the white keys and the row above "
                        "the black ones. Page Up and Page Down shift it by an octave."
                    ).format(white=self.stage.piano.computer.white_row),
                    _("Mouse: everything on the screen can be clicked, the piano too."),
                    _(
                        "Sheet music, on the ladder, makes levels of your own pieces (MusicXML, "
                        "MEI, ABC or Humdrum); or drop a file on the window. Levels of your own: "
                        "“stavewise levels own”."
                    ),
                ],
            ),
            (
                _("Take care"),
                [
                    _(
                        "Play for a few minutes at a time. After ten, take a break and look into "
                        "the distance."
                    ),
                    _(
                        "Sit so that shoulders and wrists are loose. Stop when anything hurts, and "
                        "ask your teacher or a doctor before you go on."
                    ),
                    _(
                        "Keep headphones at a moderate volume; if your ears ring, stop and have "
                        "them seen to."
                    ),
                    _(
                        "Nothing here flashes. If moving pictures trouble you, choose less motion "
                        "in the settings, and ask a doctor about playing at a screen."
                    ),
                ],
            ),
            (
                _("A class"),
                [
                    _(
                        "Class challenge, on the first page, leads to your classes: type the "
                        "names, or drop a CSV file of them on the window."
                    ),
                    _(
                        "A heat is a class reading one level, in turn or together, a keyboard "
                        "each. It is prepared on the class’s page; Space starts and pauses it. One "
                        "that was broken off can be gone on with."
                    ),
                ],
            ),
        ]

    def back(self) -> None:
        self.stage.go.go_back()
