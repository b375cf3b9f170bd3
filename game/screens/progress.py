# SPDX-License-Identifier: MIT
"""How a reader gets on: the grand staff with what is known of it, plots, misreads."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import TYPE_CHECKING

import pygame

from game.engraving import EngravingError
from game.engraving.surface import rasterised
from game.engraving.svg import Frame
from game.notation import Clef, NoteNames
from game.percents import percent
from game.profiles import progress_of
from game.reader import Band, Progress
from game.reports.columns import both_rows
from game.reports.progress_chart import LOOKS, Figure, KnownStaff, band_key, known_staff
from game.reports.progress_marks import example_marks
from game.reports.progress_words import (
    NOTHING,
    SOURCES,
    altered_words,
    counting_words,
    days_line,
    example_words,
    known_words,
    misread_title,
    misread_words,
    pitch_at,
    place_words,
    slope_plot,
    tempo_plot,
)
from game.reports.saving import NotSaved, save_page
from game.screens import theme
from game.screens.plot import draw_plot
from game.screens.screen import Screen
from game.screens.text import _
from game.screens.widgets import Canvas, Control, Rect

if TYPE_CHECKING:
    from game.screens.stage import Stage

_TABS = ("staff", "time", "misreads")
_TOP, _FOOT = 112, 134
_TEXT, _LINE, _ROW = 15, 18, 38  # of a figure and a name, over the staff or under it
_SIDE = 286  # of the key beside the staff


class ProgressPage(Screen):
    """Stateful: which tab, which place, which page of misreads are looked at."""

    name = "progress"

    def __init__(self, stage: Stage, reader: str, progress: Progress) -> None:
        super().__init__(stage)
        self._reader, self._progress = reader, progress
        self._tab = "staff"
        self._place = next(
            (n for n, place in enumerate(progress.places) if place.estimate is not None), 0
        )
        self._page, self._pages = 0, 1
        self._message = ""
        self._drawn: tuple[int, pygame.Surface, KnownStaff, Frame] | None = None
        self._rows: tuple[tuple[int, ...], dict[bool, int]] = (), {True: 1, False: 1}
        self._spots: list[tuple[int, int, int]] = []  # x, y and index of each place in view
        self.focus = "tab-staff"

    @classmethod
    def of(cls, stage: Stage) -> ProgressPage:
        """The page of the reader who plays; while it is worked out, the window says so.

        Raises:
            StoreError: the store cannot be read.
        """
        reader = stage.visit.reader
        assert reader is not None
        canvas = stage.canvas
        canvas.clear()
        words = _("Looking through what was read …")
        middle = canvas.width // 2, canvas.height // 2
        canvas.text(words, middle, size=24, face="serif", anchor="center")
        canvas.flip()
        found = progress_of(stage.store, reader.id, stage.profile, stage.ladder)
        return cls(stage, reader.name, found)

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        controls, right = list[Control](), canvas.width - px(40)
        titles = {"staff": _("The staff"), "time": _("Over time"), "misreads": _("Misreads")}
        for number, tab in enumerate(_TABS):
            rect = Rect(right - px(116) * (len(_TABS) - number), px(22), px(108), px(34))
            controls.append(
                Control(f"tab-{tab}", rect, titles[tab], partial(self._open, tab), "quiet")
            )
        y = canvas.height - px(116)
        if self._tab == "staff" and self._progress.places:
            place = self._progress.places[self._place]
            note = self._names.name(pitch_at(place.clef, place.position), octave=True)
            controls.append(
                Control(
                    "place",
                    Rect(px(40), y - px(44), canvas.width - px(80), px(36)),
                    f"{note}, {place_words(place.clef, place.position)}{altered_words(place)}",
                    partial(self._move, 1),
                    "row",
                    known_words(place, self._progress.now),
                    adjust=self._move,
                )
            )
        controls.append(
            Control("back", Rect(px(40), y, px(160), px(46)), _("Done"), self.back, "primary")
        )
        save = Rect(px(214), y, px(200), px(46))
        controls.append(Control("save", save, _("Save as a page"), self._save))
        find = Rect(px(428), y, px(200), px(46))
        controls.append(Control("find", find, _("Find my level"), self.stage.find_level))
        if self._tab == "misreads" and self._pages > 1:
            more = Rect(px(642), y, px(200), px(46))
            controls.append(Control("more", more, _("More misreads"), self._turn))
        return controls

    @property
    def _names(self) -> NoteNames:
        return self.stage.options.names

    def paint(self, canvas: Canvas) -> None:
        px, progress = canvas.px, self._progress
        canvas.text(
            self._reader,
            (px(40), px(40)),
            size=30,
            face="title",
            anchor="midleft",
            width=canvas.width - px(460),
        )
        line = days_line(progress.days, progress.today) if progress.rounds else NOTHING
        canvas.text(
            line, (px(40), px(68)), size=18, colour=theme.MUTED, width=canvas.width - px(80)
        )
        tab = next(item for item in self.controls if item.id == f"tab-{self._tab}").rect
        canvas.surface.fill(
            theme.ACCENT, Rect(tab.x + px(8), tab.bottom, tab.width - px(16), px(3))
        )
        room = Rect(px(40), px(_TOP), canvas.width - px(80), canvas.height - px(_TOP) - px(_FOOT))
        self._spots = []
        try:
            {"staff": self._staff, "time": self._time, "misreads": self._misreads}[self._tab](
                canvas, room
            )
        except EngravingError as error:
            canvas.paragraph(str(error), room.topleft, room.width, colour=theme.WRONG)
        if self._message:  # its own line: a path is long, and buttons come and go
            at = (px(40), canvas.height - px(56))
            canvas.text(self._message, at, size=15, anchor="midleft", width=canvas.width - px(80))
        canvas.hints(self.menu_hints())

    # The staff

    def _staff(self, canvas: Canvas, room: Rect) -> None:
        px = canvas.px
        room = Rect(room.x, room.y, room.width, room.height - px(34))
        if self._drawn is None or self._drawn[0] != canvas.width * 10_000 + canvas.height:
            self._draw_staff(canvas, Rect(0, 0, room.width - px(_SIDE), room.height))
        assert self._drawn is not None
        _size, picture, staff, frame = self._drawn
        row_of, deep = self._rows
        left, top = room.x - px(4), room.y + deep[True] * px(_ROW)
        chosen = self._progress.places[self._place] if self._progress.places else None
        bottom = top + picture.get_height()
        for figure, out in zip(staff.figures, row_of, strict=True):
            x, y = frame.to_px(staff.chart.x(figure.column), self._height_of(figure))
            x, y = round(left + x), round(top + y)
            self._spots.append((x, y, self._progress.places.index(figure.place)))
            row = top - (out + 1) * px(_ROW) if figure.upper else bottom + out * px(_ROW)
            if figure.place is chosen:
                width = round(1.9 * frame.space_px)
                high, low = (row, y) if figure.upper else (y, row + px(_ROW))
                wash = Rect(x - width // 2, high, width, low - high)
                canvas.surface.fill(theme.ACCENT_WASH, wash)
            self._figure(canvas, figure, (x, row))
        canvas.surface.blit(picture, (left, top))
        self._key(
            canvas, Rect(room.right - px(_SIDE) + px(24), room.y, px(_SIDE - 24), room.height)
        )

    def _draw_staff(self, canvas: Canvas, room: Rect) -> None:
        staff = known_staff(self._progress.places, self.stage.engraver.engrave, theme.PAPER)
        for space in range(max(6, canvas.height // 24), 5, -1):
            frame = Frame(space, staff.chart.right, staff.above, staff.below)
            self._rows = self._in_rows(canvas, staff, space)
            high = frame.size[1] + sum(self._rows[1].values()) * canvas.px(_ROW)
            if frame.size[0] <= room.width and high <= room.height:
                break
        picture = rasterised(staff.chart.items, frame)
        self._drawn = canvas.width * 10_000 + canvas.height, picture, staff, frame

    def _in_rows(
        self, canvas: Canvas, staff: KnownStaff, space: int
    ) -> tuple[tuple[int, ...], dict[bool, int]]:
        """The rows of figures and names, 0 next to the staff, in which no two touch."""
        pixels, labels = canvas.px(_TEXT), list[tuple[bool, float, float]]()
        for one in staff.figures:
            words = (one.text, self._called(one))
            wide = max(theme.text_width(text, "text", pixels) for text in words)
            labels.append((one.upper, staff.chart.x(one.column) * space, wide))
        return both_rows(labels, canvas.px(5))

    def _called(self, figure: Figure) -> str:
        pitch = pitch_at(figure.place.clef, figure.place.position)
        return self._names.name(pitch, octave=True)

    @staticmethod
    def _height_of(figure: Figure) -> float:
        """The y of a place, in staff spaces."""
        return (8 - figure.place.position) / 2 + (0 if figure.upper else 12)

    def _figure(self, canvas: Canvas, figure: Figure, at: tuple[int, int]) -> None:
        x, y = at
        figures, names = (0, _LINE) if figure.upper else (_LINE, 0)  # the names next to the staff
        canvas.text(figure.text, (x, y + canvas.px(figures)), size=_TEXT, anchor="midtop")
        canvas.text(
            self._called(figure),
            (x, y + canvas.px(names)),
            size=_TEXT,
            colour=theme.MUTED,
            anchor="midtop",
        )

    def _key(self, canvas: Canvas, room: Rect) -> None:
        px = canvas.px
        y, space = room.y + px(4), px(15)
        keys = [(band_key(band, theme.PAPER), band.value) for band in LOOKS]
        keys.append((band_key(Band.GOOD, theme.PAPER, few=True), _("? few answers lately")))
        keys.append((band_key(Band.UNREAD, theme.PAPER), Band.UNREAD.value))
        canvas.text(_("Per cent right"), (room.x, y), size=17, face="strong")
        y += px(28)
        for items, words in keys:
            frame = Frame(space, 0.0, 1.0, -15.0)  # a head's own height, no staff
            picture = rasterised(items, frame)
            canvas.surface.blit(picture, (room.x - px(14), y - px(4)))
            canvas.text(words, (room.x + px(38), y), size=16)
            y += px(26)
        y += px(16)
        canvas.text(_("By what alters the note"), (room.x, y), size=17, face="strong")
        y += px(28)
        for known in self._progress.sources:
            value = "–" if known.certainty is None else f"{percent(known.certainty.mean)} %"
            canvas.text(value, (room.x + px(46), y), size=16, anchor="topright")
            y = canvas.paragraph(
                SOURCES[known.source], (room.x + px(58), y), room.width - px(58), size=16
            )
            y += px(3)

    def _move(self, by: int) -> None:
        self._place = (self._place + by) % len(self._progress.places)

    # Over time

    def _time(self, canvas: Canvas, room: Rect) -> None:
        px, progress = canvas.px, self._progress
        gap, below = px(34), px(78)
        width = (room.width - 2 * gap) // 3
        plots = [tempo_plot(progress.tempo), *(slope_plot(progress, clef) for clef in Clef)]
        words = [self._tempo_words(), *(counting_words(progress.counting[clef]) for clef in Clef)]
        for number, (plot, line) in enumerate(zip(plots, words, strict=True)):
            x = room.x + number * (width + gap)
            draw_plot(canvas, Rect(x, room.y, width, room.height - below - px(14)), plot)
            if plot.points:
                more = f" {_('Shaded')}: {plot.band}." if plot.band else ""
                y = room.bottom - below + px(4)
                canvas.paragraph(line + more, (x, y), width, size=16)

    def _tempo_words(self) -> str:
        points = self._progress.tempo.points
        if not points:
            return ""
        if len(points) == 1:
            return _("{now} a minute.").format(now=f"{points[0].median:.0f}")
        words = _("Lately {now} a minute; at first {then}.")
        return words.format(now=f"{points[-1].median:.0f}", then=f"{points[0].median:.0f}")

    # Misreads

    def _misreads(self, canvas: Canvas, room: Rect) -> None:
        px, misreads = canvas.px, self._progress.misreads
        if not misreads:
            canvas.text(
                _("No misread so far."),
                room.center,
                size=24,
                face="serif",
                colour=theme.MUTED,
                anchor="center",
            )
            return
        gap = px(16)
        across = max(1, (room.width + gap) // (px(270) + gap))
        down = max(1, (room.height + gap) // (px(220) + gap))
        fits = across * down
        self._pages = -(-len(misreads) // fits)
        self._page %= self._pages
        width = (room.width - gap * (across - 1)) // across
        height = (room.height - gap * (down - 1)) // down
        for number, misread in enumerate(misreads[self._page * fits : (self._page + 1) * fits]):
            row, column = divmod(number, across)
            card = Rect(
                room.x + column * (width + gap), room.y + row * (height + gap), width, height
            )
            canvas.panel(card)
            x, inner = card.x + px(14), width - px(28)
            canvas.text(
                misread_title(misread), (x, card.y + px(8)), size=19, face="strong", width=inner
            )
            canvas.text(
                misread_words(misread, self._progress.misread_count),
                (x, card.y + px(33)),
                size=15,
                colour=theme.MUTED,
                width=inner,
            )
            example = misread.example
            if example is None:
                continue
            music = Rect(card.x, card.y + px(56), width, height - px(90))
            canvas.sample(
                self.stage.engraver, example.prompt, music, *example_marks(example, theme.WRONG)
            )
            canvas.text(
                example_words(example, self._names),
                (x, card.bottom - px(30)),
                size=16,
                width=inner,
            )

    def _turn(self, by: int = 1) -> None:
        self._page = (self._page + by) % self._pages

    # What can be done

    def _open(self, tab: str) -> None:
        self._tab, self._message = tab, ""

    def _save(self) -> None:
        from game.reports.progress_html import progress_html  # here: few visits need it

        self._message = _("Writing the page …")
        self.draw(self.stage.canvas)
        self.stage.canvas.flip()
        day = date.fromordinal(self._progress.today).isoformat()
        try:
            page = progress_html(
                self._reader, self._progress, self.stage.engraver.engrave, self._names
            )
            path = save_page(page, f"Progress of {self._reader} {day}")
        except (NotSaved, EngravingError) as error:
            self._message = _("Not saved: {why}").format(why=error)
        else:
            self._message = _("Saved: {path}").format(path=path)

    @property
    def turns(self) -> str:
        return _("page")

    def key(self, event: pygame.event.Event) -> None:
        if event.key in (pygame.K_PAGEDOWN, pygame.K_PAGEUP):
            by = 1 if event.key == pygame.K_PAGEDOWN else -1
            self._open(_TABS[(_TABS.index(self._tab) + by) % len(_TABS)])
            self.focus = f"tab-{self._tab}"
        else:
            super().key(event)

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
        self.stage.open_ladder()
