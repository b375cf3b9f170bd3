# SPDX-License-Identifier: MIT
"""How a heat came out: places with the tie rule, the seed, and what to keep of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from game.engraving import EngravingError
from game.files.resources import MissingResource
from game.heats.chain import printed
from game.heats.forms import fairness
from game.heats.standings import SeatOutcome, Shows, Standing, shown, standings_of
from game.keyboards import KeyDown, KeyUp
from game.screens.school.called import called
from game.screens.school.heat_board import podium
from game.screens.school.heat_keep import (
    has_names,
    keep_file,
    names_wanted,
    short_path,
    want_names,
)
from game.screens.school.paper import PAPER_NAMES, paper_of, want_paper
from game.screens.school.seat_tile import LEAST_TEXT
from game.session.live_heat import LiveHeat
from game.store import StoreError
from game.ui import theme
from game.ui.list_page import ListPage
from game.ui.screen import Screen
from game.ui.widgets import Canvas, Control, Rect
from game.words.percents import percent
from game.words.text import _, seconds

if TYPE_CHECKING:
    from game.ui.stage import Stage

_NAMES = {SeatOutcome.DISQUALIFIED: _("not counted"), SeatOutcome.DID_NOT_PLAY: _("did not play")}

_LINE, _INDENT = 52, 56  # height of a large line, room for a place; of a window 720 high
_SMALL = 32  # height of the line of figures under a name
_HALF = 0.46  # of the width, for the large lines where everybody is listed beside them


@dataclass(frozen=True)
class Large:
    """What the class reads from ten metres, in one line or two.

    Args:
        place: such as ``1.``; empty for the class.
        words: the names, or the class's figures.
        figures: of those named, in small letters below; empty where the list has them.
    """

    place: str
    words: str
    figures: str = ""


class HeatResult(ListPage):
    """Stateful: the standings of an ended heat."""

    name = "heat-result"
    narrow = 1160
    high = 38

    def __init__(self, stage: Stage, live: LiveHeat, behind: Screen | None = None) -> None:
        super().__init__(stage)
        self.live, self._behind = live, behind
        self.standings = standings_of(live.heat)
        # What was not to be seen during the heat is not thrown at the class now either.
        self._shows = live.manners.shows
        self._names = names_wanted(stage.store)
        self._kept: Path | None = None  # the heat's file that was written last
        self._fairness = fairness(live.setup, live.heat.begun)
        self._paper = paper_of(stage.store)
        self.focus = "done"

    @property
    def title(self) -> str:
        return " · ".join(
            part for part in (self.live.manners.title, self.live.setup.level_title) if part
        )

    @property
    def below_title(self) -> str:
        return _(
            "More points come first, a sum below 0 being 0; of equal points the higher accuracy, "
            "then the shorter median time; still equal is one place for both."
        )

    @property
    def warning(self) -> str:
        """What is to be known before places are compared; empty where nothing is."""
        if self._fairness.apart:
            return _(
                "The seats had different keys, so different notes, up to {n} % harder for one than "
                "for another: compare the places with care."
            ).format(n=percent(self._fairness.apart))
        if self._fairness.parted:
            return _("The parts of a shared keyboard had different notes, equally hard.")
        return ""

    def rows(self) -> list[Control]:
        """Everybody who is not called out in the large lines."""
        called_out = {one.place for one in self._lines if one.figures}
        return [
            self.row(
                f"row-{row.seat.number}",
                called(row.seat),
                lambda: None,
                figures(row),
                mark="" if row.place is None else f"{row.place}.",
            )
            for row in (self.standings.rows if self._shows is Shows.ALL else ())
            if f"{row.place}." not in called_out
        ]

    def feet(self) -> list[Control]:
        return [
            self.button("done", _("Done"), self.back, "primary"),
            self.button("page", _("Results pages"), self._page),
            self.button("export", _("Export heat file"), self._export),
        ]

    def _feet(self, canvas: Canvas, area: Rect) -> list[Control]:
        """The buttons; small ones for the paper of the pages and for names in the file."""
        px = canvas.px
        words = _("Names in the heat file: yes") if self._names else _("Names in the heat file: no")
        wide = theme.text_width(words, "strong", px(16)) + px(14)
        rect = Rect(area.right + px(7) - wide, canvas.height - px(107), wide, px(26))
        names = Control("names", rect, words, self._turn, "quiet")
        words = _("Paper: {name}").format(name=self._paper)
        wide = theme.text_width(words, "strong", px(16)) + px(14)
        beside = Rect(rect.left - wide, rect.y, wide, rect.height)
        paper = Control("paper", beside, words, self._other_paper, "quiet")
        return [*super()._feet(canvas, area), names, paper]

    def large(self) -> list[tuple[str, str]]:
        """What the class reads from ten metres: the first places, and the class."""
        seen = shown(self.standings, self.live.manners.shows, self.live.manners.best)
        lines = [(f"{place}.", ", ".join(names)) for place, names in podium(seen.rows)]
        said = _("{n} points").format(n=f"{self.standings.total:.0f}")
        if self.live.manners.shows is Shows.CLASS:
            mean = self.standings.mean or 0.0
            said = _("a mean score of {n}").format(n=f"{mean:.0f}")
            if seen.best is not None:
                said = _("{n}; its best {best}").format(n=f"{mean:.0f}", best=f"{seen.best:.0f}")
        return [*lines, ("", _("The class: {said}").format(said=said))]

    _lines: tuple[Large, ...] = ()

    def _large(self, canvas: Canvas, width: int) -> Iterator[Large]:
        """The same as it fits. The figures of a place stand there too where all are shown, unless
        its names do not fit one line, or the figures of those who share it differ."""
        pixels, indent = canvas.px(LEAST_TEXT + 4), canvas.px(_INDENT)
        for place, words in self.large():
            room = width - (indent if place else 0)
            first, *more = theme.wrapped(words, "title", pixels, room)
            said = {figures(row) for row in self.standings.rows if f"{row.place}." == place}
            whole = self._shows is Shows.ALL and not more and len(said) == 1
            yield Large(place, first, said.pop() if whole else "")
            if more:  # what a second line does not hold is cut there: the list has it
                yield Large(" ", " ".join(more))

    def _warned(self, canvas: Canvas, width: int) -> int:
        """The height of the warning, pixels."""
        if not self.warning:
            return 0
        pixels = canvas.px(17)
        lines = len(theme.wrapped(self.warning, "text", pixels, width))
        return lines * round(theme.line_height("text", pixels) * 1.08) + canvas.px(6)

    def _left(self, area: Rect) -> int:
        """The width of the large lines."""
        return round(area.width * _HALF) if self._shows is Shows.ALL else area.width

    def layout(self, canvas: Canvas) -> list[Control]:
        self._lines = tuple(self._large(canvas, self._left(self._room(canvas))))
        return super().layout(canvas)

    def _list(self, canvas: Canvas, area: Rect) -> Rect:
        """To the right of the large lines."""
        x = area.x + self._left(area) + canvas.px(28)
        down = self._warned(canvas, area.width)
        return Rect(x, area.y + down, area.right - x, area.height - down)

    def _beside(self, canvas: Canvas, area: Rect) -> list[Control]:
        """Under the large lines, whether everybody's place is shown."""
        if self.live.manners.shows is Shows.ALL:
            return []
        hide = self._shows is Shows.ALL
        words = _("Hide the places") if hide else _("Show everybody's place")
        item, px = self.row("all", words, self._all, mark="…"), canvas.px
        y = area.y + self._warned(canvas, area.width) + px(8)
        y += sum(px(_LINE) + (px(_SMALL) if one.figures else 0) for one in self._lines)
        item.rect = Rect(area.x - px(14), y, px(420), px(self.high))
        return [item]

    def paint(self, canvas: Canvas) -> None:
        super().paint(canvas)
        px = canvas.px
        area = self.area
        y = area.y + self._warned(canvas, area.width)
        if self.warning:
            colour = theme.WRONG if self._fairness.apart else theme.MUTED
            canvas.paragraph(self.warning, area.topleft, area.width, size=17, colour=colour)
        end = area.x + self._left(area)
        for one in self._lines:
            x = area.x + (px(_INDENT) if one.place else 0)
            for text, left, colour in (
                (one.place, area.x, theme.ACCENT),
                (one.words, x, theme.INK),
            ):
                canvas.text(
                    text,
                    (left, y + px(_LINE) // 2),
                    size=LEAST_TEXT + 4,
                    face="title",
                    colour=colour,
                    anchor="midleft",
                    width=end - left,
                )
            y += px(_LINE)
            if one.figures:
                at = (x, y + px(_SMALL) // 2 - px(6))
                canvas.text(
                    one.figures, at, size=18, colour=theme.MUTED, anchor="midleft", width=end - x
                )
                y += px(_SMALL)
        words = _("Seed {seed} · chain {chain}").format(
            seed=self.live.setup.seed, chain=printed(self.live.chain)
        )
        canvas.text(
            words,
            (area.right, canvas.height - px(66)),
            size=15,
            colour=theme.MUTED,
            anchor="midright",
        )

    def _all(self) -> None:
        hidden = self._shows is not Shows.ALL
        self._shows = Shows.ALL if hidden else self.live.manners.shows

    def piano(self, event: KeyDown | KeyUp) -> None:
        """Nothing: the class still sits at the keys, and this page is the teacher's."""

    def hints(self) -> list[tuple[str, str]]:
        return [("↑ ↓ ← →", _("move")), (_("Enter"), _("choose")), (_("Esc"), _("back"))]

    def leave_page(self) -> None:
        if self._behind is None:
            self.stage.classroom.leave_heat(self.live)
        else:
            self.stage.go.show(self._behind)

    def _page(self) -> None:
        """The pages to look at and to print."""
        try:
            path = self.stage.classroom.keep_results(self.live)
        except OSError as error:
            self.say(_("The pages cannot be written: {why}.").format(why=error.strerror or error))
        except (EngravingError, MissingResource) as error:
            self.say(str(error))
        else:
            self.say(_("Result, slips and table written to {path}").format(path=path), good=True)

    def keep(self) -> None:
        """Write the heat's file, unasked: the heat has just ended."""
        self._write()

    def _export(self) -> None:
        path = self._write()
        if path is not None:
            said = _("Written with names to {path}") if has_names(path) else _("Written to {path}")
            self.say(said.format(path=path), good=True)

    def _write(self) -> Path | None:
        """Write the heat's file; where that fails, say so."""
        from game.paper.saving import NotSaved  # here: few visits need it

        try:
            self._kept = keep_file(self.live, names=self._names)
        except NotSaved as error:
            self.say(
                _("The heat is in the store, but its file cannot be written: {why}.").format(
                    why=error
                )
            )
            return None
        return self._kept

    def _other_paper(self) -> None:
        """The other size of paper."""
        place = PAPER_NAMES.index(self._paper) + 1
        self._paper = PAPER_NAMES[place % len(PAPER_NAMES)]
        try:
            want_paper(self.stage.store, self._paper)
        except StoreError as error:
            self.say(str(error))

    def _turn(self) -> None:
        """Names in the heat file, or none."""
        self._names = not self._names
        try:
            want_names(self.stage.store, self._names)
        except StoreError as error:
            self.say(str(error))

    def message(self, canvas: Canvas) -> str:
        """Where the file is that was written last, and what of names; of a long path its end."""
        if self._kept is None:
            return super().message(canvas)
        path = self._kept
        said = _("Heat file, no names: {path}")
        if has_names(path):
            said = _("Heat file, with names: {path}")
        ways = [short_path(path), str(Path("…", path.parent.name, path.name)), path.name]
        room, pixels = canvas.width // 2, canvas.px(15)
        words = [said.format(path=way) for way in ways]
        fit = (one for one in words if theme.text_width(one, "text", pixels) <= room)
        return next(fit, words[-1])


def figures(row: Standing) -> str:
    """A seat's figures on one line."""
    if row.outcome is not SeatOutcome.PLACED:
        return _NAMES[row.outcome]
    return _("{points} points · {right} of {slots} · {median}").format(
        points=f"{row.points:.0f}",
        right=row.score.right,
        slots=row.score.slots,
        median=seconds(row.score.median_s),
    )
