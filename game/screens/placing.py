# SPDX-License-Identifier: MIT
"""Finding the level to begin at: prompts from here and there on the ladder, one at a time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from game.levels import Rung
from game.reader import LevelSearch
from game.rounds import Step, Stop, Terms, Verdict
from game.screens import theme
from game.screens.example import example
from game.screens.play import SETTLE_WRONG_S, Phase, Play
from game.screens.prompt_view import PromptView
from game.screens.screen import Screen
from game.screens.text import _
from game.screens.why import Wrong
from game.screens.widgets import Canvas, Control, PianoView, Rect
from game.store import LiveRound

if TYPE_CHECKING:
    from game.screens.stage import Stage

_LOWEST, _HIGHEST = 24, 96  # C1 to C7: four ledger lines and more, either way

_STAFF_SLOTS = 4


class Placing(Play):
    """Stateful: the prompts of a placement, each a round of its own that is never scored.

    The first press decides: nobody has to find a note that is beyond them. What was pressed is
    kept among the discarded rounds, and what it tells is learnt like any other answer.
    """

    name = "placing"

    def __init__(self, stage: Stage, search: LevelSearch) -> None:
        self._search = search
        self._before_run = search  # what was known when keys began to be octaves off
        super().__init__(stage, _next_round(stage, search))
        # One piano for all prompts: what it spans must not tell where the next note is.
        low, high = stage.compass.low, stage.compass.high
        self._piano = PianoView(max(low, _LOWEST), min(high, _HIGHEST))
        self._pace = None  # nobody hurries to their level

    def _first_view(self) -> PromptView:
        """On a staff that stays where it is: few prompts have more slots."""
        (prompt,) = self.live.round.prompts
        return PromptView(
            self.stage.engraver, self.stage.options.staff_size, prompt, room=_STAFF_SLOTS
        )

    def _heading(self, canvas: Canvas) -> None:
        px = canvas.px
        canvas.text(
            _("Finding your level"),
            (px(30), px(32)),
            size=18,
            face="serif",
            colour=theme.MUTED,
            anchor="midleft",
            width=canvas.width // 2 - px(120),
        )
        done, most = self._search.placement.prompts, self._search.most
        words = _("{n} of {most} at most").format(n=done + 1, most=most)
        canvas.text(words, (canvas.width // 2, px(32)), size=20, face="strong", anchor="center")

    def _says(self, wrong: Wrong) -> str:
        """Nothing is said: the next prompt comes at once."""
        return ""

    def _after(self, done: Step) -> None:
        super()._after(done)
        wrong = done.judged is not None and done.judged.verdict is not Verdict.RIGHT
        if wrong and self.live.round.ended is None:
            now = self.stage.now()
            self.live.feed(Stop(self.live.time(now)))
            self.phase, self._settle_until = Phase.SETTLING, now + SETTLE_WRONG_S

    def end(self) -> None:
        """Leave it; what was answered is kept, to go on from another time."""
        self.stage.open_ladder()

    def _finished(self) -> None:
        if self._octaves.length == 1:
            self._before_run = self._search
        self._search = self._search.after(self.live.round)
        if self._octaves.tells:  # of the keyboard, and nothing of the reader
            self._search = self._before_run
        self.stage.searched(self._search, self.live.round)
        if self._octaves.length >= self._search.most:  # the line said what is to be done first
            self.end()
            return
        if self._search.done:
            self.phase = Phase.ENDED
            self.stage.open_placed(self._search.rung)
            return
        self.live = _next_round(self.stage, self._search)
        self._robot_hands.stop()
        self._next_prompt()


def _next_round(stage: Stage, search: LevelSearch) -> LiveRound:
    """The next prompt, as a round of its own."""
    reader = stage.visit.reader
    assert reader is not None
    rung = search.next_rung
    terms = Terms.counted(rung.level, rung.text, stage.new_seed(), 1, stage.compass)
    live = LiveRound.begin(terms, reader.id, stage.store, stage.now())
    live.discard()  # it counts for no best and is not offered again; its presses are kept
    return live


class Placed(Screen):
    """Stateful: the level that was found, with what it looks like."""

    name = "placed"

    def __init__(self, stage: Stage, rung: Rung) -> None:
        super().__init__(stage)
        self.hands_off()
        self._rung = rung

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        width, y = px(240), canvas.height - px(120)
        left = canvas.width // 2 - width - px(8)
        right = canvas.width // 2 + px(8)
        return [
            Control("begin", Rect(left, y, width, px(50)), _("Read it now"), self._read, "primary"),
            Control("ladder", Rect(right, y, width, px(50)), _("Ladder"), self.back),
        ]

    def paint(self, canvas: Canvas) -> None:
        px, middle, level = canvas.px, canvas.width // 2, self._rung.level
        wide = canvas.width - px(120)
        canvas.text(
            _("A good level to begin at"),
            (middle, px(70)),
            size=20,
            face="serif",
            colour=theme.MUTED,
            anchor="center",
        )
        canvas.text(
            level.title, (middle, px(112)), size=36, face="title", anchor="center", width=wide
        )
        canvas.text(
            f"{level.stage} · {level.about}",
            (middle, px(154)),
            colour=theme.MUTED,
            anchor="center",
            width=wide,
        )
        room = Rect(px(60), px(176), wide, canvas.height - px(176) - px(140))
        canvas.sample(self.stage.engraver, example(level, self.stage.compass), room)
        canvas.hints(self.menu_hints())

    def _read(self) -> None:
        rung = self._rung
        terms = Terms.counted(
            rung.level, rung.text, self.stage.new_seed(), None, self.stage.compass
        )
        self.stage.begin(terms)

    def back(self) -> None:
        self.stage.open_ladder(self._rung.level.id)
