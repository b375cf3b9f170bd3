# SPDX-License-Identifier: MIT
"""Finding the level to begin at: prompts from here and there on the ladder, one at a time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pygame

from game.keyboards import KeyDown, KeyUp
from game.levels import Rung
from game.reader import LevelSearch
from game.rounds import ON_SCREEN, Step, Stop, Terms, Verdict
from game.screens.play.example import example
from game.screens.play.heading import draw_line
from game.screens.play.play import SETTLE_WRONG_S, Play, PlayPhase
from game.screens.play.prompt_view import PromptView
from game.screens.reader.level_panel import lost_words
from game.session.live_round import LiveRound
from game.ui import theme
from game.ui.asked_twice import AskedTwice
from game.ui.button_row import button, in_rows
from game.ui.screen import PIANO_BACK, PIANO_YES, Screen
from game.ui.widgets import Canvas, Control, PianoView, Rect
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.stage import Stage

_LOWEST, _HIGHEST = 24, 96  # C1 to C7: four ledger lines and more, either way

_STAFF_SLOTS = 4


class Placing(Play):
    """Stateful: the prompts of a placement, each a round of its own that is never scored.

    The first press decides: nobody has to find a note that is beyond them. What was pressed is
    kept among the discarded rounds, and what it tells is learnt like any other answer.
    """

    name = "placing"
    _clicked = False  # whether the last key was one of the piano on the screen

    def __init__(self, stage: Stage, search: LevelSearch) -> None:
        self._search = search
        self._before_run = search  # what was known when keys began to be octaves off
        super().__init__(stage, _next_round(stage, search))
        # One piano for all prompts: what it spans must not tell where the next note is.
        low, high = stage.piano.compass.low, stage.piano.compass.high
        self._piano = PianoView(max(low, _LOWEST), min(high, _HIGHEST))
        self._pace = None  # nobody hurries to their level

    def _first_view(self) -> PromptView:
        """On a staff that stays where it is: few prompts have more slots."""
        (prompt,) = self.live.round.prompts
        return PromptView(
            self.stage.engraver, self.stage.settings.now.staff_size, prompt, room=_STAFF_SLOTS
        )

    def _heading(self, canvas: Canvas) -> None:
        done, most = self._search.placement.prompts, self._search.most
        words = _("{n} of {most} at most").format(n=done + 1, most=most)
        draw_line(canvas, _("Finding your level"), words, free=140)

    def _after(self, done: Step) -> None:
        super()._after(done)
        self.message = ""
        wrong = done.round.first not in (None, Verdict.RIGHT)
        if wrong and self.phase is PlayPhase.READING:
            self.phase = PlayPhase.SETTLING
            self._settle_until = self.stage.clock.now() + SETTLE_WRONG_S

    def piano(self, event: KeyDown | KeyUp) -> None:
        self._clicked = event.keyboard == ON_SCREEN
        super().piano(event)

    def _settled(self) -> None:
        if self.live.round.ended is None:  # a flat hand could still take the answer back
            self.live.feed(Stop(self.live.time(self.stage.clock.now())))
        self._finished()

    def _ways_out(self) -> list[Control]:
        return [one for one in super()._ways_out() if one.id != "restart"]

    def restart(self) -> None:
        """There is nothing to begin anew: a search goes on where it was left."""

    def end(self) -> None:
        """Leave it; what was answered is kept, to go on from another time."""
        self.stage.go.open_ladder()

    def _finished(self) -> None:
        if self._octaves.length == 1:
            self._before_run = self._search
        self._search = self._search.after(self.live.round)
        if self._octaves.tells:  # of the keyboard, and nothing of the reader
            self._search = self._before_run
        self.stage.sitting.searched(self._search, self.live.round)
        if self._octaves.length >= self._search.most:  # the line said what is to be done first
            self.end()
            return
        if self._search.done:
            self.phase = PlayPhase.ENDED
            self.stage.rounds.open_placed(self._search.rung, clicked=self._clicked)
            return
        self.live = _next_round(self.stage, self._search)
        self._robot_hands.stop()
        self._next_prompt()


def _next_round(stage: Stage, search: LevelSearch) -> LiveRound:
    """The next prompt, as a round of its own."""
    reader = stage.sitting.reader
    assert reader is not None
    rung = search.next_rung
    terms = Terms.counted(rung.level, rung.text, stage.levels.new_seed(), 1, stage.piano.compass)
    live = LiveRound.begin(terms, reader.id, stage.store, stage.clock.now())
    live.discard()  # it counts for no best and is not offered again; its presses are kept
    return live


class PlacementResult(Screen):
    """Stateful: the level that was found, with what it looks like.

    Args:
        stage: the running game.
        rung: the level.
        clicked: the search was answered on the piano that was drawn where the buttons are now.
    """

    name = "placed"

    def __init__(self, stage: Stage, rung: Rung, *, clicked: bool = False) -> None:
        super().__init__(stage)
        self.hands_off()
        self._rung = rung
        self._clicked = clicked
        self._twice = AskedTwice(stage.clock.now)

    def piano(self, event: KeyDown | KeyUp) -> None:
        """A hand that still reads plays one key and another: to leave, the same one twice."""
        leaves = isinstance(event, KeyDown) and event.key in (PIANO_YES, PIANO_BACK)
        if not leaves or event.t < self._hands_off_until or self._twice.sure(event.key):
            super().piano(event)

    def mouse(self, event: pygame.event.Event) -> None:
        plays = self._clicked and self.stage.clock.now() < self._hands_off_until
        if event.type != pygame.MOUSEBUTTONDOWN or not plays:
            super().mouse(event)

    def wait(self, now: float) -> float | None:
        return self._twice.left

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        ways = [
            button("begin", _("Read it now"), self._read, "primary"),
            button("ladder", _("Ladder"), self.back),
        ]
        room = Rect(px(40), 0, canvas.width - px(80), canvas.height - px(70))
        self._foot = in_rows(canvas, ways, room, least=240, high=50, centred=True)
        return ways

    def paint(self, canvas: Canvas) -> None:
        px, middle, level = canvas.px, canvas.width // 2, self._rung.level
        wide = canvas.width - px(120)
        at, words = (middle, px(58)), _("A good level to begin at")
        y = canvas.centred(words, at, wide, size=20, face="serif", colour=theme.MUTED)
        y = canvas.centred(level.title, (middle, y), wide, size=36, face="title")
        words = " · ".join(filter(None, (level.stage, level.about)))
        y = canvas.centred(words, (middle, y + px(4)), wide, colour=theme.MUTED)
        if words := lost_words(self.stage, level):
            at = middle, y + px(6)
            y = canvas.centred(words, at, wide, face="strong", colour=theme.WRONG)
        end = self._foot - px(30)
        room = Rect(px(60), y, wide, end - y)
        canvas.sample(self.stage.engraver, example(level, self.stage.piano.compass), room)
        asked = self._twice.open
        if isinstance(asked, int):
            words = _("Press {key} once more.").format(key=self.stage.piano.name_key(asked))
            canvas.text(words, (middle, end), face="strong", anchor="midtop", width=wide)
        canvas.hints(self.menu_hints())

    def _read(self) -> None:
        rung = self._rung
        terms = Terms.counted(
            rung.level, rung.text, self.stage.levels.new_seed(), None, self.stage.piano.compass
        )
        self.stage.rounds.begin(terms)

    def back(self) -> None:
        self.stage.go.open_ladder(self._rung.level.id)
