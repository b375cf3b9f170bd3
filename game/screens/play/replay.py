# SPDX-License-Identifier: MIT
"""A round gone through again: the staff, the presses, where the reader waited, and the verdicts."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import pygame

from game.levels import EmptyPool, LevelFaults
from game.paper.saving import saved_words
from game.rounds import Press, Round, Verdict
from game.rounds.replay import Moment, Replay, View
from game.screens.play.heading import below_line, draw_line, read_words
from game.screens.play.in_time import draw_count, draw_legend, phrase_marks
from game.screens.play.prompt_view import PromptView
from game.screens.play.why import wrong_of
from game.session.records import SharedRound, day_of, record_text
from game.store import Record
from game.ui import theme
from game.ui.button_row import button, in_rows
from game.ui.screen import Screen
from game.ui.widgets import Canvas, Control, PianoView, Rect
from game.words.text import _, apart, clock, seconds

if TYPE_CHECKING:
    from game.ui.stage import Stage

SPEEDS = (0.5, 1.0, 2.0, 4.0)
_FRAME_S, _CALM_FRAME_S = 1 / 30, 0.1  # between drawings while it plays; with less motion
_TAIL_S = 1.0  # the last answer stays in view before the replay stops


class ReplayScreen(Screen):
    """Stateful: a round that is over, and where in it one looks.

    Args:
        stage: the running game.
        record: of the round.
        caption: whose round it was and when, a few words.
    """

    name = "replay"

    def __init__(self, stage: Stage, record: Record | SharedRound, caption: str = "") -> None:
        super().__init__(stage)
        self._record, terms = record, record.terms
        self._caption = caption
        self._trouble = ""
        self._title = terms.level_id
        self._replay: Replay | None = None
        try:
            level = terms.level()
            self._title = level.title
            begun = terms.begin()
            self._title = read_words(level, begun)
            self._replay = Replay.of(begun, record.events)
        except (LevelFaults, EmptyPool) as error:
            self._trouble = str(error).splitlines()[0]
        self.at = 0.0
        self.playing = self._replay is not None
        self.speed = 1.0
        self._last = stage.clock.now()
        self._sounding: set[int] = set()
        self._seen: object = None  # what the staff shows now
        self._message = self._saved = ""
        self._bar = Rect(0, 0, 0, 0)
        self.focus = "pause"
        if self._replay is not None:
            round = self._replay.start
            size = stage.settings.now.staff_size
            size = "medium" if size == "large" else size  # the line of time needs its room
            self._staff_size = size
            self._view = PromptView(stage.engraver, size, round.prompts[0])
            self._piano = PianoView(*_keys_of(self._replay))

    # What is drawn

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        if self._replay is None:
            rect = Rect(px(40), canvas.height - px(110), px(160), px(46))
            return [Control("back", rect, _("Back"), self.back)]
        items = [
            button("pause", _("Pause") if self.playing else _("Play"), self._pause, "primary"),
            button("before", _("Previous prompt"), partial(self._by_prompt, -1)),
            button("after", _("Next prompt"), partial(self._by_prompt, 1)),
            button("mistake", _("Next mistake"), self._to_mistake),
            button("speed", _("Speed {n}×").format(n=f"{self.speed:g}"), self._faster),
            button("save", _("Save the round"), self._save),
            button("back", _("Back"), self.back),
        ]
        items[3].enabled = bool(self._replay.mistakes)
        foot = Rect(px(40), 0, canvas.width - px(80), self._piano_rect(canvas).top - px(12))
        self._foot = in_rows(canvas, items, foot, least=170, high=40, centred=True)
        return items

    def paint(self, canvas: Canvas) -> None:
        px = canvas.px
        if self._replay is None:
            draw_line(canvas, self._title, "", self._caption)
            words = _("This round cannot be shown: its level cannot be dealt any more.")
            y = canvas.paragraph(words, (px(40), px(120)), canvas.width - px(80), size=22)
            canvas.paragraph(self._trouble, (px(40), y), canvas.width - px(80), colour=theme.WRONG)
            canvas.hints(self.menu_hints())
            return
        now = self._replay.view(self.at)
        count = f"{now.prompt + 1} / {len(self._replay.start.prompts)}"
        if self._replay.start.seconds is not None or self._replay.start.misses is not None:
            count = f"{now.prompt + 1}"
        draw_line(canvas, self._title, count, self._caption)
        self._follow(now)
        bar_y = self._foot - px(24)
        line, top = bar_y - px(20), below_line(canvas) + px(14)
        self._waiting(canvas, now)
        said, wide = self._saved or self._message, canvas.width - px(80)
        lines = len(theme.wrapped(said, "strong", px(20), wide))
        lines = px(26) * max(lines, 2 if canvas.narrow else 1)
        self._view.draw(canvas, Rect(0, top, canvas.width, line - lines - top), hidden=False)
        canvas.centred(
            said,
            (canvas.width // 2, line),
            wide,
            size=20,
            face="strong",
            colour=theme.INK if self._saved else theme.WRONG,
            up=True,
        )
        self._line_of_time(canvas, bar_y)
        piano = self._piano_rect(canvas)
        if piano.height:
            self._piano.down = set(now.keys)
            self._piano.draw(canvas, piano)
        canvas.hints(self._hints(), message=self._legend(), first=True)

    def _hints(self) -> list[tuple[str, str]]:
        return [
            *self.piano_hints(),
            (_("Space"), _("pause")),
            ("← →", _("prompt")),
            ("↑ ↓", _("speed")),
            ("M", _("next mistake")),
            (_("Esc"), _("back")),
        ]

    def _legend(self) -> str:
        assert self._replay is not None
        if self._replay.start.pulse is not None:
            return _("× not right")
        slow = seconds(self._replay.slow_s)
        return _("× not right · thick: waited {n} or longer").format(n=slow)

    def _piano_rect(self, canvas: Canvas) -> Rect:
        keys = self._piano.high - self._piano.low + 1
        height = canvas.px(84) if canvas.height >= canvas.px(600) else 0
        width = min(canvas.width - canvas.px(80), round(height * 0.2 * keys))
        bottom = canvas.height - canvas.px(52)
        return Rect((canvas.width - width) // 2, bottom - height, width, height)

    def _waiting(self, canvas: Canvas, now: View) -> None:
        """The seconds that the slot in view has waited; in time, the beat."""
        assert self._replay is not None
        pulse, prompt = self._replay.start.pulse, self._replay.start.prompts[now.prompt]
        if pulse is not None:
            if now.phrase is not None and self._message:
                draw_legend(canvas)
            elif now.waited is not None and now.phrase is None:
                beat = (now.waited - pulse.lead_s(prompt)) / pulse.beat_s(prompt)
                bar = round((prompt.bar_quarters or 4) / (prompt.beat_quarters or 1))
                draw_count(canvas, beat, bar)
            return
        if now.waited is None:
            return
        slow = now.round.began is None and now.waited >= self._replay.slow_s
        canvas.text(
            f"{now.waited:.1f} s",
            (canvas.width // 2, below_line(canvas)),
            size=18,
            face="strong" if slow else "text",
            colour=theme.INK if slow else theme.MUTED,
            anchor="center",
        )

    def _line_of_time(self, canvas: Canvas, y: int) -> None:
        """The whole round from left to right: prompts, hesitations, mistakes, and where one is."""
        assert self._replay is not None
        replay, px, surface = self._replay, canvas.px, canvas.surface
        width = canvas.width - px(240)
        self._bar = Rect(px(120), y - px(14), width, px(28))
        for words, x, anchor in (
            (clock(self.at), px(108), "midright"),
            (clock(replay.length), canvas.width - px(108), "midleft"),
        ):
            canvas.text(words, (x, y), size=16, colour=theme.MUTED, anchor=anchor)
        canvas.rule(self._bar.x, y, width, theme.MUTED)
        for start in replay.starts:
            surface.fill(theme.MUTED, Rect(self._x(start), y - px(4), max(1, px(1)), px(8)))
        for start, end in replay.hesitations:
            left = self._x(start)
            surface.fill(theme.MUTED, Rect(left, y - px(3), max(2, self._x(end) - left), px(6)))
        for time in replay.mistakes:
            canvas.text(
                "×",
                (self._x(time), y - px(10)),
                size=20,
                face="strong",
                colour=theme.WRONG,
                anchor="center",
            )
        here = Rect(0, 0, max(2, px(3)), px(26))
        here.center = (self._x(self.at), y)
        surface.fill(theme.INK, here)

    def _x(self, t: float) -> int:
        assert self._replay is not None
        share = t / self._replay.length if self._replay.length else 0.0
        return self._bar.x + round(min(1.0, share) * self._bar.width)

    def _follow(self, now: View) -> None:
        """Bring the staff to what is to be seen: its prompt with the marks of its answers."""
        assert self._replay is not None
        seen = (now.prompt, len(now.answers), now.phrase is not None)
        if seen == self._seen:
            return
        self._seen, self._saved = seen, ""
        prompt = self._replay.start.prompts[now.prompt]
        self._view = PromptView(self.stage.engraver, self._staff_size, prompt)
        self._message = ""
        for moment in now.answers:
            self._mark(moment)
        if now.phrase is not None:
            found = phrase_marks(prompt, now.phrase, now.round.limit_s)
            self._view.judged(found.marks, found.ghosts)
            self._message = found.words

    def _mark(self, moment: Moment) -> None:
        judged = moment.judged
        assert judged is not None
        slot = self._view.prompt.slots[moment.slot]
        if judged.verdict is not Verdict.RIGHT:
            state = moment.round
            wrong = wrong_of(self.stage, state, moment.shown, moment.slot, state.presses, judged)
            self._message = wrong.line(self.stage.settings.now.names)
            self._view.wrong(wrong.note, wrong.played)
            return
        self._view.struck(slot, judged, finished=moment.finished is not None)
        if judged.late_s or moment.finished is not None:
            late_s = judged.late_s if moment.finished is None else moment.finished.late_s
            self._message = apart(late_s)

    # Time

    def wait(self, now: float) -> float | None:
        if not self.playing:
            return None
        return _FRAME_S if self.stage.settings.now.motion == "full" else _CALM_FRAME_S

    def tick(self, now: float) -> None:
        passed, self._last = now - self._last, now
        if not self.playing or self._replay is None:
            return
        before, self.at = self.at, self.at + passed * self.speed
        if self.at >= self._replay.length + _TAIL_S:
            self.at, self.playing = self._replay.length, False
        self._sound(before)

    def _sound(self, before: float) -> None:
        """Let the keys be heard that went down since `before`, unless sound is off."""
        assert self._replay is not None
        if self.stage.settings.now.sound == "never":
            return
        down = self._replay.view(self.at).keys
        for key in self._sounding - down:
            self.stage.sounds.player.release(key)
        self._sounding &= down
        for moment in self._replay.moments:
            event = moment.event
            if before < moment.t <= self.at and isinstance(event, Press) and event.key in down:
                self.stage.sounds.player.play(event.key, event.velocity)
                self._sounding.add(event.key)

    def leave(self) -> None:
        self._hush()
        self.playing = False

    def enter(self) -> None:
        self._last = self.stage.clock.now()

    def _hush(self) -> None:
        for key in self._sounding:
            self.stage.sounds.player.release(key)
        self._sounding.clear()

    # What the reader does

    def key(self, event: pygame.event.Event) -> None:
        if self._replay is None:
            super().key(event)
        elif event.key == pygame.K_SPACE:
            self._pause()
        elif event.key in (pygame.K_LEFT, pygame.K_RIGHT):
            self._by_prompt(1 if event.key == pygame.K_RIGHT else -1)
        elif event.key in (pygame.K_UP, pygame.K_DOWN):
            self._change_speed(1 if event.key == pygame.K_UP else -1)
        elif event.key == pygame.K_m:
            self._to_mistake(-1 if event.mod & pygame.KMOD_SHIFT else 1)
        elif event.key in (pygame.K_HOME, pygame.K_END):
            self._seek(0.0 if event.key == pygame.K_HOME else self._replay.length)
        else:
            super().key(event)

    def mouse(self, event: pygame.event.Event) -> None:
        if (
            event.type == pygame.MOUSEBUTTONDOWN
            and event.button == 1
            and self._replay is not None
            and self._bar.collidepoint(event.pos)
        ):
            share = (event.pos[0] - self._bar.x) / max(1, self._bar.width)
            self._seek(share * self._replay.length)
            return
        super().mouse(event)

    def back(self) -> None:
        self.stage.go.go_back()

    def _save(self) -> None:
        """Write the round down for others, without its reader's name."""
        assert self._replay is not None
        shared = SharedRound.of(self._record, self._replay.ended)
        title = f"{self._title} {day_of(shared.started)}"
        self._hush()
        self.playing = False
        self._saved = saved_words(record_text(shared), title, ".json")

    def _pause(self) -> None:
        assert self._replay is not None
        self.playing = not self.playing
        self._hush()
        if self.playing and self.at >= self._replay.length:
            self.at = 0.0
        self._last = self.stage.clock.now()

    def _by_prompt(self, by: int) -> None:
        assert self._replay is not None
        self._seek(self._replay.prompt_start(self.at, by))

    def _to_mistake(self, by: int = 1) -> None:
        """Stop at the next mistake, or the one before; after the last one comes the first."""
        assert self._replay is not None
        mistakes = self._replay.mistakes
        if mistakes:
            found = self._replay.mistake(self.at, by)
            self._seek(mistakes[0 if by > 0 else -1] if found is None else found)
            self.playing = False

    def _seek(self, t: float) -> None:
        self._hush()
        self.at = t
        self._last = self.stage.clock.now()

    def _faster(self) -> None:
        """The next speed; after the fastest comes the slowest."""
        self.speed = SPEEDS[(SPEEDS.index(self.speed) + 1) % len(SPEEDS)]

    def _change_speed(self, by: int) -> None:
        place = SPEEDS.index(self.speed) + by
        self.speed = SPEEDS[max(0, min(len(SPEEDS) - 1, place))]


def _keys_of(replay: Replay) -> tuple[int, int]:
    """The part of the piano to draw: what was asked for and what was played, in whole octaves."""
    ended: Round = replay.ended
    keys = [60]
    keys += [
        key for prompt in ended.prompts[: ended.prompt + 1] for s in prompt.slots for key in s.keys
    ]
    keys += [m.event.key for m in replay.moments if isinstance(m.event, Press)]
    return max(21, min(keys) // 12 * 12), min(108, -(-(max(keys) + 1) // 12) * 12)
