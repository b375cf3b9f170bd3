# SPDX-License-Identifier: MIT
"""Playing a round: the staff in the middle, everything else small and quiet."""

from __future__ import annotations

from contextlib import suppress
from enum import Enum, auto
from math import inf
from typing import TYPE_CHECKING

import pygame

from game.keyboards import Keyboards, KeyDown, KeyUp
from game.rounds import (
    READ_FROM,
    Flip,
    JudgedPress,
    OctaveRun,
    Pause,
    Press,
    Resume,
    SlotResult,
    Step,
    Stop,
    Tick,
    Verdict,
)
from game.screens.play.heading import below_line, draw_heading
from game.screens.play.keys_shown import keys_shown, keys_to_point_at
from game.screens.play.octaves import shift_words
from game.screens.play.pace_mark import PaceMark
from game.screens.play.paused import draw_paused, pause_controls
from game.screens.play.prompt_view import PromptView
from game.screens.play.robot_hands import RobotHands
from game.screens.play.why import wrong_of
from game.screens.reader.key_range import KeyRange, ends_unknown
from game.session.live_round import LiveRound
from game.store import StoreError, round_target
from game.ui import theme
from game.ui.asked_twice import AskedTwice
from game.ui.button_row import button
from game.ui.screen import Screen
from game.ui.widgets import Canvas, Control, PianoView, Rect
from game.words.text import _, apart, asked

if TYPE_CHECKING:
    from game.ui.stage import Stage

SETTLE_S = 0.2  # an answered prompt stays in view this long; its time is nobody's reading time
SETTLE_WRONG_S = 0.6
FADE_S = 0.12  # the last of that time, in which its notes go out
_FRAME_S = 1 / 60
_LOST = _("Your answers so far won’t count.")
ASLEEP_S = 30.0  # a round nobody answers pauses by itself


class PlayPhase(Enum):
    """Where the round stands for the screen."""

    READY = auto()
    READING = auto()
    SETTLING = auto()
    PAUSED = auto()
    ENDED = auto()


class Play(Screen):
    """Stateful: the screen of a round under way."""

    name = "play"
    plays_letters = True

    def __init__(self, stage: Stage, live: LiveRound) -> None:
        super().__init__(stage)
        self.live = live
        self.phase = PlayPhase.READY
        self.message = ""
        self.pause_reason = ""
        self._view = self._first_view()
        pace = stage.sitting.pace_for(live)
        glides = stage.settings.now.motion == "full"
        self._pace = None if pace is None else PaceMark(pace, glides=glides)
        self._settle_until = 0.0
        self._twice = AskedTwice(stage.clock.now)
        self._octaves = OctaveRun()
        self._last_press = 0.0
        self._robot_hands = RobotHands(stage.sitting.robot)
        self._piano = PianoView(*keys_shown(live.round, stage.piano.compass))
        first = stage.levels.ladder.rungs[0].level.stage if stage.levels.ladder.rungs else ""
        self._beginner = live.level.stage == first
        self._pointed = False  # whether a key has been pointed at in this round

    @property
    def judges(self) -> bool:
        return self.phase in (PlayPhase.READING, PlayPhase.SETTLING)

    def _first_view(self) -> PromptView:
        """The current prompt; of a resumed bar, with the notes that are done with."""
        state = self.live.round
        prompt = state.prompts[min(state.prompt, len(state.prompts) - 1)]
        done = [item for item in state.results if item.prompt == state.prompt]
        notes = [note for item in done for note in prompt.slots[item.slot].notes]
        return PromptView(self.stage.engraver, self.stage.settings.now.staff_size, prompt, notes)

    # What is drawn

    @property
    def shows_focus(self) -> bool:
        return self.phase is PlayPhase.PAUSED

    def layout(self, canvas: Canvas) -> list[Control]:
        px = canvas.px
        if self.phase is PlayPhase.PAUSED:
            ways = pause_controls(canvas, self._ways_out())
            below = ways[0].rect.unionall([way.rect for way in ways]).move(0, px(64))
            return [*ways, *self.other_keyboard(below, self.resume)]
        return [
            Control(
                "pause",
                Rect(canvas.width - px(130), px(16), px(100), px(34)),
                _("Pause"),
                self.pause,
                "quiet",
            )
        ]

    def _ways_out(self) -> list[Control]:
        """What can be done in a pause."""
        if self.focus != "restart":
            self._twice.drop()
        again = _("Sure? Restart") if self._twice.open else _("Restart")
        ways = [
            button("on", _("Go on"), self.resume, "primary"),
            button("restart", again, self.restart),
            button("end", _("End the round"), self.end),
        ]
        if ends_unknown(self.stage):
            ways.append(button("keys", _("Learn its keys"), self._learn_keys))
        return ways

    def _learn_keys(self) -> None:
        self.stage.go.show(KeyRange(self.stage, self._keys_learnt))

    def _keys_learnt(self) -> None:
        """Here again; a round that asks for keys that are not there ends."""
        self.stage.go.show(self)
        if not self.stage.piano.compass.reaches(self.live.round.prompts[self.live.round.prompt :]):
            self.end()

    def paint(self, canvas: Canvas) -> None:
        px, middle, wide = canvas.px, canvas.width // 2, canvas.width - canvas.px(80)
        self._heading(canvas)
        if self.phase is PlayPhase.PAUSED:
            asks = self._twice.open is not None
            draw_paused(canvas, _LOST if asks else self.pause_reason, alarm=asks)
            canvas.hints(self.menu_hints())
            return
        piano = self._piano_rect(canvas)
        room = self._piano_room(canvas)  # kept free: the staff must not move when the piano comes
        line = (room.top if room else canvas.height - px(20)) - px(12)
        said = px(28) * (2 if canvas.narrow else 1)  # nor when something is said
        top, bottom = self._staff_top(canvas), line - said - px(22) * self._beginner
        hidden, gone = self.phase is PlayPhase.READY, self._gone(self.stage.clock.now())
        staff = Rect(0, top, canvas.width, bottom - top)
        self._view.draw(canvas, staff, hidden=hidden, gone=gone)
        line -= px(22) if self._to_point_at else 0
        words = self._alarm or self.question
        if self.phase is PlayPhase.READY:
            words = self._when_ready
        if words:
            colour = theme.WRONG if words == self._alarm else theme.INK
            where = middle, line
            canvas.centred(words, where, wide, size=22, face="strong", colour=colour, up=True)
        store, at = self.stage.store, (middle, below_line(canvas) - px(14))
        if store.pending:
            words = (
                _("The store cannot be written now; your answers wait in memory, on no disk.")
                if store.unsaved
                else _(
                    "The store cannot be written now; your answers wait in a file on this computer."
                )
            )
            canvas.centred(words, at, wide, size=16, colour=theme.WRONG)
        elif self._octaves.tells:
            canvas.centred(shift_words(self._octaves), at, wide, size=17)
        if piano is not None:
            computer = None if self.stage.piano.connected else self.stage.piano.computer
            self._piano.draw(canvas, piano, computer)
            for key in self._to_point_at:
                self._piano.point(canvas, key)

    def _staff_top(self, canvas: Canvas) -> int:
        """Where the room of the staff begins."""
        return canvas.px(80 if canvas.narrow else 60)

    def _heading(self, canvas: Canvas) -> None:
        pace = None if self.phase is PlayPhase.PAUSED else self._pace
        draw_heading(canvas, self.live, self._view.prompt.name, pace, self.stage.clock.now())

    @property
    def _when_ready(self) -> str:
        """What is said before the first note."""
        if self.stage.piano.connected:
            return _("Play any key when you are ready.")
        words = _("Play any key, or press Enter, when you are ready.")
        slots = [slot for prompt in self.live.round.prompts for slot in prompt.slots]
        letter = self.stage.piano.computer.label_for
        if not all(slot.asks or letter(key) for slot in slots for key in slot.keys):
            words += " " + _("Page Up and Page Down shift the letters.")
        return words

    @property
    def question(self) -> str:
        """What is asked for where it is not printed."""
        state = self.live.round
        prompt = state.current
        if prompt is None or self.phase is not PlayPhase.READING:
            return ""
        question = prompt.slots[state.slot].asks
        return asked(question, prompt.signature.fifths, first=not state.slot)

    @property
    def _alarm(self) -> str:
        """What is asked about, or was wrong."""
        again = _("R again restarts the round. {lost}").format(lost=_LOST)
        return again if self._twice.open else self.message

    @property
    def _to_point_at(self) -> frozenset[int]:
        """The keys that a beginner is shown."""
        return keys_to_point_at(self.live.round) if self._beginner else frozenset()

    def _piano_rect(self, canvas: Canvas) -> Rect | None:
        always = self.stage.settings.now.screen_piano == "always"
        seen = always or not self.stage.piano.connected or self._pointed
        return self._piano_room(canvas) if seen else None

    def _piano_room(self, canvas: Canvas) -> Rect | None:
        """Where the piano is, or comes to a beginner who does not find a key."""
        choice = self.stage.settings.now.screen_piano
        comes = choice == "always" or not self.stage.piano.connected or self._beginner
        return self._piano.place(canvas) if comes and choice != "never" else None

    # Time

    def shown(self, now: float) -> None:
        if self.phase is PlayPhase.READING and self.live.round.since is None:
            self.live.feed(Flip(self.live.time(now)))
            self._last_press = now
            self._prepare_next()
            self._robot(now)

    @property
    def _asleep_at(self) -> float:
        """When a round that nobody answers pauses; never where time does not count."""
        return inf if self.live.terms.untimed else self._last_press + ASLEEP_S

    def wait(self, now: float) -> float | None:
        waits = []
        if self.phase is PlayPhase.SETTLING:
            fading = self._settle_until - FADE_S
            waits.append(fading - now if now < fading and self._fades else self._settle_until - now)
            if self._fades and now >= fading:
                waits.append(_FRAME_S)
        if self._twice.left is not None:
            waits.append(self._twice.left)
        if self.phase is PlayPhase.READING:
            waits.append(self._asleep_at - now)
            if self.live.terms.seconds is not None:
                left = self.live.terms.seconds - self.live.round.elapsed(self.live.time(now))
                waits.append(left % 1.0 + 0.001)
        waits.append(self._robot_hands.next_at - now)
        if self._pace is not None and self.phase in (PlayPhase.READING, PlayPhase.SETTLING):
            step = self._pace.wait(self.live.round.elapsed(self.live.time(now)), now)
            waits += [] if step is None else [step]
        if self.phase is PlayPhase.READY and self._robot_hands.there:
            waits.append(0.5)
        wait = min(waits, default=inf)
        return None if wait == inf else max(0.0, wait)

    @property
    def _fades(self) -> bool:
        """Whether an answered prompt goes out by and by, and not at once."""
        full = self.stage.settings.now.motion == "full"
        return full and self._view.fades and self.live.round.ended is None

    def _gone(self, now: float) -> float:
        """How far the answered prompt has gone out, 0 to 1."""
        if self.phase is not PlayPhase.SETTLING or not self._fades:
            return 0.0
        return min(1.0, max(0.0, 1 - (self._settle_until - now) / FADE_S))

    def tick(self, now: float) -> None:
        for press in self._robot_hands.due(now):
            self.piano(KeyDown(press.t, press.key, press.velocity, "robot"))
            self._piano.down = {press.key}
        if self.phase is PlayPhase.SETTLING and now >= self._settle_until:
            self._settled()
        if self.phase is PlayPhase.READING:
            self._after(self.live.feed(Tick(self.live.time(now))))
            if now > self._asleep_at and self.live.round.since is not None:
                words = _("No key for a while.")
                if self._beginner:
                    words += " " + _("Try any: after three, the right one is shown.")
                self.pause(words)
        if self.phase is PlayPhase.READY and self._robot_hands.there:
            self.start()

    # What the reader does

    def piano(self, event: KeyDown | KeyUp) -> None:
        if isinstance(event, KeyUp):
            self._piano.down.discard(event.key)
            return
        self._piano.down.add(event.key)
        if self.phase is PlayPhase.READY:
            self.start()
            return
        if self.phase is PlayPhase.PAUSED:
            super().piano(event)
            return
        before = self.live.round
        press = Press(self.live.time(event.t), event.key, event.velocity, event.keyboard)
        done = self.live.feed(press)
        if done.round.flat_hand:
            self._view, self.message = self._first_view(), ""
            self.pause(_("A flat hand pauses the round. Its keys don’t count."))
        else:
            self._last_press = event.t
            if done.judged is not None and before.began is None:
                self._octaves = self._octaves.after(before.expected, done.judged)
            self._after(done)

    def key(self, event: pygame.event.Event) -> None:
        if event.key == pygame.K_r and self.phase is not PlayPhase.READY:
            self.focus = "restart"
            self.restart()
        elif self.phase is PlayPhase.PAUSED:
            super().key(event)
        elif self.phase is PlayPhase.READY and event.key in (pygame.K_RETURN, pygame.K_SPACE):
            self.start()
        elif event.key in (pygame.K_ESCAPE, pygame.K_SPACE):
            if self.phase is PlayPhase.READY:
                self.end()
            else:
                self.pause()

    def mouse(self, event: pygame.event.Event) -> None:
        if event.type == pygame.MOUSEBUTTONUP:
            self._piano.mouse(event, self.stage)
        elif event.type == pygame.MOUSEBUTTONDOWN and self._hit(event.pos) is None:
            paused = self.phase is PlayPhase.PAUSED
            played = not paused and self._piano.mouse(event, self.stage)
            if not played and self.phase is PlayPhase.READY and event.button == 1:
                self.start()
        else:
            super().mouse(event)

    def keyboards_changed(self, event: Keyboards) -> None:
        if event.gone and not event.came and self.phase in (PlayPhase.READING, PlayPhase.SETTLING):
            words = _("{name} was unplugged. Plug it in again, or carry on here.")
            self.pause(words.format(name=", ".join(event.gone)))
            self.focus = "keyboard" if self.stage.piano.other else self.focus
            self._waiting_for_keyboard = True
        elif event.came and self.phase is PlayPhase.PAUSED and self._waiting_for_keyboard:
            self.resume()

    _waiting_for_keyboard = False

    @property
    def back_says(self) -> str:
        return _("go on")

    def back(self) -> None:
        if self.phase is PlayPhase.PAUSED:
            self.resume()
        else:
            self.pause()

    @property
    def under_way(self) -> str:
        return round_target(self.live.record_id)

    def leave(self) -> None:
        for key in tuple(self._piano.down):
            self.stage.piano.release(key)
        if self.live.round.started is None:  # it was never begun, and is offered in no case
            with suppress(StoreError):
                self.live.discard()

    def pause(self, reason: str = "") -> None:
        """Stop the clock and hide the staff."""
        if self.live.round.ended is not None:
            return
        if self.phase is PlayPhase.READY:
            self.end()
            return
        self.live.feed(Pause(self.live.time(self.stage.clock.now())))
        self.phase, self.pause_reason = PlayPhase.PAUSED, reason or _("The clock is stopped.")
        self.focus = "on"
        self.hands_off()
        self._waiting_for_keyboard = False
        self._robot_hands.stop()

    def stop_clock(self, reason: str) -> None:
        if self.phase in (PlayPhase.READING, PlayPhase.SETTLING):
            self.pause(reason)

    def resume(self) -> None:
        """Go on with the same prompt."""
        self._twice.drop()
        now = self.stage.clock.now()
        self.live.feed(Resume(self.live.time(now)))
        self._last_press = now
        self.phase = PlayPhase.READING
        if self.live.round.since is None:
            self._next_prompt()
        else:
            self._robot(now)

    def end(self) -> None:
        """Leave the round: nothing answered yet, it is dropped; else it counts as it stands.

        A resumed round that was not gone on with stays as it was, to be offered again.
        """
        if self.phase is PlayPhase.READY:
            self.stage.go.open_ladder(self.live.level.id)
            return
        if not self.live.round.answered:
            self.live.discard()
            self.stage.go.open_ladder(self.live.level.id)
            return
        self.live.feed(Stop(self.live.time(self.stage.clock.now())))
        self._finished()

    def restart(self) -> None:
        """Begin the round anew, at once; what was answered counts for nothing."""
        if self.live.round.ended is not None:
            return
        live = self.live
        share = live.terms.share(live.round, live.time(self.stage.clock.now()))
        if share >= READ_FROM and not self._twice.sure("restart"):
            return
        self.live.discard()
        self.stage.rounds.restart(self.live.terms)

    # The round's own course

    def start(self) -> None:
        """The reader is ready: the next drawing shows the prompt, and its flip starts the clock."""
        now = self.stage.clock.now()
        if self.live.round.paused is not None:
            self.live.feed(Resume(self.live.time(now)))
        self.phase = PlayPhase.READING
        self._last_press = now
        if self.live.round.since is not None:  # resumed in mid-prompt
            self._prepare_next()
            self._robot(now)

    def _after(self, done: Step) -> None:
        """Show what an event was worth."""
        if done.judged is not None:
            self._feedback(done.judged, self._slot_of(done), done.finished)
        if self.phase is PlayPhase.SETTLING:
            return  # what is pressed now holds nothing up
        if done.finished is not None or done.round.ended is not None:
            if done.round.since is None or done.round.ended is not None:
                right = done.finished is not None and done.finished.right
                self.phase = PlayPhase.SETTLING
                self._settle_until = self.stage.clock.now() + (
                    SETTLE_S if right else SETTLE_WRONG_S
                )
            else:
                self._robot(self.stage.clock.now())

    def _slot_of(self, done: Step) -> int:
        """The slot that was just judged, by its index in the prompt in view."""
        return done.finished.slot if done.finished is not None else done.round.slot

    def _feedback(self, judged: JudgedPress, index: int, finished: SlotResult | None) -> None:
        slot = self._view.prompt.slots[index]
        if judged.verdict is Verdict.RIGHT:
            self._view.struck(slot, judged, finished=finished is not None)
            if judged.late_s or finished is not None:
                self.message = apart(judged.late_s if finished is None else finished.late_s)
            if judged.late_s:
                self.stage.sounds.wrong()
            self.stage.window.keep_shot("wrong" if judged.late_s else "right")
            return
        state = self.live.round
        wrong = wrong_of(self.stage, state, state.prompt, index, state.presses, judged)
        self.message = wrong.line(self.stage.settings.now.names)
        if self._to_point_at and self.stage.settings.now.screen_piano != "never":
            self._pointed = True
            self.message += " " + _("It is the key with the arrow.")
        elif keys_to_point_at(state) and ends_unknown(self.stage):
            self.message += " " + _("Not on your keyboard? Pause.")
        self._view.wrong(wrong.note, wrong.played)
        self.stage.sounds.wrong()
        self.stage.window.keep_shot("wrong")

    def _next_prompt(self) -> None:
        current = self.live.round.current
        if current is not None:
            self._view.show(current)
        self.message = ""
        self.phase = PlayPhase.READING

    def _settled(self) -> None:
        """What was answered has been in view."""
        if self.live.round.ended is None:
            self._next_prompt()
        else:
            self._finished()

    def _prepare_next(self) -> None:
        now = self.live.round
        if now.prompt + 1 < len(now.prompts):
            self._view.prepare(now.prompts[now.prompt + 1], self.stage.window.canvas)

    def _finished(self) -> None:
        self.phase = PlayPhase.ENDED
        self.stage.rounds.finish(self.live, None if self._pace is None else self._pace.pace)

    def _robot(self, now: float) -> None:
        """Whoever reads in a person's place reads on."""
        self._robot_hands.answer(self.live.round, now)
