# SPDX-License-Identifier: MIT
"""A reader's rounds on one level: how they went over time, and each of them to go through again."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cached_property, partial
from typing import TYPE_CHECKING

from game.percents import percent
from game.reader.gain import gain_of
from game.records import SharedRound, guests, history_of, recent_rounds
from game.reports.history import (
    NOTHING,
    Told,
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
from game.reports.saving import NotSaved, save_page
from game.screens import theme
from game.screens.guest import GuestPage
from game.screens.list_page import row, words
from game.screens.plot import draw_plot
from game.screens.screen import Screen
from game.screens.scroll import Scroll, stacked
from game.screens.text import _, plural, seconds
from game.screens.widgets import Canvas, Control, Rect
from game.store import RoundFigures, StoreError

if TYPE_CHECKING:
    from game.screens.stage import Stage

_TABS = ("time", "rounds", "weeks", "friends")
_TOP, _FOOT = 88, 124
_HEAD, _ROW = 40, 34


class HistoryPage(Screen):
    """Stateful: the rounds of the reader on a level, and which of them is looked at.

    Raises:
        StoreError: the store cannot be read.
    """

    name = "history"

    def __init__(self, stage: Stage, level_id: str) -> None:
        super().__init__(stage)
        reader = stage.visit.reader
        assert reader is not None
        self._reader = reader
        level = next((r.level for r in stage.ladder.rungs if r.level.id == level_id), None)
        self._level_id = level_id
        history = history_of(stage.store.figures(reader.id), level_id, datetime.now(UTC))
        gain = gain_of(recent_rounds(stage.store, history))
        self._told = Told.of(level, history, gain)
        self._newest = history.rounds[::-1]
        self._guests = guests(stage.store, level_id)
        self._tabs = _TABS if self._guests else _TABS[:3]
        self._tab = "time" if self._newest or not self._guests else "friends"
        (self._list,) = self.lists = (Scroll(),)
        self._message = ""
        self.focus = f"tab-{self._tab}"

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        controls, right = list[Control](), canvas.width - px(40)
        titles = {
            "time": _("Over time"),
            "rounds": _("Rounds"),
            "weeks": _("Weeks"),
            "friends": _("Friends"),
        }
        for number, tab in enumerate(self._tabs):
            rect = Rect(right - px(116) * (len(self._tabs) - number), px(22), px(108), px(34))
            controls.append(
                Control(f"tab-{tab}", rect, titles[tab], partial(self._open, tab), "quiet")
            )
        listed = {"rounds": self._rows, "weeks": self._weeks, "friends": self._friends}
        if self._tab in listed:
            controls += listed[self._tab](canvas)
        y = canvas.height - px(106)
        items = [("back", _("Done"), self.back)]
        if self._newest:
            items += [
                ("page", _("Save as a page"), self._save_page),
                ("table", _("Save as a table"), self._save_table),
            ]
        x = px(40)
        for number, (name, label, act) in enumerate(items):
            width = px(160 if number == 0 else 190)
            style = "button" if number else "primary"
            controls.append(Control(name, Rect(x, y, width, px(46)), label, act, style))
            x += width + px(14)
        self._message_x = x
        return controls

    @cached_property
    def _said(self) -> list[tuple[str, str]]:
        """Of each round, the latest first, what its row says."""
        found = []
        for one in self._newest:
            number, when, kind, points, accuracy, median, _tempo, note = cells(one, self._told)
            label = f"{number} · {when} · {kind}" + (f" · {note}" if note else "")
            found.append((label, f"{points} · {accuracy} · {median}"))
        return found

    def _rows(self, canvas: Canvas) -> list[Control]:
        """The rounds, the latest first."""
        rows = [
            row(f"round-{one.id}", label, partial(self._replay, one), value)
            for one, (label, value) in zip(self._newest, self._said, strict=True)
        ]
        return self._placed(canvas, rows)

    def _weeks(self, canvas: Canvas) -> list[Control]:
        """The best of each week, the latest first."""
        rows = [words(week, best) for week, best in best_words(self._told)]
        return self._placed(canvas, rows)

    def _friends(self, canvas: Canvas) -> list[Control]:
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
        return self._placed(canvas, rows)

    def _placed(self, canvas: Canvas, rows: list[Control]) -> list[Control]:
        """The list, below its heading."""
        room, head = self._room(canvas), canvas.px(_HEAD)
        view = Rect(room.x, room.y + head, room.width, room.height - head)
        return self._list.place(canvas, stacked(rows, view, canvas.px(_ROW)), view, self.focus)

    @staticmethod
    def _room(canvas: Canvas) -> Rect:
        px = canvas.px
        return Rect(px(40), px(_TOP), canvas.width - px(80), canvas.height - px(_TOP) - px(_FOOT))

    def paint(self, canvas: Canvas) -> None:
        px, history = canvas.px, self._told.history
        canvas.text(
            self._told.title,
            (px(40), px(40)),
            size=30,
            face="title",
            anchor="midleft",
            width=canvas.width - px(108) - px(116) * len(self._tabs),
        )
        number = len(history.rounds)
        words = plural("{name}: {n} round", "{name}: {n} rounds", number).format(
            name=self._reader.name, n=number
        )
        if early := sum(not one.complete for one in history.rounds):
            words += _(", {n} of them stopped early and not plotted").format(n=early)
        canvas.text(words, (px(40), px(64)), colour=theme.MUTED, width=canvas.width - px(80))
        tab = next(item for item in self.controls if item.id == f"tab-{self._tab}").rect
        canvas.surface.fill(
            theme.ACCENT, Rect(tab.x + px(8), tab.bottom, tab.width - px(16), px(3))
        )
        room = self._room(canvas)
        heads = {
            "rounds": _("Choose a round to go through it again"),
            "weeks": _("Best by week"),
            "friends": _("Choose a friend’s round to watch it or to read the same notes"),
        }
        if not history.rounds and self._tab != "friends":
            canvas.text(
                NOTHING,
                room.center,
                size=22,
                face="serif",
                colour=theme.MUTED,
                anchor="center",
                width=room.width,
            )
        elif self._tab == "time":
            self._time(canvas, room)
        else:
            self._heading(canvas, heads[self._tab])
        if self._message:
            x = self._message_x
            canvas.text(
                self._message,
                (x, canvas.height - px(83)),
                size=16,
                anchor="midleft",
                width=canvas.width - px(40) - x,
            )
        canvas.hints(self.menu_hints())

    def _time(self, canvas: Canvas, room: Rect) -> None:
        """Four plots, and what the slow notes cost."""
        px, gap = canvas.px, canvas.px(34)
        words, below = self._gain(), canvas.px(76)
        width = (room.width - gap) // 2
        height = (room.height - px(14) - below - px(18)) // 2
        for number, plot in enumerate(plots(self._told.history)):
            row, column = divmod(number, 2)
            x, y = room.x + column * (width + gap), room.y + px(14) + row * (height + px(18))
            draw_plot(canvas, Rect(x, y, width, height), plot)
        canvas.paragraph(words, (room.x, room.bottom - below + px(12)), room.width, size=17)

    def _gain(self) -> str:
        return gain_words(self._told.gain, self.stage.options.names)

    def _heading(self, canvas: Canvas, head: str) -> None:
        """Over a list: what it is for, and its columns."""
        px, room = canvas.px, self._room(canvas)
        y = room.y + px(10)
        canvas.text(head, (room.x, y), face="strong", width=room.width // 2)
        if self._tab != "weeks":
            columns, at = _("points · right at first · median time"), (room.right - px(14), y)
            canvas.text(columns, at, size=16, colour=theme.MUTED, anchor="topright")

    # What the reader does

    def back(self) -> None:
        self.stage.open_ladder(self._level_id)

    def _open(self, tab: str) -> None:
        self._tab, self._message = tab, ""

    def _replay(self, one: RoundFigures) -> None:
        try:
            record = self.stage.store.record(one.id)
        except StoreError as error:
            self._message = str(error)
            return
        self.stage.open_replay(
            record.terms,
            record.events,
            round_words(self._reader.name, one.id, started_words(one.started)),
        )

    def _visit(self, one: SharedRound) -> None:
        self.stage.show(GuestPage(self.stage, one))

    def _save_page(self) -> None:
        names = self.stage.options.names
        self._save(history_html(self._reader.name, [self._told], names), ".html")

    def _save_table(self) -> None:
        self._save(history_csv([self._told.history]).decode("utf-8"), ".csv")

    def _save(self, text: str, ending: str) -> None:
        title = f"{self._told.title} {self._reader.name}"
        try:
            path = save_page(text, title, ending)
        except NotSaved as error:
            self._message = _("Not saved: {why}").format(why=error)
        else:
            self._message = _("Saved: {path}").format(path=path)
