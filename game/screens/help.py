# SPDX-License-Identifier: MIT
"""The help page: how it works, which keys do what, and how to play without harm."""

from __future__ import annotations

from game.screens.screen import (
    PIANO_AFTER,
    PIANO_BACK,
    PIANO_BEFORE,
    PIANO_PAGE_AFTER,
    PIANO_PAGE_BEFORE,
    PIANO_YES,
    Screen,
)
from game.screens.text import _
from game.screens.widgets import Canvas, Control, Rect


class Help(Screen):
    """Stateful only in its focus."""

    name = "help"

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        return [
            Control(
                "back",
                Rect(px(40), canvas.height - px(104), px(160), px(46)),
                _("Done"),
                self.back,
                "primary",
            )
        ]

    def paint(self, canvas: Canvas) -> None:
        px = canvas.px
        canvas.text(_("Help"), (px(40), px(46)), size=36, face="title", anchor="midleft")
        gap = px(36)
        width = (canvas.width - px(80) - 2 * gap) // 3
        for number, column in enumerate(self._columns()):
            x, y = px(40) + number * (width + gap), px(92)
            for title, lines in column:
                canvas.text(title, (x, y), size=22, face="title")
                y += px(38)
                for line in lines:
                    y = canvas.paragraph(line, (x, y), width, size=17) + px(9)
                y += px(14)
        canvas.hints(self.menu_hints(), message=self.stage.keyboard_line)

    def _columns(self) -> list[list[tuple[str, list[str]]]]:
        """Columns of passages, each a title and its paragraphs."""
        a_round, keys, care = self._passages()
        a_class = [
            _(
                "Class challenge, on the first page, leads to your classes: type the names, or "
                "drop a CSV file of them on the window."
            ),
            _(
                "A heat is a class reading one level, in turn or together, a keyboard each. It is "
                "prepared on the class’s page; Space starts and pauses it. One that was broken "
                "off can be gone on with."
            ),
        ]
        return [[a_round], [keys], [care, (_("A class"), a_class)]]

    def _passages(self) -> list[tuple[str, list[str]]]:
        name = self.stage.name_key
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
                    ).format(white=self.stage.computer.white_row),
                    _("Mouse: everything on the screen can be clicked, the piano too."),
                    _(
                        "Sheet music: drop a file on the window (MusicXML, MEI, ABC or Humdrum) to "
                        "make levels of it. Levels of your own: “stavewise levels own”."
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
        ]

    def back(self) -> None:
        self.stage.go_back()
