# SPDX-License-Identifier: MIT
"""Somebody else's round, brought to the window as a file: what it is worth, and what to do."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from game.rounds import Score
from game.session.records import (
    RecordFault,
    RescoredRecord,
    SharedRound,
    check,
    keep_guest,
    read_record,
)
from game.store import StoreError
from game.ui import theme
from game.ui.button_row import button, in_rows
from game.ui.screen import Screen
from game.ui.widgets import Canvas, Control, Rect
from game.words.dates import day_words, local
from game.words.percents import percent
from game.words.text import _, seconds

if TYPE_CHECKING:
    from game.ui.stage import Stage

_SHOWN = 6  # of the figures that differ


class GuestPage(Screen):
    """Stateful: a record that was read from a file and kept, or was kept before; or why it could
    not be."""

    name = "guest"

    def __init__(self, stage: Stage, source: Path | SharedRound) -> None:
        super().__init__(stage)
        self._checked: RescoredRecord | None = None
        self._trouble = ""
        try:
            if isinstance(source, Path):
                self._checked = check(read_record(source), source.name)
                keep_guest(stage.store, self._checked)
            else:
                self._checked = check(source, _("a guest’s round"))
        except (RecordFault, StoreError) as error:
            self._trouble = str(error)
        self._title = source.name
        if self._checked is not None:
            name = self._checked.shared.name
            self._title = _("A round of {name}").format(name=name) if name else _("A guest’s round")

    @property
    def _reachable(self) -> bool:
        """Whether the reader's keyboard has all keys of the round."""
        assert self._checked is not None
        return self.stage.piano.compass.reaches(self._checked.round.prompts)

    def layout(self, canvas: Canvas) -> list[Control]:
        items = [button("back", _("Back"), self.back)]
        if self._checked is not None:
            can = self.stage.sitting.reader is not None and self._reachable
            items = [
                button("watch", _("Watch it"), self._watch),
                button("play", _("Read the same notes"), self._play, enabled=can),
                *items,
            ]
        items[0].style = "primary"
        px = canvas.px
        foot = Rect(px(40), 0, canvas.width - px(80), canvas.height - px(60))
        in_rows(canvas, items, foot, least=230, high=50)
        return items

    def paint(self, canvas: Canvas) -> None:
        px = canvas.px
        x, width = px(40), canvas.width - px(80)
        canvas.text(self._title, (x, px(40)), size=30, face="title", anchor="midleft", width=width)
        y = px(80)
        if self._checked is not None:
            y = self._paint_round(canvas, self._checked, x, y, width)
        if self._trouble:
            canvas.paragraph(self._trouble, (x, y), width, colour=theme.WRONG)
        canvas.hints(self.menu_hints())

    def _paint_round(
        self, canvas: Canvas, checked: RescoredRecord, x: int, y: int, width: int
    ) -> int:
        px, shared = canvas.px, checked.shared
        level = shared.terms.level()
        words = _("{level} · {date}").format(
            level=level.title, date=day_words(local(shared.started), self.stage.clock.today)
        )
        canvas.text(words, (x, y), size=20, face="serif", colour=theme.MUTED, width=width)
        y = self._figures(canvas, checked.round.score, y + px(42)) + px(18)
        if checked.agrees:
            words = _("Worked out again from its presses: its figures agree.")
            canvas.text(words, (x, y), face="strong", colour=theme.ACCENT, width=width)
            y += px(32)
        else:
            words = _("Its figures do not follow from its presses; these above do, and are used:")
            y = canvas.paragraph(words, (x, y), width, face="strong", colour=theme.WRONG)
            told = [one for one in checked.differing if one[0] != "mean_points"]
            told = told or [*checked.differing]  # below 0, it is not the points
            for name, claimed, now in told[:_SHOWN]:
                words = _("{figure}: it says {claimed}, it is {now}").format(
                    figure=_FIGURES[name], claimed=_shown(name, claimed), now=_shown(name, now)
                )
                canvas.text(words, (x, y), width=width)
                y += px(26)
            y += px(6)
        if not self._trouble:
            words = _("It is kept as a pace for this level.")
            if self.stage.sitting.reader is None:
                words += " " + _("Choose who reads to play against it.")
            elif not self._reachable:
                words += " " + _("Your keyboard lacks some of its keys.")
            y = canvas.paragraph(words, (x, y), width, colour=theme.MUTED)
        return y

    def _figures(self, canvas: Canvas, score: Score, y: int) -> int:
        """The four figures side by side, as on the page of a result; the y below them."""
        px, gap = canvas.px, canvas.px(16)
        tempo = score.tempo_word if score.tempo_word and score.right else "–"
        width = (canvas.width - px(80) - 3 * gap) // 4
        for number, (label, figure) in enumerate(
            (
                (_("Points"), f"{score.score:.1f}"),
                (_("Accuracy"), f"{percent(score.accuracy)} %"),
                (_("Median time"), seconds(score.median_s)),
                (_("Reading tempo"), tempo),
            )
        ):
            rect = Rect(px(40) + number * (width + gap), y, width, px(90))
            canvas.panel(rect)
            x, room = rect.x + px(16), width - px(32)
            canvas.text(label, (x, y + px(10)), size=16, colour=theme.MUTED)
            canvas.text(figure, (x, y + px(30)), size=36, face="title", width=room)
        return y + px(90)

    def back(self) -> None:
        if self.stage.sitting.reader is None:
            self.stage.go.open_readers()
        else:
            checked = self._checked
            self.stage.go.open_ladder("" if checked is None else checked.shared.terms.level_id)

    def _watch(self) -> None:
        assert self._checked is not None
        self.stage.go.open_replay(self._checked.shared, self._title)

    def _play(self) -> None:
        assert self._checked is not None
        self.stage.rounds.begin(replace(self._checked.shared.terms, known=False))


_FIGURES = {
    "score": _("points"),
    "mean_points": _("mean points"),
    "accuracy": _("accuracy"),
    "median_s": _("median time"),
    "tempo_per_min": _("right a minute"),
    "slots": _("slots"),
    "right": _("right at first"),
    "passed": _("level passed"),
    "complete": _("played to its end"),
}


def _shown(name: str, value: Any) -> str:
    if value is None:
        return "–"
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if name == "accuracy":
        return f"{100 * value:.1f} %"
    if name == "median_s":
        return seconds(value)
    return f"{value:.1f}" if isinstance(value, float) else str(value)
