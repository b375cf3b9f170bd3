# SPDX-License-Identifier: MIT
"""The ladder as the contents page of a music book, with the chosen level beside it."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import pygame

from game.levels import Rung, playable
from game.rounds import COMPARED
from game.screens.reader.level_panel import OFFERS, LevelPanel
from game.ui import theme
from game.ui.button_row import at_head, button
from game.ui.screen import Screen
from game.ui.scroll import Scroll
from game.ui.widgets import Canvas, Control, Rect
from game.words.text import _, plural

if TYPE_CHECKING:
    from game.ui.stage import Stage


_ROWS = ("stage-", "level-")  # what the list is made of
_BEGIN = "counted"  # the button that begins the level
_LOOK_S = 1.0  # how often level files are looked for


class Contents(Screen):
    """Stateful: the ladder of one reader, and which level is looked at."""

    name = "ladder"

    def __init__(self, stage: Stage, level_id: str = "") -> None:
        super().__init__(stage)
        reader = stage.sitting.reader
        assert reader is not None
        self._bests = stage.store.bests(reader.id)
        self._passes = stage.store.pass_days(reader.id)
        rungs = stage.levels.ladder.rungs
        ids = [rung.level.id for rung in rungs]
        read = [level_id] if level_id else [f.level_id for f in stage.store.figures(reader.id)]
        last = next((level for level in reversed(read) if level in ids), None)
        self._at = self._first_unpassed() if last is None else ids.index(last)
        self._level = LevelPanel(stage, self._bests)
        self._ladder = Scroll()
        self.lists = self._ladder, self._level.text
        self._looked = stage.clock.now()
        self.focus = f"level-{ids[self._at]}" if ids else "readers"

    def _first_unpassed(self) -> int:
        """The first level that is not passed yet, from where the reader was found to be."""
        rungs, compass = self.stage.levels.ladder.rungs, self.stage.piano.compass
        ids = [rung.level.id for rung in rungs]
        start = ids.index(self.stage.sitting.placed) if self.stage.sitting.placed in ids else 0
        order = [*range(start, len(ids)), *range(start)]
        left = (number for number in order if not self._passes.get(ids[number]))
        return next((n for n in left if playable(rungs[n].level, compass)), start)

    @property
    def _newcomer(self) -> bool:
        """Whether nothing says yet which level suits the reader."""
        return not (self.stage.sitting.placed or self._bests or any(self._passes.values()))

    @property
    def _rung(self) -> Rung | None:
        rungs = self.stage.levels.ladder.rungs
        return rungs[self._at] if rungs else None

    def layout(self, canvas: Canvas) -> list[Control]:
        self._follow_focus()
        rung, level = self._rung, canvas.narrow and self.focus in (*OFFERS, "levels")
        top = self._heading(canvas, level)
        room = Rect(canvas.px(40), top, canvas.width - canvas.px(80), 0)
        room.height = canvas.height - canvas.px(62) - top
        self._panel = Rect(room)
        if not canvas.narrow:  # else the one or the other is seen
            self._panel.width = round(canvas.width * 0.42)
            self._panel.right = room.right
            room.width = self._panel.left - canvas.px(30) - room.x
        elif not level:
            self._panel.width = 0
        controls = [] if level else self._list(canvas, room)
        if rung is not None and self._panel.width:
            controls += self._level.controls(canvas, self._panel, rung)
            controls += self._level.said(canvas, self._panel, rung)
        return [*controls, *self._head]

    def _heading(self, canvas: Canvas, level: bool) -> int:
        """Place what the page leads to; the y below. Of a level alone, only the way back."""
        head = []
        if level:
            head.append(button("levels", _("Levels"), self.back, "quiet"))
        else:
            if not self.stage.sitting.placed:
                look = "primary" if self._newcomer else "button"
                head.append(button("find", _("Find my level"), self.stage.rounds.find_level, look))
            if not self._newcomer:
                head.append(button("practice", _("Today’s practice"), self.stage.rounds.practise))
            head += [
                button("music", _("Sheet music"), self._open_music, "quiet"),
                button("help", _("Help"), self.stage.go.open_help, "quiet"),
                button("settings", _("Settings"), self.stage.go.open_settings, "quiet"),
                button("progress", _("Progress"), self.stage.go.open_progress, "quiet"),
                button("readers", _("Readers"), self.stage.go.open_readers, "quiet"),
            ]
        self._head = head
        return at_head(canvas, head, canvas.px(160)) + canvas.px(27)

    def _list(self, canvas: Canvas, view: Rect) -> list[Control]:
        """Every stage, and the levels of the one that is looked at."""
        px, rows, chosen = canvas.px, list[Control](), ""
        y = view.y
        for stage, rungs in self.stage.levels.ladder.stages.items():
            rows.append(self._chapter(stage, Rect(view.x, y, view.width, px(34))))
            y += px(34)
            for rung in rungs if self._rung in rungs else ():
                rows.append(self._row(rung, Rect(view.x, y, view.width, px(32))))
                y += px(32)
                chosen = rows[-1].id if rung is self._rung else chosen
        in_list = self.focus.startswith(_ROWS)
        return self._ladder.place(canvas, rows, view, self.focus if in_list else chosen)

    def _chapter(self, stage: str, rect: Rect) -> Control:
        rungs = self.stage.levels.ladder.stages[stage]
        passed = sum(self._passes.get(rung.level.id, 0) > 0 for rung in rungs)
        value = "✓" if passed == len(rungs) else f"{passed} / {len(rungs)}"
        return Control(f"stage-{stage}", rect, stage, partial(self._open, stage), "chapter", value)

    def _open(self, stage: str) -> None:
        """Look at a stage, at its first level that is not passed yet."""
        rungs = self.stage.levels.ladder.stages[stage]
        level = next((r for r in rungs if not self._passes.get(r.level.id)), rungs[0]).level
        self.focus = f"level-{level.id}"

    def _row(self, rung: Rung, rect: Rect) -> Control:
        level = rung.level
        passes = self._passes.get(level.id, 0)
        points = [
            best.score
            for (name, kind), best in self._bests.items()
            if name == level.id and kind.startswith(COMPARED)
        ]
        value = _("{n} points").format(n=round(max(0.0, *points))) if points else "–"
        return Control(
            f"level-{level.id}",
            rect,
            level.title,
            self._to_buttons,
            "entry",
            value,
            mark="✓✓" if passes > 1 else "✓" if passes else "",
        )

    def paint(self, canvas: Canvas) -> None:
        px, panel = canvas.px, self._panel
        reader = self.stage.sitting.reader
        assert reader is not None
        beside = [one.rect.left for one in self._head if one.rect.top < px(62)]
        wide = min(beside, default=canvas.width - px(20)) - px(60)
        at = px(40), px(40)
        canvas.text(reader.name, at, size=30, face="title", anchor="midleft", width=wide)
        if panel.width:
            canvas.panel(panel)
        if self._rung is None:
            at = px(64), px(108)
            canvas.paragraph(_("No level could be read."), at, canvas.width // 2)
        for row in self.controls:
            if self._rung is not None and row.id == f"level-{self._rung.level.id}" and row.seen:
                canvas.surface.fill(theme.MUTED, Rect(row.rect.topleft, (px(2), row.rect.height)))
        canvas.hints(self.menu_hints(), message=self._fault_line(), first=True)

    @property
    def turns(self) -> str:
        return _("stage")

    def _fault_line(self) -> str:
        faults = self.stage.levels.ladder.faults
        if not faults:
            return ""
        return plural(
            "{n} fault in the level files: run “stavewise levels check”",
            "{n} faults in the level files: run “stavewise levels check”",
            len(faults),
        ).format(n=len(faults))

    def wait(self, now: float) -> float | None:
        return _LOOK_S

    def tick(self, now: float) -> None:
        if self._looked + _LOOK_S <= now:
            self._looked = now
            chosen = self._rung
            if self.stage.levels.look_again():
                ids = [rung.level.id for rung in self.stage.levels.ladder.rungs]
                at = 0 if chosen is None else chosen.level.id
                self._at = ids.index(at) if at in ids else min(self._at, max(0, len(ids) - 1))
                if self.focus.startswith("level-") and ids:
                    self.focus = f"level-{ids[self._at]}"

    def _follow_focus(self) -> None:
        for number, rung in enumerate(self.stage.levels.ladder.rungs):
            if self.focus == f"level-{rung.level.id}":
                self._at = number

    def key(self, event: pygame.event.Event) -> None:
        by = {pygame.K_UP: -1, pygame.K_DOWN: 1}.get(event.key, 0)
        if self.focus.startswith("level-") and by and self._can_move(by):
            self._move(by)
        elif self.focus.startswith("level-") and event.key == pygame.K_RIGHT:
            self._to_buttons()
        else:
            super().key(event)

    def _sequence(self, by: int) -> None:
        if self.focus.startswith("level-") and self._can_move(by):
            self._move(by)
        else:
            super()._sequence(by)

    def _toward(self, dx: int, dy: int) -> None:
        """As on every page; but into the list an arrow leads to the level that is looked at, and
        down from the panel leads to no row of the list beside it."""
        before = self.focus
        super()._toward(dx, dy)
        if self._rung is None or before.startswith(_ROWS) or not self.focus.startswith(_ROWS):
            return
        self.focus = before if dy and before in OFFERS else f"level-{self._rung.level.id}"

    def _can_move(self, by: int) -> bool:
        return 0 <= self._at + by < len(self.stage.levels.ladder.rungs)

    def _move(self, by: int) -> None:
        rungs = self.stage.levels.ladder.rungs
        self._at = max(0, min(len(rungs) - 1, self._at + by))
        self.focus = f"level-{rungs[self._at].level.id}"

    def turn_page(self, by: int) -> None:
        """A page of the ladder is a stage."""
        rung, stages = self._rung, list(self.stage.levels.ladder.stages)
        if rung is not None:
            place = stages.index(rung.level.stage) + by
            self._open(stages[max(0, min(len(stages) - 1, place))])

    def to_end(self, by: int) -> None:
        self._move(by * len(self.stage.levels.ladder.rungs))

    def _rolled(self, scroll: Scroll) -> None:
        """The level beside the list stays."""

    def mouse(self, event: pygame.event.Event) -> None:
        """A click on a row chooses its level, and the next one begins it."""
        if event.type == pygame.MOUSEMOTION:  # must not change the level beside the list
            self._ladder.mouse(event)
            return
        ready = f"level-{self._rung.level.id}" if self._rung and self.focus == _BEGIN else ""
        super().mouse(event)
        if event.type == pygame.MOUSEBUTTONDOWN and not self._ladder.held:
            hit = self._hit(event.pos)
            if hit is not None and hit.id == ready and self.focused is not None:
                self._choose(self.focused)

    def _open_music(self) -> None:
        from game.screens.reader.music_files import MusicFiles  # here: few visits need it

        self.stage.go.show(MusicFiles(self.stage, self, self.stage.rounds.open_piece))

    def back(self) -> None:
        rung = self._rung
        if rung is not None and self.focus in (*OFFERS, "levels"):
            self.focus = f"level-{rung.level.id}"
        else:
            self.stage.go.open_readers()

    def _to_buttons(self) -> None:
        self._follow_focus()
        self.focus = _BEGIN
