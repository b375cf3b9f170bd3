# SPDX-License-Identifier: MIT
"""How a reader gets on: the grand staff with what is known of it, plots, misreads."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import partial
from typing import TYPE_CHECKING

import pygame

from game.engraving import EngravingError
from game.engraving.marks import Painted
from game.engraving.surface import rasterised
from game.engraving.svg import Frame
from game.notation import NoteNames
from game.paper.columns import Column, ColumnStaff, both_rows
from game.paper.plot import Plot
from game.paper.progress_chart import LOOKS, band_key, known_staff
from game.paper.progress_marks import example_marks
from game.paper.progress_words import (
    NOTHING,
    SOURCES,
    altered_words,
    counting_words,
    days_line,
    example_words,
    known_words,
    misread_title,
    misread_words,
    place_name,
    place_words,
    slope_plot,
    tempo_plot,
)
from game.paper.saving import saved_words
from game.reader import Band, MisreadShare, Progress
from game.screens.reader.plot import draw_plot
from game.session.profiles import progress_of
from game.ui import theme
from game.ui.button_row import button
from game.ui.scroll import drawn, in_columns, prose
from game.ui.tabbed import Tabbed
from game.ui.widgets import Canvas, Control, Rect
from game.words.percents import percent
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage

_TABS = (("staff", _("The staff")), ("time", _("Over time")), ("misreads", _("Misreads")))
_TEXT, _LINE, _ROW = 15, 18, 38  # of a figure and a name, over the staff or under it
_SIDE = 286  # of the key beside the staff


class ProgressPage(Tabbed):
    """Stateful: which tab and which place are looked at."""

    name = "progress"

    def __init__(self, stage: Stage, reader: str, progress: Progress) -> None:
        super().__init__(stage, _TABS)
        self._reader, self._progress = reader, progress
        self._place = next(
            (n for n, place in enumerate(progress.places) if place.estimate is not None), 0
        )
        self._drawn: tuple[tuple[int, int], pygame.Surface, ColumnStaff, Frame] | None = None
        self._rows: tuple[tuple[int, ...], dict[bool, int]] = (), {True: 1, False: 1}
        self._spots: list[tuple[int, int, int]] = []  # x, y and index of each place in view
        self.focus = "tab-staff"

    @classmethod
    def of(cls, stage: Stage) -> ProgressPage:
        """The page of the reader who plays; while it is worked out, the window says so.

        Raises:
            StoreError: the store cannot be read.
        """
        reader = stage.sitting.reader
        assert reader is not None
        canvas = stage.window.canvas
        canvas.clear()
        words = _("Looking through what was read …")
        middle = canvas.width // 2, canvas.height // 2
        canvas.text(words, middle, size=24, face="serif", anchor="center")
        canvas.flip()
        found = progress_of(stage.store, reader.id, stage.sitting.profile, stage.levels.ladder)
        return cls(stage, reader.name, found)

    @property
    def title(self) -> str:
        return self._reader

    @property
    def below_title(self) -> str:
        progress = self._progress
        return days_line(progress.days, progress.today) if progress.rounds else NOTHING

    def feet(self) -> list[Control]:
        return [
            button("back", _("Done"), self.back, "primary"),
            button("save", _("Save as a page"), self._save),
            button("find", _("Find my level"), self.stage.rounds.find_level),
        ]

    def above_feet(self, canvas: Canvas, rect: Rect) -> list[Control]:
        """The place that is looked at."""
        if self._tab != "staff" or not self._progress.places:
            return []
        place = self._progress.places[self._place]
        note = place_name(place.clef, place.position, self._names)
        words = f"{note}, {place_words(place.clef, place.position)}{altered_words(place)}"
        known = known_words(place, self._progress.now)
        known = known.partition(":")[0] if canvas.narrow else known  # else it is on the sheet
        act, move = partial(self._move, 1), self._move
        return [Control("place", rect, words, act, "row", known, adjust=move)]

    def sheet(self, canvas: Canvas, room: Rect) -> list[Control]:
        self._spots = []
        try:
            sheets = {"staff": self._staff, "time": self._time, "misreads": self._misreads}
            return sheets[self._tab](canvas, room)
        except EngravingError as error:
            return prose(canvas, str(error), room, colour=theme.WRONG)

    @property
    def _names(self) -> NoteNames:
        return self.stage.settings.now.names

    # The staff

    def _staff(self, canvas: Canvas, room: Rect) -> list[Control]:
        """The staff with the key to it beside it, or below."""
        px, beside = canvas.px, 0 if canvas.narrow else canvas.px(_SIDE)
        if self._drawn is None or self._drawn[0] != (canvas.width, canvas.height):
            self._draw_staff(canvas, Rect(0, 0, room.width - beside, room.height))
        assert self._drawn is not None
        high = self._drawn[1].get_height() + sum(self._rows[1].values()) * px(_ROW)
        rows = [drawn(Rect(room.x, room.y, room.width - beside, high), self._paint_staff)]
        if beside:
            side = Rect(room.right - px(_SIDE - 24), room.y + px(4), px(_SIDE - 24), 0)
            return rows + self._key(canvas, side)
        below = Rect(room.x, rows[0].rect.bottom + px(8), room.width, 0)
        if self._progress.places:
            words = known_words(self._progress.places[self._place], self._progress.now)
            rows += prose(canvas, f"{words}.", below, size=17)
            below.y = rows[-1].rect.bottom + px(10)
        return rows + self._key(canvas, below)

    def _paint_staff(self, canvas: Canvas, room: Rect) -> None:
        px = canvas.px
        assert self._drawn is not None
        _size, picture, staff, frame = self._drawn
        row_of, deep = self._rows
        left, top = room.x - px(4), room.y + deep[True] * px(_ROW)
        chosen = self._progress.places[self._place] if self._progress.places else None
        bottom = top + picture.get_height()
        for place, column, out in zip(self._progress.places, staff.columns, row_of, strict=True):
            x, y = frame.to_px(column.x, self._height_of(column))
            x, y = round(left + x), round(top + y)
            self._spots.append((x, y, self._progress.places.index(place)))
            row = top - (out + 1) * px(_ROW) if column.upper else bottom + out * px(_ROW)
            if place is chosen:
                width = round(1.9 * frame.space_px)
                high, low = (row, y) if column.upper else (y, row + px(_ROW))
                wash = Rect(x - width // 2, high, width, low - high)
                canvas.surface.fill(theme.ACCENT_WASH, wash)
            self._figure(canvas, column, (x, row))
        canvas.surface.blit(picture, (left, top))

    def _draw_staff(self, canvas: Canvas, room: Rect) -> None:
        staff = known_staff(self._progress.places, self.stage.engraver.engrave, theme.PAPER)
        for space in range(max(6, canvas.height // 24), 2, -1):
            frame = Frame(space, staff.chart.right, staff.chart.above, staff.chart.below)
            self._rows = self._in_rows(canvas, staff, space)
            high = frame.size[1] + sum(self._rows[1].values()) * canvas.px(_ROW)
            if frame.size[0] <= room.width and (high <= room.height or space <= 6):
                break
        picture = rasterised(staff.chart.items, frame)
        self._drawn = (canvas.width, canvas.height), picture, staff, frame

    def _in_rows(
        self, canvas: Canvas, staff: ColumnStaff, space: int
    ) -> tuple[tuple[int, ...], dict[bool, int]]:
        """The rows of figures and names, 0 next to the staff, in which no two touch."""
        pixels, labels = canvas.px(_TEXT), list[tuple[bool, float, float]]()
        for one in staff.columns:
            words = (one.figure, one.called(self._names))
            wide = max(theme.text_width(text, "text", pixels) for text in words)
            labels.append((one.upper, one.x * space, wide))
        return both_rows(labels, canvas.px(5))

    @staticmethod
    def _height_of(column: Column) -> float:
        """The y of a place, in staff spaces."""
        return (8 - column.head.position) / 2 + (0 if column.upper else 12)

    def _figure(self, canvas: Canvas, column: Column, at: tuple[int, int]) -> None:
        x, y = at
        figures, names = (0, _LINE) if column.upper else (_LINE, 0)  # the names next to the staff
        canvas.text(column.figure, (x, y + canvas.px(figures)), size=_TEXT, anchor="midtop")
        canvas.text(
            column.called(self._names),
            (x, y + canvas.px(names)),
            size=_TEXT,
            colour=theme.MUTED,
            anchor="midtop",
        )

    def _key(self, canvas: Canvas, room: Rect) -> list[Control]:
        """What the heads and figures mean, and what is known of signs, line by line."""
        px, rows = canvas.px, list[Control]()
        keys = [(band_key(band, theme.PAPER), band.value) for band in LOOKS]
        keys.append((band_key(Band.GOOD, theme.PAPER, few=True), _("? few answers lately")))
        keys.append((band_key(Band.UNREAD, theme.PAPER), Band.UNREAD.value))
        rows += prose(canvas, _("Per cent right"), room, size=17, face="strong")
        room.y = rows[-1].rect.bottom + px(4)
        for items, words in keys:
            line = Rect(room.topleft, (room.width, px(26)))
            rows.append(drawn(line, partial(self._band, items, words)))
            room.y += px(26)
        room.y += px(12)
        rows += prose(canvas, _("By what alters the note"), room, size=17, face="strong")
        room.y = rows[-1].rect.bottom + px(4)
        for known in self._progress.sources:
            value = "–" if known.certainty is None else f"{percent(known.certainty.mean)} %"
            beside = Rect(room.x + px(58), room.y, room.width - px(58), 0)
            rows.append(drawn(Rect(room.topleft, (px(46), px(20))), partial(self._share, value)))
            rows += prose(canvas, SOURCES[known.source], beside, size=16)
            room.y = rows[-1].rect.bottom + px(3)
        return rows

    @staticmethod
    def _band(items: Sequence[Painted], words: str, canvas: Canvas, rect: Rect) -> None:
        px, frame = canvas.px, Frame(canvas.px(15), 0.0, 1.0, -15.0)  # a head's height, no staff
        picture = rasterised(items, frame)
        canvas.surface.blit(picture, (rect.x - px(14), rect.y - px(4)))
        canvas.text(words, (rect.x + px(38), rect.y), size=16)

    @staticmethod
    def _share(value: str, canvas: Canvas, rect: Rect) -> None:
        canvas.text(value, rect.topright, size=16, anchor="topright")

    def _move(self, by: int) -> None:
        self._place = (self._place + by) % len(self._progress.places)

    # Over time

    def _time(self, canvas: Canvas, room: Rect) -> list[Control]:
        progress, px = self._progress, canvas.px
        counting = progress.counting
        plots = [tempo_plot(progress.tempo), *(slope_plot(progress, clef) for clef in counting)]
        words = [self._tempo_words(), *map(counting_words, counting.values())]
        parts = [partial(self._plot, plot, line) for plot, line in zip(plots, words, strict=True)]
        columns = 1 if canvas.narrow else 3
        return in_columns(parts, room, columns, gap=px(34), high=max(px(270), room.height))

    @staticmethod
    def _plot(plot: Plot, words: str, canvas: Canvas, rect: Rect) -> None:
        px, below = canvas.px, canvas.px(86)
        draw_plot(canvas, Rect(rect.x, rect.y, rect.width, rect.height - below - px(6)), plot)
        if plot.points:
            more = f" {_('Shaded')}: {plot.band}." if plot.band else ""
            at = rect.x, rect.bottom - below + px(4)
            canvas.paragraph(words + more, at, rect.width, size=16)

    def _tempo_words(self) -> str:
        points = self._progress.tempo.points
        if not points:
            return ""
        if len(points) == 1:
            return _("{now} a minute.").format(now=f"{points[0].median:.0f}")
        words = _("Lately {now} a minute; at first {then}.")
        return words.format(now=f"{points[-1].median:.0f}", then=f"{points[0].median:.0f}")

    # Misreads

    def _misreads(self, canvas: Canvas, room: Rect) -> list[Control]:
        misreads = self._progress.misreads
        if not misreads:
            return [drawn(room, self._no_misread)]
        px, gap = canvas.px, canvas.px(16)
        across = max(1, (room.width + gap) // (px(270) + gap))
        high = room.height // max(1, room.height // (px(220) + gap))
        parts = [partial(self._misread, misread) for misread in misreads]
        return in_columns(parts, room, across, gap=gap, high=high)

    @staticmethod
    def _no_misread(canvas: Canvas, room: Rect) -> None:
        words, colour = _("No misread so far."), theme.MUTED
        canvas.text(words, room.center, size=24, face="serif", colour=colour, anchor="center")

    def _misread(self, misread: MisreadShare, canvas: Canvas, rect: Rect) -> None:
        px, example = canvas.px, misread.example
        card = Rect(rect.topleft, (rect.width, rect.height - px(14)))
        canvas.panel(card)
        x, width = card.x + px(14), card.width - px(28)
        title, words = misread_title(misread), misread_words(misread, self._progress.misread_count)
        canvas.text(title, (x, card.y + px(8)), size=19, face="strong", width=width)
        at = x, card.y + px(33)
        canvas.text(words, at, size=15, colour=theme.MUTED, width=width)
        if example is None:
            return
        music = Rect(card.x, card.y + px(56), card.width, card.height - px(90))
        marks = example_marks(example, theme.WRONG)
        canvas.sample(self.stage.engraver, example.prompt, music, *marks)
        said = example_words(example, self._names)
        canvas.text(said, (x, card.bottom - px(30)), size=16, width=width)

    # What can be done

    def _save(self) -> None:
        from game.paper.progress_html import progress_html  # here: few visits need it

        self._message = _("Writing the page …")
        self.draw(self.stage.window.canvas)
        self.stage.window.canvas.flip()
        day = date.fromordinal(self._progress.today).isoformat()
        try:
            page = progress_html(
                self._reader, self._progress, self.stage.engraver.engrave, self._names
            )
        except EngravingError as error:
            self._message = _("Not saved: {why}").format(why=error)
        else:
            self._message = saved_words(page, f"Progress of {self._reader} {day}")

    def mouse(self, event: pygame.event.Event) -> None:
        if (
            event.type == pygame.MOUSEBUTTONDOWN
            and event.button == 1
            and self._hit(event.pos) is None
        ):
            self._point(event.pos)
        else:
            super().mouse(event)

    def _point(self, at: tuple[int, int]) -> None:
        """Look at the place whose note or figure is pointed at."""
        if self._drawn is None or not self._spots:
            return
        column = self._drawn[3].space_px
        near = [
            (abs(x - at[0]) + abs(y - at[1]), index)
            for x, y, index in self._spots
            if abs(x - at[0]) <= column
        ]
        if near:
            self._place, self.focus = min(near)[1], "place"

    def back(self) -> None:
        self.stage.go.open_ladder()
