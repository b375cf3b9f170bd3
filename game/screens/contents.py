# SPDX-License-Identifier: MIT
"""The ladder as the contents page of a music book, with the chosen level beside it."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import pygame

from game.levels import Rung
from game.rounds import COMPARED
from game.screens import theme
from game.screens.level_panel import OFFERS, LevelPanel
from game.screens.screen import Screen
from game.screens.text import _, plural
from game.screens.widgets import Canvas, Control, Rect

if TYPE_CHECKING:
    from game.screens.stage import Stage


_STAGE_KEYS = {pygame.K_PAGEUP: -1, pygame.K_PAGEDOWN: 1}
_ROWS = ("stage-", "level-")  # what the list is made of
_LOOK_S = 1.0  # how often level files are looked for


class Contents(Screen):
    """Stateful: the ladder of one reader, and which level is looked at."""

    name = "ladder"

    def __init__(self, stage: Stage, level_id: str = "") -> None:
        super().__init__(stage)
        reader = stage.visit.reader
        assert reader is not None
        self._bests = stage.store.bests(reader.id)
        self._passes = stage.store.pass_days(reader.id)
        rungs = stage.ladder.rungs
        ids = [rung.level.id for rung in rungs]
        self._at = ids.index(level_id) if level_id in ids else self._first_unpassed()
        self._level = LevelPanel(stage, self._bests)
        self._top = 0
        self._looked = stage.now()
        self.focus = f"level-{ids[self._at]}" if ids else "readers"

    def _first_unpassed(self) -> int:
        """The first level that is not passed yet, from where the reader was found to be."""
        ids = [rung.level.id for rung in self.stage.ladder.rungs]
        start = ids.index(self.stage.placed) if self.stage.placed in ids else 0
        order = [*range(start, len(ids)), *range(start)]
        return next((number for number in order if not self._passes.get(ids[number])), start)

    @property
    def _newcomer(self) -> bool:
        """Whether nothing says yet which level suits the reader."""
        return not (self.stage.placed or self._bests or any(self._passes.values()))

    @property
    def _rung(self) -> Rung | None:
        rungs = self.stage.ladder.rungs
        return rungs[self._at] if rungs else None

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        self._follow_focus()
        controls = self._list(canvas)
        panel = self._panel_rect(canvas)
        rung = self._rung
        if rung is not None:
            controls += self._level.controls(canvas, panel, rung)
        wide = px(170)
        practice = Rect(panel.left, px(20), wide, px(38))
        if not self.stage.placed:
            find = practice if self._newcomer else practice.move(-wide - px(10), 0)
            look = "primary" if self._newcomer else "button"
            controls.append(Control("find", find, _("Find my level"), self.stage.find_level, look))
        if not self._newcomer:
            controls.append(
                Control("practice", practice, _("Today’s practice"), self.stage.practise)
            )
        pages = (
            ("help", _("Help"), self.stage.open_help),
            ("settings", _("Settings"), self.stage.open_settings),
            ("progress", _("Progress"), self.stage.open_progress),
            ("readers", _("Readers"), self.stage.open_readers),
        )
        x = canvas.width - px(40) - px(86) * len(pages) + px(4)
        for name, label, act in pages:
            controls.append(Control(name, Rect(x, px(22), px(82), px(34)), label, act, "quiet"))
            x += px(86)
        return controls

    def _list(self, canvas: Canvas) -> list[Control]:
        """The rows in view: every stage, and the levels of the one that is looked at."""
        px = canvas.px
        x = px(40)
        width = self._panel_rect(canvas).left - px(30) - x
        room = canvas.height - px(84) - px(56)
        lines: list[tuple[str, Rung | None]] = []
        for stage, rungs in self.stage.ladder.stages.items():
            lines.append((stage, None))
            if self._rung in rungs:
                lines += [(stage, rung) for rung in rungs]
        row, chapter = px(32), px(34)
        heights = [chapter if rung is None else row for _stage, rung in lines]
        chosen = next((n for n, (_s, rung) in enumerate(lines) if rung is self._rung), 0)
        if sum(heights) > room:
            room -= px(18)  # where it says that there is more
        self._scroll(heights, chosen, room)
        y, controls = px(84), list[Control]()
        for (stage, rung), height in list(zip(lines, heights, strict=True))[self._top :]:
            if y + height > px(84) + room:
                break
            rect = Rect(x, y, width, height)
            controls.append(self._chapter(stage, rect) if rung is None else self._row(rung, rect))
            y += height
        self._more = self._top, len(lines) - self._top - len(controls)
        return controls

    def _chapter(self, stage: str, rect: Rect) -> Control:
        rungs = self.stage.ladder.stages[stage]
        passed = sum(self._passes.get(rung.level.id, 0) > 0 for rung in rungs)
        value = "✓" if passed == len(rungs) else f"{passed} / {len(rungs)}"
        return Control(f"stage-{stage}", rect, stage, partial(self._open, stage), "chapter", value)

    def _open(self, stage: str) -> None:
        """Look at a stage, at its first level that is not passed yet."""
        rungs = self.stage.ladder.stages[stage]
        level = next((r for r in rungs if not self._passes.get(r.level.id)), rungs[0]).level
        self.focus = f"level-{level.id}"

    def _scroll(self, heights: list[int], chosen: int, room: int) -> None:
        """Keep the chosen line in view, with the line before it (often its heading); and no room
        is left empty at the end."""
        self._top = min(self._top, max(0, chosen - 1))
        while self._top and sum(heights[self._top - 1 :]) <= room:
            self._top -= 1
        while sum(heights[self._top : chosen + 2]) > room and self._top < chosen:
            self._top += 1

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

    def _panel_rect(self, canvas: Canvas) -> Rect:
        px = canvas.px
        width = round(canvas.width * 0.42)
        return Rect(canvas.width - width - px(40), px(84), width, canvas.height - px(84) - px(62))

    def paint(self, canvas: Canvas) -> None:
        px = canvas.px
        reader = self.stage.visit.reader
        assert reader is not None
        canvas.text(
            reader.name,
            (px(40), px(40)),
            size=30,
            face="title",
            anchor="midleft",
            width=self._panel_rect(canvas).left - px(230),
        )
        panel = self._panel_rect(canvas)
        above, below = self._more
        foot = canvas.height - px(62)
        for more, sign, y in ((above, "↑", px(74)), (below, "↓", foot)):
            if more:
                words = f"{sign}  " + _("{n} more").format(n=more)
                at = (px(40), y)
                canvas.text(
                    words, at, size=15, face="strong", colour=theme.ACCENT, anchor="midleft"
                )
        canvas.panel(panel)
        if self._rung is not None:
            row = next(c for c in self.controls if c.id == f"level-{self._rung.level.id}").rect
            canvas.surface.fill(theme.MUTED, Rect(row.x, row.y, px(2), row.height))
            self._level.paint(canvas, panel, self._rung)
        else:
            canvas.paragraph(
                _("No level could be read."),
                (panel.x + px(24), panel.y + px(24)),
                panel.width - px(48),
            )
        canvas.hints(self.menu_hints(), message=self._fault_line())

    def _fault_line(self) -> str:
        faults = self.stage.ladder.faults
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
            if self.stage.look_for_levels():
                ids = [rung.level.id for rung in self.stage.ladder.rungs]
                at = 0 if chosen is None else chosen.level.id
                self._at = ids.index(at) if at in ids else min(self._at, max(0, len(ids) - 1))
                if self.focus.startswith("level-") and ids:
                    self.focus = f"level-{ids[self._at]}"

    def _follow_focus(self) -> None:
        for number, rung in enumerate(self.stage.ladder.rungs):
            if self.focus == f"level-{rung.level.id}":
                self._at = number

    def key(self, event: pygame.event.Event) -> None:
        by = {pygame.K_UP: -1, pygame.K_DOWN: 1}.get(event.key, 0)
        if self.focus.startswith("level-") and by and self._can_move(by):
            self._move(by)
        elif self.focus.startswith("level-") and event.key in _STAGE_KEYS:
            self._move_stage(_STAGE_KEYS[event.key])
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
        return 0 <= self._at + by < len(self.stage.ladder.rungs)

    def _move(self, by: int) -> None:
        rungs = self.stage.ladder.rungs
        self._at = max(0, min(len(rungs) - 1, self._at + by))
        self.focus = f"level-{rungs[self._at].level.id}"

    def _move_stage(self, by: int) -> None:
        rung, stages = self._rung, list(self.stage.ladder.stages)
        if rung is not None:
            place = stages.index(rung.level.stage) + by
            self._open(stages[max(0, min(len(stages) - 1, place))])

    def mouse(self, event: pygame.event.Event) -> None:
        if event.type == pygame.MOUSEWHEEL:
            self._move(-1 if event.y > 0 else 1)
        elif event.type == pygame.MOUSEMOTION:
            return  # moving over the list must not change the level beside it
        else:
            super().mouse(event)

    def back(self) -> None:
        rung = self._rung
        if rung is not None and self.focus in OFFERS and self.focus != "history":
            self.focus = f"level-{rung.level.id}"
        else:
            self.stage.open_readers()

    def _to_buttons(self) -> None:
        self.focus = "counted"
