# SPDX-License-Identifier: MIT
"""Sheet music brought to the window: what to make of it."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from game.files.resources import own_levels_folder
from game.levels import parse_level
from game.pieces import Hand, Kind, Piece, PieceError, hands_of, left_out, piece_level
from game.ui import theme
from game.ui.screen import Screen
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _, plural

if TYPE_CHECKING:
    from game.ui.stage import Stage

_SAID = 3  # of what is left out


class PieceOffer(Screen):
    """Stateful: a piece that was read, or why it could not be, and what to make of it."""

    name = "piece"

    def __init__(
        self,
        stage: Stage,
        name: str,
        piece: Piece | None,
        trouble: str = "",
        after: Callable[[str], None] | None = None,
    ) -> None:
        super().__init__(stage)
        self._after = after or stage.go.open_ladder  # with the id of the level, or with nothing
        self._name, self._piece, self._trouble = name, piece, trouble
        self._hand: Hand | None = None
        hands = () if piece is None else hands_of(piece)
        self._hands: tuple[Hand | None, ...] = (None, *hands) if len(hands) > 1 else (None,)

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        width, x = min(px(640), canvas.width - px(80)), 0
        x = (canvas.width - width) // 2
        controls = []
        if self._piece is not None:
            hands = {None: _("both hands"), "right": _("right hand"), "left": _("left hand")}
            y, row = round(canvas.height * 0.5), px(54)
            if len(self._hands) > 1:
                controls.append(
                    Control(
                        "hand",
                        Rect(x, y - px(54), width, px(42)),
                        _("Read"),
                        lambda: self._turn(1),
                        "row",
                        hands[self._hand],
                        adjust=self._turn,
                    )
                )
            kinds: tuple[tuple[Kind, str], ...] = (
                ("bars", _("The whole piece, bar by bar")),
                ("hardest", _("Its hardest bars")),
                ("notes", _("Only the notes that it uses")),
            )
            for number, (kind, label) in enumerate(kinds):
                controls.append(
                    Control(
                        kind,
                        Rect(x, y + number * row, width, px(46)),
                        label,
                        lambda kind=kind: self._make(kind),  # type: ignore[misc]
                        "primary" if number == 0 else "button",
                    )
                )
        back = Rect(x, canvas.height - px(104), px(160), px(46))
        controls.append(Control("back", back, _("Back"), self.back))
        return controls

    def paint(self, canvas: Canvas) -> None:
        px = canvas.px
        width = min(px(640), canvas.width - px(80))
        x, y = (canvas.width - width) // 2, px(70)
        piece = self._piece
        title = self._name if piece is None else piece.title
        canvas.text(title, (x, y), size=34, face="title", width=width)
        y += px(54)
        if piece is not None:
            bars = plural("{n} bar", "{n} bars", len(piece.bars)).format(n=len(piece.bars))
            canvas.text(
                _("{bars}. A level of it is added to your ladder; its rhythm is left out.").format(
                    bars=bars
                ),
                (x, y),
                colour=theme.MUTED,
                width=width,
            )
            y += px(32)
            said = left_out(piece, self._hand)
            for line in said[:_SAID]:
                text = _("Left out, {reason}").format(reason=line)
                canvas.text(text, (x, y), size=16, colour=theme.MUTED, width=width)
                y += px(23)
            if len(said) > _SAID:
                more = _("and {n} more; the level file says which").format(n=len(said) - _SAID)
                canvas.text(more, (x, y), size=16, colour=theme.MUTED, width=width)
                y += px(23)
        if self._trouble:
            canvas.paragraph(self._trouble, (x, y + px(4)), width, colour=theme.WRONG)
        canvas.hints(self.menu_hints())

    def _turn(self, by: int) -> None:
        self._hand = self._hands[(self._hands.index(self._hand) + by) % len(self._hands)]

    def _make(self, kind: Kind) -> None:
        """Write the level among one's own, and go to it."""
        assert self._piece is not None
        try:
            text = piece_level(self._piece, kind, self._hand)
            level_id = keep_level(text, own_levels_folder())
        except PieceError as error:
            self._trouble = str(error)
        except OSError as error:
            self._trouble = _("The level cannot be written to {folder}: {why}.").format(
                folder=own_levels_folder(), why=error.strerror
            )
        else:
            self.stage.levels.look_again()
            self._after(level_id)

    def back(self) -> None:
        self._after("")


def keep_level(text: str, folder: Path) -> str:
    """Write a level to a folder under a name of its own, and return its id.

    The very same level is not written twice; another one of the same id gets a number.

    Raises:
        OSError: the folder cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    first = parse_level(text, "level").id
    level_id, number = first, 1
    while True:
        numbered = re.sub(r'^id = ".*"$', f'id = "{level_id}"', text, count=1, flags=re.MULTILINE)
        path = folder / f"{level_id}.toml"
        try:
            file = path.open("x", encoding="utf-8")
        except FileExistsError:
            if path.read_text(encoding="utf-8") != numbered:
                number += 1
                level_id = f"{first[:56]}-{number}"
                continue
            return level_id
        try:
            with file:
                file.write(numbered)
        except OSError:  # half a level would be in the way of the next try
            path.unlink(missing_ok=True)
            raise
        return level_id
