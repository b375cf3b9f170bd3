# SPDX-License-Identifier: MIT
"""A reader's rounds on one level: how they went over time, and each of them to go through again."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cached_property, partial
from typing import TYPE_CHECKING

from game.paper.history import (
    NOTHING,
    HistoryReport,
    best_words,
    cells,
    gain_words,
    history_csv,
    history_html,
    kind_name,
    plots,
    round_words,
    started_words,
)
from game.paper.plot import Plot
from game.paper.saving import saved_words
from game.reader.gain import gain_of
from game.screens.reader.guest import GuestPage
from game.screens.reader.plot import draw_plot
from game.session.records import SharedRound, guests, history_of, recent_rounds
from game.store import RoundFigures, StoreError
from game.ui import theme
from game.ui.button_row import button
from game.ui.list_page import row, words
from game.ui.scroll import drawn, in_columns, prose, stacked
from game.ui.tabbed import Tabbed
from game.ui.widgets import Canvas, Control, Rect
from game.words.percents import percent
from game.words.text import _, plural, seconds

if TYPE_CHECKING:
    from game.ui.stage import Stage

_TABS = (
    ("time", _("Over time")),
    ("rounds", _("Rounds")),
    ("weeks", _("Weeks")),
    ("friends", _("Friends")),
)
_HEADS = {
    "rounds": _("Choose a round to go through it again"),
    "weeks": _("Best by week"),
    "friends": _("Choose a friend’s round to watch it or to read the same notes"),
}
_COLUMNS = _("points · right at first · median time")
_ROW = 34


class HistoryPage(Tabbed):
    """Stateful: the rounds of the reader on a level, and which of them is looked at.

    Raises:
        StoreError: the store cannot be read.
    """

    name = "history"

    def __init__(self, stage: Stage, level_id: str) -> None:
        reader = stage.sitting.reader
        assert reader is not None
        self._reader = reader
        level = next((r.level for r in stage.levels.ladder.rungs if r.level.id == level_id), None)
        self._level_id = level_id
        history = history_of(stage.store.figures(reader.id), level_id, datetime.now(UTC))
        gain = gain_of(recent_rounds(stage.store, history))
        self._told = HistoryReport.of(level, history, gain)
        self._newest = history.rounds[::-1]
        self._guests = guests(stage.store, level_id)
        super().__init__(stage, _TABS if self._guests else _TABS[:3])
        self._tab = "time" if self._newest or not self._guests else "friends"
        self.focus = f"tab-{self._tab}"

    @property
    def title(self) -> str:
        return self._told.title

    @property
    def below_title(self) -> str:
        rounds = self._told.history.rounds
        words = plural("{name}: {n} round", "{name}: {n} rounds", len(rounds))
        words = words.format(name=self._reader.name, n=len(rounds))
        if early := sum(not one.complete for one in rounds):
            words += _(", {n} of them stopped early and not plotted").format(n=early)
        return words

    def feet(self) -> list[Control]:
        items = [button("back", _("Done"), self.back, "primary")]
        if self._newest:
            items.append(button("page", _("Save as a page"), self._save_page))
            items.append(button("table", _("Save as a table"), self._save_table))
        return items

    def sheet(self, canvas: Canvas, room: Rect) -> list[Control]:
        if not self._newest and self._tab != "friends":
            return [drawn(room, self._nothing)]
        if self._tab == "time":
            return self._time(canvas, room)
        rows = {"rounds": self._rounds, "weeks": self._weeks, "friends": self._friends}[self._tab]()
        head = prose(canvas, _HEADS[self._tab], room, face="strong")
        y = head[-1].rect.bottom
        if self._tab != "weeks":
            size, at = canvas.px(16), "left"
            wide = theme.text_width(_COLUMNS, "text", size)
            if theme.text_width(_HEADS[self._tab], "strong", canvas.px(18)) + wide < room.width:
                y, at = room.y, "right"  # beside the heading
            line = Rect(room.x, y, room.width - canvas.px(14), head[-1].rect.height)
            head.append(drawn(line, partial(self._columns, at)))
            y = line.bottom
        view = Rect(room.x, y + canvas.px(6), room.width, 0)
        return [*head, *stacked(rows, view, canvas.px(_ROW))]

    @staticmethod
    def _nothing(canvas: Canvas, room: Rect) -> None:
        at, wide = (room.centerx, room.centery - canvas.px(20)), room.width
        canvas.centred(NOTHING, at, wide, size=22, face="serif", colour=theme.MUTED)

    @staticmethod
    def _columns(side: str, canvas: Canvas, rect: Rect) -> None:
        at = getattr(rect, f"top{side}")
        canvas.text(_COLUMNS, at, size=16, colour=theme.MUTED, anchor=f"top{side}")

    def _time(self, canvas: Canvas, room: Rect) -> list[Control]:
        """Four plots, and what the slow notes cost."""
        px, columns = canvas.px, 1 if canvas.narrow else 2
        words = gain_words(self._told.gain, self.stage.settings.now.names)
        rows = in_columns(
            [partial(self._plot, plot) for plot in plots(self._told.history)],
            room,
            columns,
            gap=px(34),
            high=max(px(170), (room.height - px(112)) // 2),
        )
        room = Rect(room.x, rows[-1].rect.bottom + px(12), room.width, 0)
        return [*rows, *prose(canvas, words, room, size=17)]

    @staticmethod
    def _plot(plot: Plot, canvas: Canvas, rect: Rect) -> None:
        draw_plot(canvas, Rect(rect.x, rect.y, rect.width, rect.height - canvas.px(18)), plot)

    @cached_property
    def _rows(self) -> list[tuple[str, str]]:
        """Of each round, the latest first, what its row says."""
        found = []
        for one in self._newest:
            number, when, kind, points, accuracy, median, _tempo, note = cells(one, self._told)
            label = f"{number} · {when} · {kind}" + (f" · {note}" if note else "")
            found.append((label, f"{points} · {accuracy} · {median}"))
        return found

    def _rounds(self) -> list[Control]:
        """The rounds, the latest first."""
        return [
            row(f"round-{one.id}", label, partial(self._replay, one), value)
            for one, (label, value) in zip(self._newest, self._rows, strict=True)
        ]

    def _weeks(self) -> list[Control]:
        """The best of each week, the latest first."""
        return [words(week, best) for week, best in best_words(self._told)]

    def _friends(self) -> list[Control]:
        """The rounds that friends brought, the latest first."""
        rows = list[Control]()
        for number, one in enumerate(self._guests):
            result = one.result
            name = one.name or _("a guest")
            when, kind = started_words(one.started), kind_name(one.terms.kind, self._told.metre)
            rows.append(
                row(
                    f"friend-{number}",
                    f"{name} · {when} · {kind}",
                    partial(self._visit, one),
                    f"{result.score:.1f} · {percent(result.accuracy)} % · "
                    f"{seconds(result.median_s)}",
                )
            )
        return rows

    # What the reader does

    def back(self) -> None:
        self.stage.go.open_ladder(self._level_id)

    def _replay(self, one: RoundFigures) -> None:
        try:
            record = self.stage.store.record(one.id)
        except StoreError as error:
            self._message = str(error)
            return
        self.stage.go.open_replay(
            record, round_words(self._reader.name, one.id, started_words(one.started))
        )

    def _visit(self, one: SharedRound) -> None:
        self.stage.go.show(GuestPage(self.stage, one))

    def _save_page(self) -> None:
        names = self.stage.settings.now.names
        self._save(history_html(self._reader.name, [self._told], names), ".html")

    def _save_table(self) -> None:
        self._save(history_csv([self._told.history]).decode("utf-8"), ".csv")

    def _save(self, text: str, ending: str) -> None:
        self._message = saved_words(text, f"{self._told.title} {self._reader.name}", ending)
