# SPDX-License-Identifier: MIT
"""How a heat came out: places with the tie rule, the seed, and what to keep of it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from game import __version__
from game.heats.chain import heat_file, printed
from game.heats.standings import Outcome, Shows, Standing, standings_of
from game.live_heat import LiveHeat
from game.resources import documents_folder
from game.screens import theme
from game.screens.files import unused_path
from game.screens.list_page import ListPage
from game.screens.text import _, seconds
from game.screens.widgets import Canvas, Control

if TYPE_CHECKING:
    from game.screens.stage import Stage

_NAMES = {Outcome.DISQUALIFIED: _("not counted"), Outcome.DID_NOT_PLAY: _("did not play")}


class HeatResult(ListPage):
    """Stateful: the standings of an ended heat."""

    name = "heat-result"
    narrow = 840

    def __init__(self, stage: Stage, live: LiveHeat) -> None:
        super().__init__(stage)
        self.live = live
        self.standings = standings_of(live.heat)
        # What was not to be seen during the heat is not thrown at the class now either.
        self._shows = live.manners.shows

    @property
    def title(self) -> str:
        return " · ".join(
            part for part in (self.live.manners.title, self.live.setup.level_title) if part
        )

    @property
    def below_title(self) -> str:
        return _(
            "More points come first; of equal points the higher accuracy, then the shorter median "
            "time; still equal is one place for both."
        )

    def rows(self) -> list[Control]:
        found = []
        for row in self.standings.rows:
            if self._shows is Shows.CLASS:
                break
            if self._shows is Shows.PODIUM and (row.place is None or row.place > 3):
                continue
            found.append(
                self.row(
                    f"row-{row.seat.number}",
                    row.seat.title,
                    lambda: None,
                    figures(row),
                    mark="" if row.place is None else f"{row.place}.",
                )
            )
        total, mean = self.standings.total, self.standings.mean
        if mean is not None:
            best = self.live.manners.best
            words = _("{total} points · mean score {mean}").format(
                total=f"{total:.0f}", mean=f"{mean:.0f}"
            )
            if best is not None:
                words += " · " + _("its best {n}").format(n=f"{best:.0f}")
            found.append(self.row("class", _("The class"), lambda: None, words))
        if self._shows is not Shows.ALL:
            found.append(self.row("all", _("Show everybody's place"), self._all, mark="…"))
        return found

    def feet(self) -> list[Control]:
        return [
            self.button("done", _("Done"), self.back, "primary"),
            self.button("page", _("Results page"), self._page),
            self.button("export", _("Export heat file"), self._export),
        ]

    def paint(self, canvas: Canvas) -> None:
        super().paint(canvas)
        px = canvas.px
        area = self._area(canvas)
        words = _("Seed {seed} · chain {chain}").format(
            seed=self.live.setup.seed, chain=printed(self.live.chain)
        )
        canvas.text(
            words,
            (area.right, canvas.height - px(81)),
            size=15,
            colour=theme.MUTED,
            anchor="midright",
        )

    def _all(self) -> None:
        self._shows = Shows.ALL

    def leave_page(self) -> None:
        self.stage.classroom.open()

    def _page(self) -> None:
        """The pages to look at and to print."""
        try:
            path = self.stage.classroom.keep_results(self.live)
        except OSError as error:
            self.say(_("The pages cannot be written: {why}.").format(why=error.strerror or error))
            return
        if path is None:
            self.say(_("There are no pages of a heat in this version."))
        else:
            self.say(_("Written to {path}").format(path=path), good=True)

    def _export(self) -> None:
        data = heat_file(
            self.live.setup, self.live.events, program=f"stavewise {__version__}", names=True
        )
        name = f"{self.title} {self.live.setup.seed}"
        try:
            path = unused_path(documents_folder(), name, ".heat.json")
            path.write_text(json.dumps(data, ensure_ascii=False, indent=1), encoding="utf-8")
        except OSError as error:
            self.say(_("The file cannot be written: {why}.").format(why=error.strerror))
            return
        self.say(_("Written to {path}").format(path=path), good=True)


def figures(row: Standing) -> str:
    """A seat's figures on one line."""
    if row.outcome is not Outcome.PLACED:
        return _NAMES[row.outcome]
    return _("{points} points · {right} of {slots} · {median}").format(
        points=f"{row.points:.0f}",
        right=row.score.right,
        slots=row.score.slots,
        median=seconds(row.score.median_s),
    )
